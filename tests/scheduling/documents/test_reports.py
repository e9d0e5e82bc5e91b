"""What stands on a visit report, and what never gets onto one."""

from __future__ import annotations

import io
import uuid
from datetime import date

import pikepdf
import pytest
from django.core.files.base import ContentFile
from PIL import Image

from business.documents.pdf import render
from business.models import Message
from gardens.models import Photo
from scheduling.documents.reports import report_paper, report_pdf
from scheduling.models import FieldAct, Task, Visit
from scheduling.queries.signatures import farewell_of, strokes_in
from scheduling.queries.visits import with_tasks
from scheduling.services.reports import write_report
from tests import make, make_garden
from tests.business.documents.papers import fonts_of, is_sound, text_of
from tests.conftest import make_staff
from tests.make_garden import utc

pytestmark = pytest.mark.django_db

BAD = '<img src="http://127.0.0.1:9/x"><script>alert(1)</script>'


def picture(size=(640, 480)) -> bytes:
    out = io.BytesIO()
    Image.effect_noise(size, 80).convert("RGB").save(out, "JPEG", quality=85)
    return out.getvalue()


def photo(visit, tree, pair, content=None, **values):
    row = Photo(
        site=visit.site,
        tree=tree,
        digest=uuid.uuid4().hex * 2,
        pair=pair,
        taken_at=utc(2027, 1, 12),
        reference=f"visit:{visit.pk}",
        width_px=640,
        height_px=480,
        **values,
    )
    row.file.save(f"{row.digest}.jpg", ContentFile(picture() if content is None else content), save=False)
    row.save()
    return row


def said(visit, kind, value=None, **values):
    return FieldAct.objects.create(
        uid=uuid.uuid4(),
        kind=kind,
        visit=visit,
        body={"value": value or {}},
        body_digest="0" * 64,
        happened_at=values.pop("at", utc(2027, 1, 12, 16)),
        received_at=utc(2027, 1, 12, 16),
        result="accepted",
        **values,
    )


@pytest.fixture
def tree():
    make.profile()
    who = make.client(name="Hale", greeting="Dear Mrs Hale")
    support = make_garden.support(site=make_garden.site(client=who, name="Vale House"))
    return make_garden.tree(support=support, label="Pear 3", species="pear_european", planted_on=date(2025, 11, 20))


@pytest.fixture
def visit(tree):
    needs = (make_garden.need(tree=tree), make_garden.need(tree=tree, kind="renew_ties", key="renew_ties:x"))
    row = make_garden.visit(needs=needs, on=date(2027, 1, 12))
    make_garden.need(
        tree=tree,
        kind="tie_in",
        limb="arm:1:left",
        best_from=date(2027, 6, 1),
        best_until=date(2027, 7, 1),
        closes=date(2027, 7, 9),
    )
    done, left = row.work_order.tasks.order_by("pk")
    Task.objects.filter(pk=done.pk).update(state="done", answered_at=utc(2027, 1, 12))
    Task.objects.filter(pk=left.pk).update(state="not_done", reason="no_time", answered_at=utc(2027, 1, 12))
    Visit.objects.filter(pk=row.pk).update(state="finished", finished_at=utc(2027, 1, 12, 15), minutes_taken=75)
    return whole(row)


def whole(visit):
    return with_tasks(Visit.objects.select_related("site__client", "round__crew")).get(pk=visit.pk)


def test_a_report_tells_done_left_next_and_how_to_help(visit, tree, tmp_path):
    content = report_pdf(visit)
    text = " ".join(text_of(content, tmp_path).split())
    for wanted in (
        "Vale House", "Dear Mrs Hale", "Pear 3", "Done", "Not done", "no time", "What comes next; the numbers stand below",
        "Over the years", "1 Jun – 1 Jul 2027", "Until then you can help", "20 litres each", "first two summers",
        "Do not climb",
    ):  # fmt: skip
        assert wanted in text, wanted
    assert "1 h 15" not in text
    assert is_sound(content, tmp_path)
    assert all(font.is_embedded for font in fonts_of(content, tmp_path))


def test_minutes_stand_there_only_if_the_business_shows_them(visit):
    make.profile(reports_show_minutes=True)
    assert "1 h 15 on site" in report_paper(visit).html


def test_lengths_and_water_follow_the_clients_units(visit):
    visit.site.client.units = "imperial"
    html = report_paper(visit).html
    assert "5 gallons" in html
    assert "2 ft" in html


@pytest.mark.parametrize(("paper", "width"), [("A4", 595), ("Letter", 612)])
def test_the_report_comes_on_the_clients_paper_tagged(visit, paper, width):
    visit.site.client.paper = paper
    with pikepdf.open(io.BytesIO(report_pdf(visit))) as pdf:
        assert int(pdf.pages[0].MediaBox[2]) == width
        assert "/StructTreeRoot" in pdf.Root
        assert pdf.Root.MarkInfo.Marked
        assert str(pdf.Root.Lang) == "en-GB"
        assert pdf.Root.ViewerPreferences.DisplayDocTitle


