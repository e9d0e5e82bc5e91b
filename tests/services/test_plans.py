"""Plans worked out by a real worker on PostgreSQL: shown while it runs, stopped, taken up again after a kill."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from business import clock
from scheduling.models import Plan, PlanRun, Visit
from scheduling.services.offers import accept_plan
from scheduling.services.plan_runs import start_laying, stop_run, take_up_lost_runs
from scheduling.services.scenes import our_today
from tests import make, make_garden

pytestmark = pytest.mark.services


@pytest.fixture
def span() -> tuple[date, date]:
    make.profile()
    first = our_today() + timedelta(days=7)
    first -= timedelta(days=first.weekday())
    return first, first + timedelta(days=25)


@pytest.fixture
def visits(span):
    make_garden.crew(name="North")
    return [
        make_garden.visit(
            site=make_garden.site(latitude_deg=51.0 + 0.01 * number, longitude_deg=-2.8 + 0.013 * (number % 7)),
            opens=span[0],
            best_from=span[0],
            best_until=span[1],
            closes=span[1],
        )
        for number in range(45)
    ]


def state_of(plan: Plan) -> str:
    return Plan.objects.get(pk=plan.pk).state


def run_of(plan: Plan) -> PlanRun:
    return PlanRun.objects.get(plan=plan)


def laid(span, seconds: float) -> Plan:
    return start_laying(first_day=span[0], last_day=span[1], seconds=seconds)


def test_a_worker_lays_the_rounds_and_offers_them(worker, eventually, span, visits):
    plan = laid(span, 3.0)

    eventually(lambda: state_of(plan) == Plan.State.OFFERED)

    assert run_of(plan).ended_at is not None
    accept_plan(plan_id=plan.pk)
    assert Visit.objects.filter(state=Visit.State.PLANNED).count() == len(visits)


def test_a_stopped_worker_offers_its_best_soon(worker, eventually, span, visits):
    plan = laid(span, 240.0)
    eventually(lambda: run_of(plan).placed == len(visits))
    asked_at = clock.now()

    stop_run(plan_id=plan.pk)

    eventually(lambda: state_of(plan) == Plan.State.OFFERED)
    assert clock.now() - asked_at < timedelta(seconds=30)
    assert Plan.objects.get(pk=plan.pk).offer["notes"][0].startswith("Stopped after")


def test_a_killed_worker_leaves_nothing_and_another_goes_on(worker, eventually, span, visits):
    plan = laid(span, 4.0)
    eventually(lambda: run_of(plan).started_at is not None)
    worker.kill()
    assert state_of(plan) == Plan.State.RUNNING
    assert not Visit.objects.exclude(on=None).exists()
    # A minute without a sign of life goes by.
    PlanRun.objects.filter(plan=plan).update(beat_at=clock.now() - timedelta(seconds=61))
    worker.start()

    assert take_up_lost_runs() == 1

    eventually(lambda: state_of(plan) == Plan.State.OFFERED)
    assert run_of(plan).attempt == 2
