"""Rain, a crew away, a visit called off, an urgent one, one that ran over: offered, accepted, refused, taken back."""

from __future__ import annotations

from datetime import date, time

import pytest

from business.errors import AlreadyDone, BadInput, Stale
from business.models import Message
from scheduling.models import Need, Plan, Shift, Unplaced, Visit
from scheduling.rounds import Effort
from scheduling.services.crews import lay_shifts
from scheduling.services.offers import accept_plan, drop_plan
from scheduling.services.placements import placement
from scheduling.services.replanning import (
    crew_away,
    rain_day,
    urgent_need,
    urgent_visit,
    visit_called_off,
    visit_ran_over,
)
from scheduling.services.rounds import take_back
from scheduling.services.visits import confirm_visit, finish_visit, fix_visit, start_visit
from tests import make, make_garden

pytestmark = pytest.mark.django_db
DAY = date(2027, 1, 12)
QUICK = Effort(seconds=None, iterations=60, seeds=(1,))


@pytest.fixture(autouse=True)
def morning_before(time_machine):
    time_machine.move_to("2027-01-11 12:00:00+00:00", tick=False)
    make.profile()


@pytest.fixture
def week():
    """Two crews, each with an outdoor and a dry visit on the day; nothing on the days after."""
    crews = [make_garden.crew(name="North"), make_garden.crew(name="South")]
    visits = {}
    for crew in crews:
        for number, rules in enumerate((["D24"], [])):
            visits[crew.name, "wet" if rules else "dry"] = make_garden.visit(
                site=make_garden.site(latitude_deg=51.03 + 0.01 * number),
                on=DAY,
                crew=crew,
                weather_rules=rules,
                position=number + 1,
                arrives_at=time(9 + 2 * number),
                leaves_at=time(10 + 2 * number, 15),
            )
    return visits


def fresh(visit: Visit) -> Visit:
    return Visit.objects.select_related("round__crew", "site").get(pk=visit.pk)


def test_rain_moves_outdoor_visits_and_no_other(week):
    plan = rain_day(day=DAY, effort=QUICK)

    hit = {str(week[name, "wet"].pk) for name in ("North", "South")}
    moved = {key for key in plan.after if plan.after[key]["on"] != DAY.isoformat()}
    assert moved == hit
    assert all(plan.offer["changes"][key]["why"] == "the day is marked wet" for key in hit)
    assert plan.state == Plan.State.OFFERED
    assert plan.numbers["moved"] == 0


def test_an_offer_changes_nothing_until_accepted(week):
    before = {visit.pk: placement(fresh(visit)) for visit in week.values()}

    plan = rain_day(day=DAY, effort=QUICK)
    assert {visit.pk: placement(fresh(visit)) for visit in week.values()} == before
    assert not Shift.objects.filter(is_wet=True).exists()

    accept_plan(plan_id=plan.pk)
    assert fresh(week["North", "wet"]).on != DAY
    assert fresh(week["North", "dry"]).on == DAY
    assert Shift.objects.filter(is_wet=True, on=DAY).count() == 2
    assert fresh(week["North", "wet"]).revision == 1


def test_a_dropped_offer_leaves_all_as_it_was(week):
    plan = rain_day(day=DAY, effort=QUICK)

    drop_plan(plan_id=plan.pk)

    assert fresh(week["North", "wet"]).on == DAY
    with pytest.raises(AlreadyDone, match="is dropped"):
        accept_plan(plan_id=plan.pk)


def test_an_accepted_plan_is_taken_back_whole(week):
    before = {visit.pk: placement(fresh(visit)) for visit in week.values()}
    plan = accept_plan(plan_id=rain_day(day=DAY, effort=QUICK).pk)

    take_back(plan_id=plan.pk)

    assert {visit.pk: placement(fresh(visit)) for visit in week.values()} == before
    assert not Shift.objects.filter(is_wet=True).exists()
    with pytest.raises(BadInput, match="taken back"):
        take_back(plan_id=plan.pk)


def test_accepting_twice_is_refused(week):
    plan = accept_plan(plan_id=rain_day(day=DAY, effort=QUICK).pk)

    with pytest.raises(AlreadyDone, match="is accepted"):
        accept_plan(plan_id=plan.pk)


def test_a_stale_offer_names_the_changed_visit(week):
    plan = rain_day(day=DAY, effort=QUICK)
    changed = week["South", "wet"]
    confirm_visit(visit_id=changed.pk)

    with pytest.raises(Stale) as refused:
        accept_plan(plan_id=plan.pk)

    assert [fault.where for fault in refused.value.faults] == [f"visit to {changed.site}"]
    assert "is agreed now" in str(refused.value)
    assert fresh(week["North", "wet"]).on == DAY
    assert Plan.objects.get().state == Plan.State.OFFERED


