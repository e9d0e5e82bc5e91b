"""Needs on the sheets of visits: long ones over several days, riders on visits that stand."""

from __future__ import annotations

from datetime import date

import pytest

from gardens.models import Record
from scheduling.models import Need, Task, Visit
from scheduling.queries.visits import crews_at_work
from scheduling.services.packing import PackingOutcome, pack_one_site
from scheduling.services.tasks import Answer, answer_task
from tests import make, make_garden

pytestmark = pytest.mark.django_db
OPENS, CLOSES = date(2027, 1, 4), date(2027, 3, 12)
DAYS = {"opens": OPENS, "best_from": OPENS, "best_until": CLOSES, "closes": CLOSES}


@pytest.fixture(autouse=True)
def today(time_machine):
    time_machine.move_to("2026-12-01 09:00:00+00:00", tick=False)
    make.profile()


def pack(need: Need) -> PackingOutcome:
    outcome = PackingOutcome()
    pack_one_site(need.season, need.site, list(crews_at_work()), outcome)
    return outcome


@pytest.fixture
def long_need():
    make_garden.crew()
    return make_garden.need(minutes=1500, **DAYS)


def test_a_job_of_several_days_gets_a_share_in_each_visit(long_need):
    outcome = pack(long_need)
    tasks = list(Task.objects.order_by("work_order__visit__opens", "work_order__visit__best_from", "pk"))
    assert outcome.visits == len(tasks) == Visit.objects.count() > 1
    assert [task.need for task in tasks].count(long_need) == 1
    assert [task.is_part for task in tasks].count(False) == 1
    assert sum(task.minutes for task in tasks) == pytest.approx(1500)
    assert {task.instruction.split(":")[0] for task in tasks} == {
        f"Day {number} of {len(tasks)}" for number in range(1, len(tasks) + 1)
    }
    assert outcome.needs_placed == 1


def test_packing_a_long_job_twice_leaves_the_same_sheets(long_need):
    pack(long_need)
    before = sorted(Task.objects.values_list("instruction", "minutes", "is_part"))
    pack(long_need)
    assert sorted(Task.objects.values_list("instruction", "minutes", "is_part")) == before


def test_only_the_last_share_makes_the_tree_done(long_need, office):
    pack(long_need)
    part, last = Task.objects.get(is_part=True, instruction__startswith="Day 1"), Task.objects.get(is_part=False)
    for task, state in ((part, Need.State.OPEN), (last, Need.State.DONE)):
        answer_task(task_id=task.pk, answer=Answer(state="done"), by=office)
        long_need.refresh_from_db()
        assert long_need.state == state
    assert Record.objects.filter(tree=long_need.tree, kind="done").count() == 1


def test_work_that_rides_along_lengthens_the_visit_that_stands():
    crew = make_garden.crew()
    first = make_garden.need(minutes=60, **DAYS)
    visit = make_garden.visit(needs=(first,), on=date(2027, 2, 1), crew=crew)
    before = (visit.minutes, visit.revision)
    tree = make_garden.tree(support=first.tree.support, position_mm=6000)
    rider = make_garden.need(tree=tree, minutes=40, season=visit.season, **DAYS)
    pack(rider)
    visit.refresh_from_db()
    assert Task.objects.get(need=rider).work_order.visit == visit
    assert (visit.minutes, visit.revision) == (before[0] + 20, before[1] + 1)
