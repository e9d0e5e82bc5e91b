"""The ways a visit may be made, by days in a row or by the matrices of each day."""

from scheduling.rounds import Lock
from scheduling.rounds.checks import sift
from scheduling.rounds.lookup import Lookup
from scheduling.rounds.ways import Hold, Shape, days_open, extra_on, most_extra, runs_of
from tests.scheduling.rounds.weeks import day, shifts, visit, week


def lookup_of(*visits, **more) -> Lookup:
    return Lookup(sift(week(*visits, **more)).problem)


def spans(lookup: Lookup, shape: Shape, key: str = "1") -> list[tuple]:
    return [(run.first, run.last, run.extra) for run in runs_of(lookup, lookup.visits[key], shape)]


def test_days_alike_make_one_run_and_best_part_its_own():
    lookup = lookup_of(visit("1", best_from=day(2), best_until=day(3)))

    assert spans(lookup, Shape()) == [(day(0), day(1), 0), (day(2), day(3), 60), (day(4), day(4), 0)]
    assert spans(lookup, Shape(with_best_part=False)) == [(day(0), day(4), 0)]
    assert spans(lookup, Shape(by_day=True)) == [(day(0), day(4), 0)]


def test_a_day_nobody_works_does_not_break_a_run():
    lookup = lookup_of(visit("1"), crew_days=shifts(days=(0, 1, 3, 4)))

    assert spans(lookup, Shape()) == [(day(0), day(4), 0)]


def test_a_closed_day_between_breaks_a_run():
    lookup = lookup_of(visit("1", blocked=frozenset({day(2)})))

    assert spans(lookup, Shape()) == [(day(0), day(1), 0), (day(3), day(4), 0)]
    # Written by day, one client spans all: the matrices of the closed day keep it out.
    assert spans(lookup, Shape(by_day=True)) == [(day(0), day(4), 0)]


def test_hours_make_a_way_for_each_day_and_span():
    lookup = lookup_of(visit("1", hours=((480, 690), (840, 1020)), closes=day(1)), crew_days=shifts(break_minutes=0))

    found = runs_of(lookup, lookup.visits["1"], Shape(by_day=True))
    assert [(run.first, run.opens, run.closes) for run in found] == [
        (day(0), 480, 690),
        (day(0), 840, 1020),
        (day(1), 480, 690),
        (day(1), 840, 1020),
    ]


def test_hours_are_told_on_a_clock_without_the_break():
    # The break of half an hour begins between 11:30 and 14:00. Morning hours end before it begins and stay as they
    # are; afternoon hours from 14:30 lie behind it on every day, so the clock without breaks shows 14:00.
    lookup = lookup_of(
        visit("1", hours=((480, 690),)), visit("2", hours=((870, 1020),)), visit("3", hours=((600, 900),))
    )

    def told(key: str) -> tuple[int, int]:
        run = runs_of(lookup, lookup.visits[key], Shape())[0]
        return run.opens, run.closes

    assert told("1") == (480, 690)
    assert told("2") == (840, 990)
    assert told("3") == (600, 870)


def test_a_firm_hold_leaves_the_planned_day_alone():
    lookup = lookup_of(visit("1", best_from=day(1), best_until=day(1)))
    firm = Shape(holds={"1": Hold(crew="north", day=day(3), is_firm=True, stay_bonus=300)})
    loose = Shape(holds={"1": Hold(crew="north", day=day(3), is_firm=False, stay_bonus=300)})

    assert days_open(lookup, lookup.visits["1"], firm) == (day(3),)
    assert most_extra(lookup, lookup.visits["1"], firm) == 0
    assert [extra_on(lookup, lookup.visits["1"], loose, day(number)) for number in range(5)] == [0, 60, 0, 300, 0]
    assert most_extra(lookup, lookup.visits["1"], loose) == 300


def test_a_locked_visit_earns_nothing_for_its_day():
    lock = Lock(crew="north", day=day(2), start=600)
    lookup = lookup_of(visit("1", best_from=day(2), best_until=day(2), lock=lock, hours=((480, 540),)))

    assert spans(lookup, Shape()) == [(day(2), day(2), 0)]
    assert spans(lookup, Shape(by_day=True)) == [(day(2), day(2), 0)]
