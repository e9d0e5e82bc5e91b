"""Every paper of the house, looked at with independent tools: poppler, qpdf, pikepdf.

ISO 14289-1 (PDF/UA-1): tagged, marked so, with a language and a title that is shown, every picture with words in its
place. ISO 32000-1: 14.7 structure, 14.9.3 alternate descriptions.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from datetime import UTC, date, datetime
from itertools import pairwise
from typing import Any

import pikepdf
import pytest

from business.documents.invoices import invoice_pdf
from business.documents.payment_reminders import reminder_pdf
from business.documents.quotes import quote_pdf
from business.queries.quotes import quote_by_id
from business.services.payment_reminders import take_step
from business.services.statements import statement_paper_of
from scheduling.documents.reports import report_pdf
from scheduling.documents.round_sheet import round_sheet_html, round_sheet_pdf
from scheduling.documents.season_review import review_pdf
from scheduling.documents.work_orders import work_order_html, work_order_pdf
from scheduling.models import Round, Task, Visit
from scheduling.queries.visits import visits_of_round, with_tasks
from tests import make, make_garden
from tests.business.documents.papers import fonts_of, is_sound, text_of

pytestmark = pytest.mark.django_db

PAPERS = ["invoice", "quote", "reminder", "statement", "work_order", "round_sheet", "visit_report", "season_review"]
BAD = '<img src="http://127.0.0.1:9/x"><script>alert(1)</script>'


class House:
    """One client with everything that is ever written on paper."""

    def __init__(self, paper: str = "A4") -> None:
        make.profile(paper=paper)
        self.client = make.client(name="Hale", paper=paper)
        support = make_garden.support(site=make_garden.site(client=self.client, name="Vale House", address="1 Hill"))
        self.tree = make_garden.tree(support=support, label="Pear 3")
        self.done = make_garden.visit(needs=(make_garden.need(tree=self.tree),), on=date(2026, 3, 3))
        Task.objects.filter(work_order__visit=self.done).update(
            state="done", answered_at=datetime(2026, 3, 3, 15, tzinfo=UTC)
        )
        Visit.objects.filter(pk=self.done.pk).update(
            state="finished", finished_at=datetime(2026, 3, 3, 15, tzinfo=UTC), minutes_taken=70
        )
        self.coming = make_garden.visit(needs=(make_garden.need(tree=self.tree),), on=date(2027, 1, 12))
        self.bill = make.invoice(client=self.client)

    def pdf(self, kind: str) -> bytes:
        made: bytes = getattr(self, f"_{kind}")()
        return made

    def whole(self, visit: Visit) -> Visit:
        return with_tasks(Visit.objects.select_related("site__client", "round__crew")).get(pk=visit.pk)

    def round(self) -> tuple[Round, list[Visit]]:
        found = Round.objects.select_related("crew").get(pk=self.coming.round_id)
        return found, list(with_tasks(visits_of_round(found)))

    def _invoice(self) -> bytes:
        return invoice_pdf(self.bill)

    def _quote(self) -> bytes:
        return quote_pdf(quote_by_id(make.quote(client=self.client).pk))

    def _reminder(self) -> bytes:
        return reminder_pdf(take_step(invoice=self.bill, at=datetime(2026, 6, 1, 10, tzinfo=UTC)))

    def _statement(self) -> bytes:
        return statement_paper_of(
            client=self.client, currency="GBP", since=date(2026, 1, 1), until=date(2026, 12, 31)
        ).content

    def _work_order(self) -> bytes:
        return work_order_pdf(self.whole(self.coming))

    def _round_sheet(self) -> bytes:
        return round_sheet_pdf(*self.round())

    def _visit_report(self) -> bytes:
        return report_pdf(self.whole(self.done))

    def _season_review(self) -> bytes:
        return review_pdf(self.client, 2026)


def elements(node: Any, depth: int = 0) -> Iterator[Any]:
    """Every element of the structure tree."""
    if isinstance(node, pikepdf.Array):
        for one in node:
            yield from elements(one, depth + 1)
    elif isinstance(node, pikepdf.Dictionary) and "/S" in node:
        yield node
        if "/K" in node:
            yield from elements(node.K, depth + 1)


@pytest.mark.parametrize("kind", PAPERS)
def test_a_paper_can_be_heard_as_well_as_seen(kind, tmp_path):
    content = House().pdf(kind)
    assert is_sound(content, tmp_path)
    fonts = fonts_of(content, tmp_path)
    assert fonts
    assert all(font.is_embedded for font in fonts)
    assert len(content) < 2_000_000
    with pikepdf.open(io.BytesIO(content)) as pdf:
        assert pdf.Root.MarkInfo.Marked
        assert str(pdf.Root.Lang) == "en-GB"
        assert str(pdf.docinfo.Title).strip()
        tags = [(str(one.S), one) for one in elements(pdf.Root.StructTreeRoot.K)]
        names = [name for name, _ in tags]
        assert names.count("/H1") == 1
        # Headings never jump a level (PDF/UA-1, 7.4.2).
        levels = [int(name[2]) for name in names if name[:2] == "/H" and name[2:].isdigit()]
        assert all(later <= earlier + 1 for earlier, later in pairwise(levels))
        for name, one in tags:
            if name == "/Figure":
                assert str(one.get("/Alt", "")).strip()
        if kind != "invoice":
            assert pdf.Root.ViewerPreferences.DisplayDocTitle


@pytest.mark.parametrize("kind", PAPERS)
def test_each_paper_comes_on_letter_too(kind):
    with pikepdf.open(io.BytesIO(House("Letter").pdf(kind))) as pdf:
        # 8½ × 11 inches of 72 points.
        assert [round(float(side)) for side in pdf.pages[0].MediaBox] == [0, 0, 612, 792]


@pytest.mark.parametrize("place", ["site", "address", "access_notes", "hazards", "instruction", "why", "tree"])
def test_html_in_a_crews_papers_is_shown_as_text(place, tmp_path):
    house = House()
    site = house.tree.site
    if place in ("instruction", "why"):
        Task.objects.update(**{place: BAD})
    elif place == "tree":
        house.tree.label = BAD[:80]
        house.tree.save()
    else:
        setattr(site, "name" if place == "site" else place, BAD)
        site.save()
    order = work_order_html(house.whole(house.coming))
    sheet = round_sheet_html(*house.round())
    assert "<script" not in order + sheet
    # The renderer refuses foreign addresses: a tag that slipped through would raise.
    text = text_of(house.pdf("work_order"), tmp_path) + text_of(house.pdf("round_sheet"), tmp_path)
    assert "<imgsrc=" in "".join(text.split())


@pytest.mark.parametrize("kind", ["work_order", "round_sheet", "visit_report"])
def test_papers_of_the_garden_name_no_price(kind, tmp_path):
    house = House()
    make.agreement(client=house.client, basis="by_visit", visit_price=987)
    text = text_of(house.pdf(kind), tmp_path)
    assert "£" not in text
    assert "987" not in text
