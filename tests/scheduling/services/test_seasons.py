"""From trees to needs, visits and rounds, on rows."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from business.errors import BadInput
from gardens.models import Record
from scheduling.models import Need, Plan, Round, Season, Shift, Task, Unplaced, Visit
from scheduling.rounds import Effort
from scheduling.services.rounds import lay_rounds, take_back
from scheduling.services.seasons import plan_season
from scheduling.services.visits import fix_visit
from tests import make, make_garden

pytestmark = pytest.mark.django_db
QUICK = Effort(seconds=None, iterations=60, seeds=(1,))


@pytest.fixture(autouse=True)
def today(time_machine):
    time_machine.move_to("2026-11-25 09:00:00+00:00", tick=False)


@pytest.fixture
def book():
    """Two gardens, three trees, one crew."""
    make.profile()
    first = make_garden.support()
    second = make_garden.support(kind="wall", gap_mm=150, name="West wall")
    trees = [
        make_garden.tree(support=first),
        make_garden.tree(support=first, position_mm=6000, planted_on=date(2018, 11, 20)),
        make_garden.tree(support=second, species="pear_european", rootstock="quince_a"),
    ]
    make_garden.crew()
    return trees


def test_a_season_without_a_tree_is_refused():
    with pytest.raises(BadInput, match="no living tree"):
        plan_season(2027)

    assert not Season.objects.exists()


def test_every_need_has_window_reason_and_source(book):
    outcome = plan_season(2027)

    assert outcome.trees == 3
    needs = list(Need.objects.all())
    assert outcome.needs == len(needs) > 10
    assert all(need.opens <= need.best_from <= need.best_until <= need.closes for need in needs)
    assert all(need.why and need.source and need.minutes > 0 for need in needs)
    assert {need.tree_id for need in needs if need.tree_id} == {tree.pk for tree in book}
    assert all(need.support_id for need in needs if need.tree_id is None)
    assert all(need.closes >= date(2026, 11, 25) for need in needs)


def test_planning_twice_changes_nothing(book):
    plan_season(2027)
    before = set(Need.objects.values_list("pk", "key", "opens", "closes", "state"))
    visits = Visit.objects.count()

    outcome = plan_season(2027)

    assert (outcome.added, outcome.changed, outcome.withdrawn) == (0, 0, 0)
    assert set(Need.objects.values_list("pk", "key", "opens", "closes", "state")) == before
    assert Visit.objects.count() == visits


def test_every_due_need_is_in_a_visit_or_has_its_reason(book):
    plan_season(2027)

    due = Need.objects.filter(is_optional=False)
    laid = set(Task.objects.values_list("need_id", flat=True))
    lost = set(Unplaced.objects.values_list("need_id", flat=True))
    assert {need.pk for need in due} <= laid | lost
    for visit in Visit.objects.all():
        for task in visit.work_order.tasks.select_related("need"):
            assert task.need.opens <= visit.opens
            assert visit.closes <= task.need.closes


def test_what_was_measured_changes_what_is_due(book):
    plan_season(2027)
    tree = book[0]
    make_garden.record(tree=tree, on=date(2026, 11, 20), value=400.0)
    short = {need.key for need in Need.objects.filter(tree=tree, state="open")}

    plan_season(2027)

    after = {need.key for need in Need.objects.filter(tree=tree, state="open")}
    assert short != after
    assert Need.objects.filter(tree=tree, state="withdrawn").exists()


def test_work_that_was_recorded_is_not_asked_again(book):
    plan_season(2027)
    due = Need.objects.filter(tree=book[1], kind="winter_prune").first()
    assert due is not None
    make_garden.record(tree=book[1], on=due.best_from, kind="done", what="winter_prune", limb="whole", value=None)

    plan_season(2027)

    # Records of the future are left out of the tree as it stands; the record lies after today.
    due.refresh_from_db()
    assert due.state == Need.State.OPEN
    Record.objects.update(on=date(2026, 11, 24))
    Need.objects.filter(pk=due.pk).update(opens=date(2026, 11, 20))


def test_rounds_keep_windows_shifts_and_access_days(book):
    plan_season(2027)

    outcome = lay_rounds(first_day=date(2026, 11, 25), last_day=date(2027, 3, 31), effort=QUICK)

    assert outcome.placed > 0
    for visit in Visit.objects.filter(state=Visit.State.PLANNED).select_related("site", "round"):
        assert visit.opens <= visit.on <= visit.closes
        assert visit.site.may_be_entered_on(visit.on)
        assert visit.round.on == visit.on
        assert visit.round.leaves_at <= visit.arrives_at <= visit.leaves_at <= visit.round.back_at
    # 25 December 2026 is a bank holiday in the United Kingdom.
    assert Shift.objects.get(on=date(2026, 12, 25)).is_off
    assert not Round.objects.filter(on=date(2026, 12, 25)).exists()


def test_a_fixed_visit_is_never_moved(book):
    plan_season(2027)
    lay_rounds(first_day=date(2026, 11, 25), last_day=date(2027, 3, 31), effort=QUICK)
    visit = Visit.objects.filter(state=Visit.State.PLANNED).first()
    assert visit is not None
    fix_visit(visit_id=visit.pk, is_locked=True)
    where = Visit.objects.filter(pk=visit.pk).values_list("on", "round__crew", "arrives_at").get()

    lay_rounds(first_day=date(2026, 11, 25), last_day=date(2027, 3, 31), effort=QUICK)

    assert Visit.objects.filter(pk=visit.pk).values_list("on", "round__crew", "arrives_at").get() == where


def test_a_plan_can_be_taken_back(book):
    plan_season(2027)
    outcome = lay_rounds(first_day=date(2026, 11, 25), last_day=date(2027, 3, 31), effort=QUICK)

    take_back(plan_id=outcome.plan.pk)

    assert Plan.objects.get().state == Plan.State.UNDONE
    assert set(Visit.objects.values_list("state", "on")) == {("proposed", None)}
    assert not Round.objects.exists()


def test_a_plan_whose_visits_changed_is_not_taken_back(book):
    plan_season(2027)
    outcome = lay_rounds(first_day=date(2026, 11, 25), last_day=date(2027, 3, 31), effort=QUICK)
    visit = Visit.objects.filter(state=Visit.State.PLANNED).first()
    assert visit is not None
    visit.position = 9
    visit.save()

    with pytest.raises(BadInput, match="was changed since"):
        take_back(plan_id=outcome.plan.pk)

    assert Plan.objects.get().state == Plan.State.ACCEPTED


@pytest.mark.parametrize(
    ("first", "last", "word"),
    [
        (date(2027, 2, 1), date(2027, 1, 1), "is before"),
        (date(2027, 1, 1), date(2029, 1, 1), "more than 400 days"),
    ],
)
def test_days_that_make_no_span_are_refused(book, first, last, word):
    with pytest.raises(BadInput, match=word):
        lay_rounds(first_day=first, last_day=last, effort=QUICK)


def test_rounds_without_a_crew_are_refused():
    with pytest.raises(BadInput, match="add a crew"):
        lay_rounds(first_day=date(2027, 1, 1), last_day=date(2027, 1, 1) + timedelta(days=3), effort=QUICK)


def tall_wall():
    """One old tree whose top tier hangs at 3.3 m."""
    make.profile()
    wall = make_garden.support(kind="wall", gap_mm=150, height_mm=3500, wires=(450, 1300, 2200, 3300))
    return make_garden.tree(support=wall, tiers=4, planted_on=date(2012, 1, 10))


def test_work_above_three_metres_goes_to_two_people_with_ladders():
    tall_wall()
    make_garden.crew(name="One", size=1, skills=["ladder"])
    make_garden.crew(name="Two", size=2, skills=["ladder"])

    plan_season(2027)

    high = Visit.objects.filter(work_order__tasks__kind="winter_prune").distinct()
    assert {(tuple(visit.skills), visit.crew_size) for visit in high} == {(("ladder",), 2)}


def test_high_work_that_no_crew_can_do_says_why():
    tall_wall()
    make_garden.crew(size=1, skills=["ladder"])

    plan_season(2027)

    (why,) = Unplaced.objects.filter(need__kind="winter_prune").values_list("why", flat=True).distinct()
    assert "no crew has 2 people with ladder" in why


def test_a_visit_fixed_on_a_holiday_is_named_and_the_rest_is_planned(book):
    """25 December 2026 is a bank holiday in the United Kingdom."""
    plan_season(2027)
    lay_rounds(first_day=date(2026, 11, 25), last_day=date(2027, 3, 31), effort=QUICK)
    visit = Visit.objects.filter(state=Visit.State.PLANNED).first()
    assert visit is not None
    christmas = date(2026, 12, 25)
    days = {"opens": date(2026, 12, 1), "best_from": date(2026, 12, 1), "best_until": christmas, "closes": christmas}
    Visit.objects.filter(pk=visit.pk).update(on=christmas, is_locked=True, **days)

    outcome = lay_rounds(first_day=date(2026, 11, 25), last_day=date(2027, 3, 31), effort=QUICK)

    (fault,) = (words for words in outcome.plan.numbers["faults"] if "holiday" in words)
    assert "move it to a working day" in fault
    assert Visit.objects.filter(state=Visit.State.PLANNED).exclude(pk=visit.pk).exists()
