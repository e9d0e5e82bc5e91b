"""HTML to PDF. The only module that knows the PDF library.

The library would open any address a text brings along, files of this machine too. Here it opens our own type, the
folders named for this one document, and nothing else.
"""

from __future__ import annotations

import io
import warnings
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

from business.errors import BadInput, Fault

FONTS = Path(__file__).resolve().parent.parent / "static" / "business" / "fonts"
STYLE = Path(__file__).with_name("paper.css")

SIZES = {"A4": "210mm 297mm", "Letter": "215.9mm 279.4mm"}

ACCESSIBLE = "pdf/ua-1"
"""Reports and work orders: tagged, readable by a screen reader."""

ARCHIVAL = "pdf/a-3a"
"""Invoices: tagged, and made to be kept."""


def render(html: str, *, paper: str = "A4", variant: str = ACCESSIBLE, roots: Sequence[Path] = ()) -> bytes:
    """The pages of an HTML text with our paper style, as PDF bytes.

    Args:
        paper: A4 or Letter.
        variant: ACCESSIBLE, ARCHIVAL, or another variant the library knows.
        roots: folders this document may take pictures from, by file: address. Pictures may also come as data: addresses.

    Raises:
        BadInput: the text asks for an address or a file it may not have. Each is named.
        ValueError: an unknown paper.
    """
    if paper not in SIZES:
        raise ValueError(f"paper is one of {', '.join(SIZES)}")
    # Imported here: it costs half a second and only workers and downloads need it.
    from weasyprint import CSS, HTML
    from weasyprint.text.fonts import FontConfiguration

    fetcher = _fetcher([FONTS, *roots])
    fonts = FontConfiguration()
    sheets = [
        CSS(
            string=STYLE.read_text(encoding="utf-8"),
            base_url=f"{FONTS.as_uri()}/",
            font_config=fonts,
            url_fetcher=fetcher,
        ),
        CSS(string=f"@page {{ size: {SIZES[paper]} }}", font_config=fonts, url_fetcher=fetcher),
    ]
    document = HTML(string=html, url_fetcher=fetcher)
    with warnings.catch_warnings():
        # The library leaves its own colour profile open for the interpreter to close.
        warnings.simplefilter("ignore", ResourceWarning)
        content: bytes = document.write_pdf(stylesheets=sheets, font_config=fonts, pdf_variant=variant)
    if fetcher.refused:
        raise BadInput(
            [Fault("paper", f"asks for {address}", "give only our own pictures") for address in fetcher.refused]
        )
    return content


def _fetcher(roots: Sequence[Path]) -> Any:
    return _only_ours()(roots)


@cache
def _unpacked(name: str) -> bytes:
    """One of our typefaces, unpacked once in each process: the library would do it for every paper, a fifth of its time."""
    from fontTools.ttLib import woff2  # type: ignore[import-untyped]  # comes with the library

    out = io.BytesIO()
    with (FONTS / name).open("rb") as packed:
        woff2.decompress(packed, out)
    return out.getvalue()


@cache
def _only_ours() -> type:
    """The fetcher class. Made on first use, because its base comes from the library."""
    from weasyprint.urls import URLFetcher, URLFetcherResponse

    class OnlyOurs(URLFetcher):  # type: ignore[misc]  # the library has no types
        """Opens data: addresses and files below the given folders; keeps a list of everything else it was asked for."""

        def __init__(self, roots: Sequence[Path]) -> None:
            super().__init__(allowed_protocols={"file", "data"}, allow_redirects=False)
            self.roots = [root.resolve() for root in roots]
            self.refused: list[str] = []

        def fetch(self, url: str, headers: Any = None) -> Any:
            if not self._is_ours(url):
                self.refused.append(url[:200])
                raise ValueError(f"not ours: {url[:200]}")
            if url.startswith(FONTS.as_uri()) and url.endswith(".woff2"):
                return URLFetcherResponse(url, _unpacked(Path(unquote(urlsplit(url).path)).name))
            return super().fetch(url, headers)

        def _is_ours(self, url: str) -> bool:
            parts = urlsplit(url)
            if parts.scheme == "data":
                return True
            if parts.scheme != "file" or parts.netloc not in ("", "localhost"):
                return False
            path = Path(unquote(parts.path)).resolve()
            return any(path.is_relative_to(root) for root in self.roots)

    return OnlyOurs