def test_an_offer_into_a_changed_day_is_stale(week):
    plan = rain_day(day=DAY, effort=QUICK)
    place = next(place for place in plan.after.values() if place["on"] != DAY.isoformat())
    crew = week["North", "wet"].round.crew if place["crew"] == week["North", "wet"].round.crew_id else None
    crew = crew or week["South", "wet"].round.crew
    make_garden.visit(on=date.fromisoformat(place["on"]), crew=crew)

    with pytest.raises(Stale, match="1 visit more than when the plan was made"):
        accept_plan(plan_id=plan.pk)


def test_an_agreed_visit_moves_and_is_told_again(week):
    agreed = week["North", "wet"]
    confirm_visit(visit_id=agreed.pk)

    plan = rain_day(day=DAY, effort=QUICK)
    assert plan.offer["tell"] == [str(agreed.pk)]

    accept_plan(plan_id=plan.pk)
    assert fresh(agreed).state == Visit.State.PLANNED


def test_a_reminded_client_is_told_again(week):
    told = week["South", "wet"]
    Message.objects.create(
        key=f"reminder:visit:{told.pk}:{DAY}", kind="reminder", to="x@example.com", subject="s", body="b"
    )

    plan = rain_day(day=DAY, effort=QUICK)

    assert plan.offer["tell"] == [str(told.pk)]


def test_a_fixed_visit_stays_and_is_named(week):
    fixed = week["North", "wet"]
    fix_visit(visit_id=fixed.pk, is_locked=True)

    plan = rain_day(day=DAY, effort=QUICK)

    assert str(fixed.pk) not in plan.after
    assert any(fixed.site.name in note and "fixed" in note for note in plan.offer["notes"])


def test_a_crew_away_hands_its_visits_on(week):
    crew = week["North", "wet"].round.crew
    plan = crew_away(crew_id=crew.pk, first_day=DAY, last_day=DAY, reason="flu", effort=QUICK)

    assert set(plan.after) >= {str(week["North", kind].pk) for kind in ("wet", "dry")}
    accept_plan(plan_id=plan.pk)

    shift = Shift.objects.get(crew=crew, on=DAY)
    assert (shift.is_off, shift.reason) == (True, "flu")
    assert not Visit.objects.filter(round__crew=crew, on=DAY).exists()
    assert Visit.objects.filter(on__isnull=True).count() == 0


def test_a_crew_cannot_be_away_on_free_days(week):
    crew = week["North", "wet"].round.crew
    saturday, sunday = date(2027, 1, 16), date(2027, 1, 17)

    with pytest.raises(BadInput, match="does not work on them"):
        crew_away(crew_id=crew.pk, first_day=saturday, last_day=sunday)
    with pytest.raises(BadInput, match="is before"):
        crew_away(crew_id=crew.pk, first_day=sunday, last_day=saturday)
    with pytest.raises(BadInput, match="not at work"):
        crew_away(crew_id=0, first_day=DAY, last_day=DAY)


def test_a_day_that_is_over_is_refused(week):
    with pytest.raises(BadInput, match="is over"):
        rain_day(day=date(2027, 1, 8))


def test_calling_off_closes_the_gap(week):
    gone, left = week["North", "wet"], week["North", "dry"]

    plan = visit_called_off(visit_id=gone.pk, reason="moved house", effort=QUICK)

    assert fresh(gone).state == Visit.State.CALLED_OFF
    assert plan is not None
    assert set(plan.after) == {str(left.pk)}
    assert plan.after[str(left.pk)]["position"] == 1
    assert plan.after[str(left.pk)]["arrives"] < "11:00"


def test_calling_off_without_a_reason_is_refused(week):
    with pytest.raises(BadInput, match="say why"):
        visit_called_off(visit_id=week["North", "wet"].pk, reason="")

    assert fresh(week["North", "wet"]).state == Visit.State.PLANNED


def test_an_unplaced_visit_takes_the_gap(week):
    lost = make_garden.visit(opens=DAY, best_from=DAY, best_until=DAY, closes=DAY, minutes=30)
    Unplaced.objects.create(visit=lost, code="day_full", why="full")

    plan = visit_called_off(visit_id=week["North", "wet"].pk, reason="snow", effort=QUICK)
    assert plan is not None
    accept_plan(plan_id=plan.pk)

    assert fresh(lost).on == DAY
    assert not Unplaced.objects.exists()


