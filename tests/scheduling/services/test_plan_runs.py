"""Plans worked out by a job: progress told, stopped with the best so far, a lost worker noticed, a late one ignored."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.urls import reverse

from business import clock
from business.errors import AlreadyDone, BadInput, Stale
from scheduling.models import Plan, PlanRun, Unplaced, Visit
from scheduling.queries.plan_runs import is_lost, run_seen
from scheduling.services import plan_runs, replanning
from scheduling.services.offers import accept_plan
from scheduling.services.placements import placement
from scheduling.services.plan_runs import (
    clear_run,
    run_again,
    start_for_need,
    start_laying,
    start_run,
    stop_run,
    take_up_lost_runs,
    work_out_plan,
)
from scheduling.services.rounds import take_back
from scheduling.services.visits import confirm_visit, fix_visit, start_visit
from tests import make, make_garden

pytestmark = pytest.mark.django_db
TODAY = date(2027, 1, 11)
DAY = date(2027, 1, 12)
RAIN = {"kind": "rain", "day": "2027-01-12"}


@pytest.fixture(autouse=True)
def morning_before(time_machine, monkeypatch):
    time_machine.move_to("2027-01-11 07:00:00+00:00", tick=False)
    monkeypatch.setattr(replanning, "USUAL_EFFORT", replanning.Effort(seconds=None, iterations=60, seeds=(1,)))
    make.profile()


@pytest.fixture
def queued(monkeypatch):
    """The jobs asked for; no worker takes them."""
    jobs: list[tuple[str, dict]] = []
    monkeypatch.setattr(plan_runs, "later", lambda name, **arguments: jobs.append((name, arguments)))
    return jobs


@pytest.fixture
def crew():
    return make_garden.crew(name="North")


@pytest.fixture
def wet(crew):
    return make_garden.visit(on=DAY, crew=crew, position=1, weather_rules=["D24"])


def fresh(plan: Plan) -> Plan:
    return Plan.objects.get(pk=plan.pk)


def test_a_question_waits_as_a_plan_under_way(queued, wet):
    plan = start_run(question=RAIN)

    assert (plan.state, plan.cause) == (Plan.State.RUNNING, "Rain on 12 January")
    assert queued == [("scheduling.tasks.work_out_plan", {"plan_id": plan.pk})]
    seen = run_seen(plan, clock.now())
    assert seen is not None
    assert (seen.is_waiting, seen.is_lost, seen.seconds) == (True, False, 0)


def test_a_job_answers_on_the_row_that_was_asked(queued, wet):
    plan = start_run(question=RAIN)

    assert work_out_plan(plan_id=plan.pk)

    done = fresh(plan)
    assert done.state == Plan.State.OFFERED
    assert done.after[str(wet.pk)]["on"] != DAY.isoformat()
    assert done.run.ended_at is not None
    accept_plan(plan_id=plan.pk)
    assert Visit.objects.get(pk=wet.pk).on != DAY


def test_the_same_job_twice_does_its_work_once(queued, wet):
    plan = start_run(question=RAIN)

    assert [work_out_plan(plan_id=plan.pk) for _ in range(3)] == [True, False, False]
    assert Plan.objects.count() == 1


def test_what_is_wrong_is_told_before_anything_waits(queued, wet):
    with pytest.raises(BadInput, match="is over"):
        start_run(question={"kind": "rain", "day": "2027-01-08"})
    with pytest.raises(BadInput, match="give the later day last"):
        start_laying(first_day=DAY, last_day=TODAY, seconds=5)

    assert queued == []
    assert not Plan.objects.exists()


def test_no_crew_no_laying(queued):
    with pytest.raises(BadInput, match="add a crew"):
        start_laying(first_day=TODAY, last_day=DAY, seconds=5)


def test_progress_is_written_while_it_runs(queued, wet, monkeypatch):
    monkeypatch.setattr(plan_runs, "BEAT_SECONDS", 0.0)
    told = []
    real = plan_runs._Pulse.tell

    def tell(pulse, **values):
        real(pulse, **values)
        told.append(PlanRun.objects.values("stage", "placed", "asked").get())

    monkeypatch.setattr(plan_runs._Pulse, "tell", tell)
    work_out_plan(plan_id=start_run(question=RAIN).pk)

    stages = [each["stage"] for each in told]
    assert stages[0] == "reading the rounds as they stand"
    assert "looking for room without moving another visit" in stages
    assert stages[-1] == "writing down what would change"
    assert told[-1]["asked"] == 1


def test_a_stopped_search_offers_its_best_so_far(queued, crew, monkeypatch):
    visits = [
        make_garden.visit(opens=TODAY, best_from=TODAY, best_until=DAY, closes=date(2027, 1, 29)) for _ in range(6)
    ]
    monkeypatch.setattr(replanning, "USUAL_EFFORT", replanning.Effort(seconds=60.0, seeds=(1, 2)))
    monkeypatch.setattr(plan_runs, "BEAT_SECONDS", 0.2)
    plan = start_laying(first_day=TODAY, last_day=date(2027, 1, 29), seconds=60)
    real = plan_runs._Pulse.hear

    def hear(pulse, progress):
        real(pulse, progress)
        if progress.placed == len(visits):
            stop_run(plan_id=plan.pk)

    monkeypatch.setattr(plan_runs._Pulse, "hear", hear)
    work_out_plan(plan_id=plan.pk)

    done = fresh(plan)
    assert done.state == Plan.State.OFFERED
    assert done.numbers["after"]["seconds"] < 20
    assert done.offer["notes"][0].startswith("Stopped after")
    assert len(done.after) == len(visits)


def test_a_run_nobody_took_up_is_dropped_at_once(queued, wet):
    plan = start_run(question=RAIN)

    stop_run(plan_id=plan.pk)

    assert fresh(plan).state == Plan.State.DROPPED
    assert not work_out_plan(plan_id=plan.pk)
    with pytest.raises(AlreadyDone, match="is dropped"):
        stop_run(plan_id=plan.pk)


def test_a_cleared_run_that_comes_back_changes_nothing(queued, wet, monkeypatch):
    plan = start_run(question=RAIN)
    real = plan_runs.find_answer

    def answer_after_clearing(asked, effort):
        clear_run(plan_id=plan.pk)
        return real(asked, effort)

    monkeypatch.setattr(plan_runs, "find_answer", answer_after_clearing)

    assert not work_out_plan(plan_id=plan.pk)
    assert fresh(plan).state == Plan.State.DROPPED
    assert fresh(plan).after == {}


def test_a_lost_worker_is_noticed_and_the_run_taken_up_again(queued, wet, time_machine):
    plan = start_run(question=RAIN)
    assert plan_runs._take_up(plan.pk) is not None
    time_machine.shift(timedelta(seconds=30))
    assert take_up_lost_runs() == 0
    assert not work_out_plan(plan_id=plan.pk), "its worker still lives"

    time_machine.shift(timedelta(seconds=31))
    assert is_lost(PlanRun.objects.get(), clock.now())
    assert take_up_lost_runs() == 1
    assert len(queued) == 2
    assert work_out_plan(plan_id=plan.pk)
    assert fresh(plan).state == Plan.State.OFFERED


def test_the_first_worker_waking_up_late_writes_nothing(queued, wet, time_machine, monkeypatch):
    plan = start_run(question=RAIN)
    real = plan_runs.find_answer
    answers = []

    def overtaken(asked, effort):
        if not answers:
            answers.append("slow")
            time_machine.shift(timedelta(seconds=90))
            assert work_out_plan(plan_id=plan.pk)
        return real(asked, effort)

    monkeypatch.setattr(plan_runs, "find_answer", overtaken)

    assert not work_out_plan(plan_id=plan.pk)
    assert PlanRun.objects.get().attempt == 2
    assert fresh(plan).state == Plan.State.OFFERED


def test_a_run_lost_twice_is_given_up_with_its_reason(queued, wet, time_machine):
    plan = start_run(question=RAIN)
    for _ in range(2):
        assert plan_runs._take_up(plan.pk) is not None
        time_machine.shift(timedelta(seconds=61))

    assert take_up_lost_runs() == 0
    assert fresh(plan).state == Plan.State.DROPPED
    assert PlanRun.objects.get().faults == [{"where": "plan", "wrong": "lost its worker", "remedy": "ask for it again"}]


def test_asking_again_queues_the_same_question(queued, wet, time_machine):
    plan = start_run(question=RAIN)
    with pytest.raises(AlreadyDone, match="is under way"):
        run_again(plan_id=plan.pk)
    time_machine.shift(timedelta(seconds=61))

    again = run_again(plan_id=plan.pk)

    assert fresh(plan).state == Plan.State.DROPPED
    assert (again.state, again.run.question) == (Plan.State.RUNNING, RAIN)
    assert work_out_plan(plan_id=again.pk)


def test_a_broken_answer_is_said_and_logged(queued, wet, monkeypatch):
    plan = start_run(question=RAIN)

    def breaks(asked, effort):
        raise ZeroDivisionError

    monkeypatch.setattr(plan_runs, "find_answer", breaks)
    with pytest.raises(ZeroDivisionError):
        work_out_plan(plan_id=plan.pk)

    assert fresh(plan).state == Plan.State.DROPPED
    assert "could not be worked out" in PlanRun.objects.get().faults[0]["wrong"]


def test_urgent_work_without_a_place_says_why_and_leaves_no_visit(queued, crew):
    need = make_garden.need(skill="climbing")
    plan = start_for_need(need_id=need.pk)
    assert Visit.objects.count() == 1

    assert work_out_plan(plan_id=plan.pk)

    assert fresh(plan).state == Plan.State.DROPPED
    assert "climbing" in PlanRun.objects.get().faults[0]["wrong"]
    assert not Visit.objects.exists()


def test_laid_rounds_are_offered_accepted_and_taken_back(queued, crew):
    visits = [make_garden.visit(opens=DAY, best_from=DAY, best_until=DAY, closes=date(2027, 1, 29)) for _ in range(4)]
    nowhere = make_garden.visit(opens=DAY, best_from=DAY, best_until=DAY, closes=DAY, skills=["climbing"])
    plan = start_laying(first_day=TODAY, last_day=date(2027, 1, 29), seconds=5)
    work_out_plan(plan_id=plan.pk)
    assert not Visit.objects.exclude(on=None).exists()

    accept_plan(plan_id=plan.pk)
    assert Visit.objects.filter(state=Visit.State.PLANNED).count() == len(visits)
    assert "climbing" in Unplaced.objects.get(visit=nowhere).why

    take_back(plan_id=plan.pk)
    assert not Visit.objects.exclude(on=None).exists()


def test_laying_leaves_what_is_promised_or_under_way(queued, crew, time_machine):
    agreed = make_garden.visit(on=DAY, crew=crew, position=1)
    fixed = make_garden.visit(on=date(2027, 1, 13), crew=crew, position=1)
    today = make_garden.visit(on=TODAY, crew=crew, position=1)
    confirm_visit(visit_id=agreed.pk)
    fix_visit(visit_id=fixed.pk, is_locked=True)
    time_machine.move_to("2027-01-11 10:00:00+00:00", tick=False)
    start_visit(visit_id=today.pk)
    before = {visit.pk: placement(Visit.objects.get(pk=visit.pk)) for visit in (agreed, fixed, today)}
    moving = make_garden.visit(opens=TODAY, best_from=TODAY, best_until=TODAY, closes=date(2027, 1, 15))

    plan = start_laying(first_day=TODAY, last_day=date(2027, 1, 15), seconds=5)
    work_out_plan(plan_id=plan.pk)
    accept_plan(plan_id=plan.pk)

    for pk, where in before.items():
        now = placement(Visit.objects.get(pk=pk))
        assert {key: now[key] for key in ("state", "crew", "on")} == {
            key: where[key] for key in ("state", "crew", "on")
        }
    placed = Visit.objects.get(pk=moving.pk)
    assert placed.on is not None
    assert placed.on > TODAY or (placed.arrives_at is not None and placed.arrives_at.hour >= 10)


def test_laid_rounds_are_refused_when_a_visit_changed(queued, crew):
    visit = make_garden.visit(opens=DAY, best_from=DAY, best_until=DAY, closes=date(2027, 1, 29), on=DAY, crew=crew)
    other = make_garden.visit(opens=DAY, best_from=DAY, best_until=DAY, closes=date(2027, 1, 29))
    plan = start_laying(first_day=TODAY, last_day=date(2027, 1, 29), seconds=5)
    work_out_plan(plan_id=plan.pk)
    touched = visit if str(visit.pk) in fresh(plan).after else other
    Visit.objects.filter(pk=touched.pk).update(revision=9)

    with pytest.raises(Stale, match=f"visit to {touched.site}"):
        accept_plan(plan_id=plan.pk)


def test_a_plan_of_a_command_is_not_asked_again(at_office, crew):
    plan = Plan.objects.create(
        made_at=clock.now(),
        first_day=date(2027, 2, 1),
        last_day=date(2027, 2, 5),
        state=Plan.State.ACCEPTED,
        cause="plan rounds",
    )
    answer = at_office.post(reverse("plan-again", args=[plan.pk]))
    assert answer.status_code == 422
    assert "was written at once" in answer.content.decode()
