"""The renderer: what it may open, what it embeds, what it tags."""

from __future__ import annotations

import base64
import io
import threading
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path
from typing import ClassVar

import pikepdf
import pytest
from PIL import Image

from business.documents.pdf import ACCESSIBLE, ARCHIVAL, render
from business.errors import BadInput
from tests.business.documents.papers import fonts_of, text_of

PAGE = '<!doctype html><html lang="en"><head><title>Paper</title>{head}</head><body>{body}</body></html>'


def paper(body: str, head: str = "") -> str:
    return PAGE.format(head=head, body=body)


def png(colour: str = "red") -> bytes:
    held = io.BytesIO()
    Image.new("RGB", (8, 8), colour).save(held, "PNG")
    return held.getvalue()


class Asked(BaseHTTPRequestHandler):
    paths: ClassVar[list[str]] = []

    def do_GET(self):
        self.paths.append(self.path)
        self.send_response(200)
        self.end_headers()

    def log_message(self, *args):
        pass


@pytest.fixture
def stranger():
    """A web server that notes whoever asks it."""
    Asked.paths.clear()
    with HTTPServer(("127.0.0.1", 0), Asked) as server:
        thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True)
        thread.start()
        yield f"http://127.0.0.1:{server.server_port}"
        server.shutdown()
        thread.join()


WAYS = {
    "picture": '<img src="{url}" alt="">',
    "background": '<p style="background: url({url})">x</p>',
    "drawing": '<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"><image href="{url}" width="9" height="9"/></svg>',
    "object": '<object data="{url}"></object>',
    "style": '<style>@import url("{url}");</style>',
    "type": '<style>@font-face {{ font-family: Foreign; src: url("{url}") }} p {{ font-family: Foreign }}</style><p>x</p>',
    "attachment": '<link rel="attachment" href="{url}">',
    "sheet": '<link rel="stylesheet" href="{url}">',
}


@pytest.mark.parametrize("way", WAYS)
def test_no_address_of_the_net_is_opened(way, stranger):
    html = paper(WAYS[way].format(url=f"{stranger}/secret.png"))

    with pytest.raises(BadInput) as refusal:
        render(html)

    assert "/secret.png" in refusal.value.faults[0].wrong
    assert Asked.paths == []


@pytest.mark.parametrize("way", WAYS)
def test_no_file_outside_the_folders_is_opened(way, tmp_path):
    outside = tmp_path / "outside.png"
    outside.write_bytes(png())
    inside = tmp_path / "media"
    inside.mkdir()

    with pytest.raises(BadInput) as refusal:
        render(paper(WAYS[way].format(url=outside.as_uri())), roots=[inside])

    assert "outside.png" in refusal.value.faults[0].wrong


@pytest.mark.parametrize("path", ["../outside.png", "%2e%2e/outside.png", "link.png"])
def test_no_way_round_leads_out_of_a_folder(path, tmp_path):
    (tmp_path / "outside.png").write_bytes(png())
    media = tmp_path / "media"
    media.mkdir()
    (media / "link.png").symlink_to(tmp_path / "outside.png")

    with pytest.raises(BadInput):
        render(paper(f'<img alt="" src="{media.as_uri()}/{path}">'), roots=[media])


def test_pictures_of_a_named_folder_and_inline_ones_are_shown(tmp_path):
    (tmp_path / "tree.png").write_bytes(png())
    inline = base64.b64encode(png("blue")).decode()
    html = paper(
        f'<img alt="a" src="{(tmp_path / "tree.png").as_uri()}"><img alt="b" src="data:image/png;base64,{inline}">'
    )

    with pikepdf.open(io.BytesIO(render(html, roots=[tmp_path]))) as pdf:
        assert len(list(pdf.pages[0].get_images())) == 2


def test_our_own_type_is_embedded_for_every_letter(tmp_path):
    content = render(paper("<p>Ághnes Lőrinc, Zofia Łuczak, £12 → ✓ ½</p><p><b>Ő bold Ł</b></p>"))

    fonts = fonts_of(content, tmp_path)
    assert all(font.is_embedded for font in fonts)
    assert {"Paper-Text", "Paper-Letters", "Paper-Text-Bold", "Paper-Letters-Bold"} <= {font.family for font in fonts}
    assert "Ághnes Lőrinc, Zofia Łuczak, £12 → ✓ ½" in text_of(content, tmp_path)


@pytest.mark.parametrize(("size", "points"), [("A4", (595.3, 841.9)), ("Letter", (612.0, 792.0))])
def test_paper_has_the_size_asked_for(size, points):
    # ISO 216: A4 is 210 × 297 mm; ANSI Letter is 8.5 × 11 in.
    with pikepdf.open(io.BytesIO(render(paper("<p>x</p>"), paper=size))) as pdf:
        box = [float(value) for value in pdf.pages[0].mediabox]

    assert box[2:] == pytest.approx(points, abs=0.1)


def test_an_unknown_size_is_refused():
    with pytest.raises(ValueError, match="A4, Letter"):
        render(paper("x"), paper="B5")


def test_accessible_papers_are_tagged_and_name_their_language():
    with pikepdf.open(
        io.BytesIO(
            render(
                paper(
                    '<h1>Head</h1><p>x</p><img alt="a pear" src="data:image/png;base64,'
                    + base64.b64encode(png()).decode()
                    + '">'
                ),
                variant=ACCESSIBLE,
            )
        )
    ) as pdf:
        assert pdf.Root.MarkInfo.Marked
        assert str(pdf.Root.Lang) == "en"
        assert pdf.open_metadata()["pdfuaid:part"] == "1"
        assert "StructTreeRoot" in str(pdf.Root.keys())


def test_archival_papers_say_so_and_carry_their_colours():
    # ISO 19005-3: part and conformance in the metadata, an output intent, no encryption, an identifier.
    with pikepdf.open(io.BytesIO(render(paper("<p>x</p>"), variant=ARCHIVAL))) as pdf:
        data = pdf.open_metadata()
        assert (data["pdfaid:part"], data["pdfaid:conformance"]) == ("3", "A")
        assert len(pdf.Root.OutputIntents) == 1
        assert not pdf.is_encrypted
        assert "/ID" in pdf.trailer
        assert not {"/OpenAction", "/AA"} & set(pdf.Root.keys())


def test_fonts_folder_holds_what_the_style_names():
    from business.documents.pdf import FONTS, STYLE

    named = [line.split('url("')[1].split('"')[0] for line in STYLE.read_text().splitlines() if 'url("' in line]
    assert named
    assert all((Path(FONTS) / name).exists() for name in named)
