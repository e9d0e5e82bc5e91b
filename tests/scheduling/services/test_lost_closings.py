"""A visit that is over gets its report and its mail even if the job that was to bring them was lost."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from business import clock
from business.models import Invoice, Message
from business.services import lost_papers
from business.services.lost_papers import take_up_lost_papers
from business.services.messages import queue_message
from scheduling.models import Visit, VisitReport
from scheduling.services import lost_closings
from scheduling.services.lost_closings import take_up_lost_closings
from tests import make, make_garden

pytestmark = pytest.mark.django_db


@pytest.fixture
def queued(monkeypatch) -> list[int]:
    """Numbers of what was queued again."""
    found: list[int] = []
    for place in (lost_closings, lost_papers):
        monkeypatch.setattr(place, "later", lambda name, **about: found.extend(about.values()))
    return found


def over(*, hours_ago: float = 1.0, email: str = "rosa@example.com", stopped: tuple[str, ...] = ()) -> Visit:
    site = make_garden.site(client=make.client(email=email))
    site.client.stopped_kinds = list(stopped)
    site.client.save()
    return make_garden.visit(
        site=site, on=date(2027, 1, 12), state="finished", finished_at=clock.now() - timedelta(hours=hours_ago)
    )


def report_of(visit: Visit) -> None:
    from business.services.archive import Paper, archive

    paper = archive(Paper(kind="visit_report", reference=f"visit:{visit.pk}", file_name="report.pdf", content=b"%PDF-"))
    VisitReport.objects.create(visit=visit, document=paper, written_at=clock.now())


def mail_of(visit: Visit) -> None:
    queue_message(
        key=f"visit_report:{visit.pk}", kind="visit_report", to="rosa@example.com", subject="Our visit", body="…"
    )


def test_a_visit_without_a_report_is_taken_up(queued):
    visit = over()
    assert take_up_lost_closings() == 1
    assert queued == [visit.pk]


def test_a_report_that_was_never_mailed_is_taken_up(queued):
    visit = over()
    report_of(visit)
    assert take_up_lost_closings() == 1
    mail_of(visit)
    assert take_up_lost_closings() == 0
    assert queued == [visit.pk]


@pytest.mark.parametrize("whom", [{"email": ""}, {"stopped": ("visit_report",)}], ids=["no address", "wants none"])
def test_nobody_is_mailed_who_has_no_address_or_wants_none(queued, whom):
    report_of(over(**whom))
    assert take_up_lost_closings() == 0


@pytest.mark.parametrize("hours_ago", [0.01, 31 * 24])
def test_a_job_under_way_and_an_old_story_are_left_alone(queued, hours_ago):
    over(hours_ago=hours_ago)
    assert take_up_lost_closings() == 0


def test_visits_that_are_not_over_are_left_alone(queued):
    make_garden.visit(on=date(2027, 1, 12))
    assert take_up_lost_closings() == 0


def test_an_invoice_without_its_paper_is_taken_up(queued):
    today = clock.now().date()
    make.profile()
    fresh, old = make.invoice(issued_on=today - timedelta(days=40)), make.invoice(issued_on=today)
    make.draft()
    queued.clear()
    Invoice.objects.update(document=None)
    assert take_up_lost_papers() == 1
    assert queued == [old.pk] != [fresh.pk]


def test_a_kept_paper_is_not_written_again(queued):
    make.profile()
    made = make.invoice(issued_on=clock.now().date())
    from business.services.papers import write_invoice_paper

    write_invoice_paper(invoice_id=made.pk)
    queued.clear()
    assert take_up_lost_papers() == 0
    assert Message.objects.count() == 0
