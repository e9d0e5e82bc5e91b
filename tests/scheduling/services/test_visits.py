"""A visit's way: each act beside its refusal."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from business import clock
from business.errors import AlreadyDone, BadInput, Stale
from business.models import Charge, Message
from scheduling.models import Need, Task, Visit, VisitReport
from scheduling.services.tasks import Answer, answer_task
from scheduling.services.visits import call_off_visit, confirm_visit, finish_visit, fix_visit, start_visit
from tests import make, make_garden

pytestmark = pytest.mark.django_db
DAY = date(2027, 1, 12)


@pytest.fixture
def visit() -> Visit:
    make.profile()
    make.tax_rate()
    return make_garden.visit(needs=(make_garden.need(),), on=DAY)


def answer_all(visit: Visit) -> None:
    for task in visit.work_order.tasks.all():
        answer_task(task_id=task.pk, answer=Answer(state="done"), by=None)


def test_a_planned_visit_is_agreed_once(visit):
    assert confirm_visit(visit_id=visit.pk).state == Visit.State.CONFIRMED
    assert confirm_visit(visit_id=visit.pk).revision == 1


def test_a_suggestion_cannot_be_agreed():
    with pytest.raises(BadInput, match="plan it first"):
        confirm_visit(visit_id=make_garden.visit().pk)


def test_a_stale_page_is_refused(visit):
    fix_visit(visit_id=visit.pk, is_locked=True, revision=0)

    with pytest.raises(Stale, match="somebody else"):
        call_off_visit(visit_id=visit.pk, reason="rain", revision=0)

    visit.refresh_from_db()
    assert visit.state == Visit.State.PLANNED


def test_calling_off_frees_the_work(visit):
    call_off_visit(visit_id=visit.pk, reason="rain")

    visit.refresh_from_db()
    assert (visit.state, visit.reason, visit.round) == (Visit.State.CALLED_OFF, "rain", None)
    assert not Task.objects.exists()
    assert Need.objects.get().state == Need.State.OPEN


def test_calling_off_asks_why(visit):
    with pytest.raises(BadInput, match="say why"):
        call_off_visit(visit_id=visit.pk, reason="  ")


def test_a_visit_with_open_jobs_cannot_be_finished(visit):
    with pytest.raises(BadInput, match="has no answer"):
        finish_visit(visit_id=visit.pk)

    visit.refresh_from_db()
    assert visit.state == Visit.State.PLANNED


def test_finishing_charges_reports_and_mails_once(visit, django_capture_on_commit_callbacks, settings, tmp_path):
    settings.STORAGES = {
        **settings.STORAGES,
        "default": {"BACKEND": "django.core.files.storage.FileSystemStorage", "OPTIONS": {"location": str(tmp_path)}},
    }
    make.agreement(client=visit.site.client)
    answer_all(visit)

    with django_capture_on_commit_callbacks(execute=True):
        finish_visit(visit_id=visit.pk, minutes_taken=90)

    visit.refresh_from_db()
    assert visit.state == Visit.State.FINISHED
    assert VisitReport.objects.get().document.size > 5000
    charged = Charge.objects.filter(reference__startswith=f"visit:{visit.pk}:").count()
    assert charged >= 1
    assert Message.objects.filter(key=f"visit_report:{visit.pk}").count() == 1

    from scheduling.tasks import close_finished

    close_finished(visit_id=visit.pk)

    assert Charge.objects.filter(reference__startswith=f"visit:{visit.pk}:").count() == charged
    assert VisitReport.objects.count() == Message.objects.filter(kind="visit_report").count() == 1


def test_finishing_twice_is_refused(visit):
    answer_all(visit)
    finish_visit(visit_id=visit.pk)

    with pytest.raises(AlreadyDone, match="already finished"):
        finish_visit(visit_id=visit.pk)


def test_work_left_after_its_window_is_missed():
    past = clock.now().date() - timedelta(days=40)
    due = make_garden.need(opens=past, best_from=past, best_until=past, closes=past + timedelta(days=10))
    visit = make_garden.visit(needs=(due,), on=past)
    start_visit(visit_id=visit.pk)
    task = visit.work_order.tasks.get()
    answer_task(task_id=task.pk, answer=Answer(state="not_done", reason="no_time"), by=None)

    finish_visit(visit_id=visit.pk)

    assert Need.objects.get().state == Need.State.LAPSED