def test_eight_photos_stay_light_enough_to_mail(visit, tree):
    make_more = [make_garden.tree(support=tree.support, position_mm=4000 + 800 * n) for n in range(3)]
    for one in [tree, *make_more]:
        if one.pk != tree.pk:
            Task.objects.create(
                work_order=visit.work_order, tree=one, number=1, kind="inspect", instruction="Look.", why="to know",
                minutes=5, state="done", answered_at=utc(2027, 1, 12),
            )  # fmt: skip
        for pair in ("before", "after"):
            # Noise is the worst case: nothing compresses it.
            photo(visit, one, pair, picture((1600, 1200)))
    made = report_paper(whole(visit))
    assert made.html.count("data:image/jpeg") == 8
    assert len(render(made.html)) < 2_000_000


@pytest.mark.parametrize(
    ("content", "trouble"),
    [(b"not a picture", "cannot be read"), (picture()[:5000], "cannot be read"), (None, "is gone")],
)
def test_a_broken_photo_is_framed_and_reported(visit, tree, content, trouble, caplog):
    make_staff("oriel", "office")
    row = photo(visit, tree, "before", content if content is not None else picture())
    if content is None:
        row.file.storage.delete(row.file.name)
    photo(visit, tree, "after")
    made = report_paper(visit)
    assert [one.trouble for one in made.missing] == [trouble]
    assert "the photo of 12 January 2027 could not be shown" in made.html
    assert made.html.count("data:image/jpeg") == 1
    for _ in range(2):
        write_report(visit_id=visit.pk)
    (told,) = Message.objects.filter(kind="photo_lost")
    assert str(row.uid) in told.body
    assert trouble in told.body
    assert str(row.uid) in caplog.text


def test_a_photo_of_too_many_pixels_is_framed(visit, tree, monkeypatch):
    monkeypatch.setattr("gardens.services.photos.MOST_PIXELS", 1000)
    photo(visit, tree, "before")
    assert [one.trouble for one in report_paper(visit).missing] == ["has too many pixels"]


def test_the_signature_of_the_field_page_is_drawn(visit, tmp_path):
    said(visit, "signed", {"name": "R. Hale", "strokes": [[[10, 20], [200, 100], [590, 190]]]})
    html = report_paper(visit).html
    assert 'alt="Signature of R. Hale"' in html
    assert "R. Hale, at the end of the visit" in " ".join(text_of(render(html), tmp_path).split())


def test_nobody_home_is_said_and_can_be_taken_back(visit):
    act = said(visit, "nobody_home")
    assert "Nobody was home" in report_paper(visit).html
    said(visit, "withdraws", withdraws=act.uid)
    assert "Nobody was home" not in report_paper(visit).html


def test_only_points_inside_the_field_are_drawn():
    wild = [[[0, 0], [600, 200]], [[5, 5]], "x", [[1, 2], ["<", 3]], [[9, 9], [601, 1]], [[1, True], [2, 2]], None]
    assert strokes_in(wild) == [[(0, 0), (600, 200)]]
    assert strokes_in("<svg onload=alert(1)>") == []
    assert strokes_in([[[n % 600, 1] for n in range(5000)]]) == []


@pytest.mark.parametrize("field", ["client", "site", "tree", "cultivar", "note", "task_note", "why", "photo", "signer"])
def test_html_in_any_text_is_shown_as_text(visit, tree, field, tmp_path):
    if field == "client":
        visit.site.client.greeting = BAD
        visit.site.client.save()
    elif field == "site":
        visit.site.name = BAD
        visit.site.save()
    elif field in ("tree", "cultivar"):
        setattr(tree, "label" if field == "tree" else "cultivar", BAD[:80])
        tree.save()
    elif field == "note":
        Visit.objects.filter(pk=visit.pk).update(note=BAD)
    elif field in ("task_note", "why"):
        visit.work_order.tasks.update(**{"note" if field == "task_note" else "why": BAD})
    elif field == "photo":
        photo(visit, tree, "after", words=BAD)
    else:
        said(visit, "signed", {"name": BAD, "strokes": []})
    html = report_paper(whole(visit)).html
    assert "<script" not in html
    # The renderer refuses any foreign address, so a tag that slipped through would raise.
    text = "".join(text_of(render(html), tmp_path).split())
    assert "<imgsrc=" in text


def test_the_last_word_on_the_farewell_counts(visit):
    said(visit, "nobody_home", at=utc(2027, 1, 12, 14))
    said(visit, "signed", {"name": "Ida", "strokes": []}, at=utc(2027, 1, 12, 15))
    assert farewell_of(visit.pk).signature.name == "Ida"