def test_an_urgent_visit_finds_a_place(week):
    urgent = make_garden.visit(closes=date(2027, 2, 28))

    plan = urgent_visit(visit_id=urgent.pk, until=DAY, effort=QUICK)

    assert plan.after[str(urgent.pk)]["on"] <= DAY.isoformat()
    accept_plan(plan_id=plan.pk)
    assert fresh(urgent).state == Visit.State.PLANNED


def test_an_urgent_visit_without_room_says_why(week):
    needs_a_climber = make_garden.visit(skills=["climbing"])

    with pytest.raises(BadInput, match="climbing"):
        urgent_visit(visit_id=needs_a_climber.pk, effort=QUICK)
    with pytest.raises(BadInput, match="only a suggested visit"):
        urgent_visit(visit_id=week["North", "wet"].pk)

    assert not Plan.objects.exists()


def test_urgent_work_gets_a_visit_of_its_own(week):
    need = make_garden.need(opens=date(2027, 1, 1), closes=date(2027, 2, 28))

    plan = urgent_need(need_id=need.pk, effort=QUICK)

    visit = Visit.objects.get(work_order__tasks__need=need)
    assert plan.after[str(visit.pk)]["on"]
    with pytest.raises(BadInput, match="on a visit already"):
        urgent_need(need_id=need.pk)


def test_urgent_work_without_room_leaves_no_visit(week):
    need = make_garden.need(skill="climbing", opens=date(2027, 1, 1), closes=date(2027, 2, 28))
    visits = Visit.objects.count()

    with pytest.raises(BadInput, match="climbing"):
        urgent_need(need_id=need.pk, effort=QUICK)

    assert Visit.objects.count() == visits
    Need.objects.update(state=Need.State.DONE)
    with pytest.raises(BadInput, match="only open work"):
        urgent_need(need_id=need.pk)


def test_a_visit_that_ran_over_pushes_the_rest(week, time_machine):
    time_machine.move_to("2027-01-12 10:30:00+00:00", tick=False)
    late, next_one = week["North", "wet"], week["North", "dry"]
    start_visit(visit_id=late.pk)

    plan = visit_ran_over(visit_id=late.pk, until=time(13, 0), effort=QUICK)

    assert plan.after[str(next_one.pk)]["arrives"] > "13:00"
    assert plan.after[str(next_one.pk)]["position"] == 2
    assert str(late.pk) not in plan.after
    accept_plan(plan_id=plan.pk)
    assert fresh(next_one).round.leaves_at == time(8, 0)


def test_running_over_is_told_on_the_day(week, time_machine):
    with pytest.raises(BadInput, match="not under way today"):
        visit_ran_over(visit_id=week["North", "wet"].pk, until=time(13, 0))
    time_machine.move_to("2027-01-12 10:30:00+00:00", tick=False)
    with pytest.raises(BadInput, match="give a later time"):
        visit_ran_over(visit_id=week["North", "wet"].pk, until=time(9, 30))


def test_what_is_done_today_is_left_alone(week, time_machine):
    time_machine.move_to("2027-01-12 10:30:00+00:00", tick=False)
    done = week["North", "wet"]
    finish_visit(visit_id=done.pk, minutes_taken=70)
    other = week["South", "wet"].round.crew

    plan = crew_away(crew_id=other.pk, first_day=DAY, last_day=DAY, effort=QUICK)

    assert str(done.pk) not in plan.after
    north_today = [
        place for place in plan.after.values() if place["on"] == DAY.isoformat() and place["crew"] == done.round.crew_id
    ]
    assert all(place["arrives"] >= "10:30" for place in north_today)


def test_days_off_and_shifts_already_laid_stay(week):
    crew = week["North", "wet"].round.crew
    lay_shifts(crew=crew, first_day=DAY, last_day=DAY)
    Shift.objects.filter(crew=crew, on=DAY).update(reason="training", starts=time(9, 0))

    plan = accept_plan(plan_id=rain_day(day=DAY, effort=QUICK).pk)

    shift = Shift.objects.get(crew=crew, on=DAY)
    assert (shift.starts, shift.reason, shift.is_wet) == (time(9, 0), "training", True)
    take_back(plan_id=plan.pk)
    shift.refresh_from_db()
    assert (shift.reason, shift.is_wet) == ("training", False)


def test_what_does_not_move_costs_the_same(week):
    Visit.objects.update(weather_rules=[])

    plan = rain_day(day=DAY, effort=QUICK)

    assert plan.after == {}
    before, after = plan.numbers["before"], plan.numbers["after"]
    assert before["drive_minutes"] == after["drive_minutes"] > 0
    assert before["drive_km"] == after["drive_km"] > 0
    assert before["utilisation"] == after["utilisation"]
