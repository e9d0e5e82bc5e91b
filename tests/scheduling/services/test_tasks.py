"""Answers become records once, and can be taken back."""

from __future__ import annotations

from datetime import date

import pytest

from business.errors import AlreadyDone, BadInput
from gardens.models import Record
from scheduling.models import Need, Task
from scheduling.services.tasks import Answer, answer_task, undo_answer
from tests import make, make_garden

pytestmark = pytest.mark.django_db


@pytest.fixture
def task() -> Task:
    due = make_garden.need(kind="head_back", limb="leader", at_mm=950)
    visit = make_garden.visit(needs=(due,), on=date(2027, 1, 12))
    return visit.work_order.tasks.get()


def test_done_writes_the_cut_as_a_record(task):
    by = make.staff()

    answer_task(task_id=task.pk, answer=Answer(state="done"), by=by, at=make_garden.utc(2027, 1, 12))

    record = Record.objects.get()
    assert (record.kind, record.what, record.limb, record.value) == ("done", "head_back", "leader", 950)
    assert (record.on, record.made_by, record.reference) == (date(2027, 1, 12), by, f"task:{task.pk}")
    assert Need.objects.get().state == Need.State.DONE


def test_a_measured_height_goes_before_the_printed_one(task):
    answer_task(task_id=task.pk, answer=Answer(state="done", value=935.0), by=None)

    assert Record.objects.get().value == 935


def test_the_day_of_a_record_is_the_garden_day():
    due = make_garden.need(
        tree=make_garden.tree(support=make_garden.support(site=make_garden.site(time_zone="Pacific/Auckland")))
    )
    task = make_garden.visit(needs=(due,), on=date(2027, 1, 12)).work_order.tasks.get()

    answer_task(task_id=task.pk, answer=Answer(state="done"), by=None, at=make_garden.utc(2027, 1, 11, 22))

    assert Record.objects.get().on == date(2027, 1, 12)


def test_answering_twice_is_refused_and_writes_once(task):
    answer_task(task_id=task.pk, answer=Answer(state="done"), by=None)

    with pytest.raises(AlreadyDone, match="undo it first"):
        answer_task(task_id=task.pk, answer=Answer(state="not_done", reason="weather"), by=None)

    assert Record.objects.count() == 1


def test_not_done_needs_a_reason_from_the_list(task):
    with pytest.raises(BadInput, match="needs its reason"):
        answer_task(task_id=task.pk, answer=Answer(state="not_done", reason="bored"), by=None)

    task.refresh_from_db()
    assert task.state == Task.State.OPEN
    assert not Record.objects.exists()


def test_work_not_done_stays_a_need(task):
    answer_task(task_id=task.pk, answer=Answer(state="not_done", reason="weather"), by=None)

    assert Need.objects.get().state == Need.State.OPEN
    assert not Record.objects.exists()


def test_a_lost_limb_is_seen_as_lost():
    due = make_garden.need(kind="tie_in", limb="arm:2:left")
    task = make_garden.visit(needs=(due,), on=date(2027, 1, 12)).work_order.tasks.get()

    answer_task(task_id=task.pk, answer=Answer(state="not_done", reason="lost"), by=None)

    assert Record.objects.values_list("kind", "what", "limb").get() == ("seen", "lost", "arm:2:left")


def test_undo_withdraws_the_record_and_opens_the_need(task):
    answer_task(task_id=task.pk, answer=Answer(state="done"), by=None)

    undo_answer(task_id=task.pk)

    task.refresh_from_db()
    assert (task.state, task.answered_at) == (Task.State.OPEN, None)
    assert Record.objects.get().is_withdrawn
    assert Need.objects.get().state == Need.State.OPEN


def test_done_undone_done_again_leaves_one_standing_record(task):
    for hour in (9, 10):
        answer_task(task_id=task.pk, answer=Answer(state="done"), by=None, at=make_garden.utc(2027, 1, 12, hour))
        if hour == 9:
            undo_answer(task_id=task.pk)

    assert Record.objects.filter(is_withdrawn=False).count() == 1
    assert Record.objects.count() == 2
