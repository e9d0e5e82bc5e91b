"""What a crew and a day mean for a visit, written into matrices: nothing is won or lost on the way."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.rounds.checks import sift
from scheduling.rounds.insertion import put_in
from scheduling.rounds.lookup import Lookup
from scheduling.rounds.model import PARTS, Model, write_model
from scheduling.rounds.profiles import FORBIDDEN, bytes_by_day
from scheduling.rounds.solver import price
from scheduling.rounds.values import Weights
from scheduling.rounds.ways import Hold, Shape
from tests.scheduling.rounds.weeks import day, shifts, visit, week

NUMBERS = range(9)
MIXED = week(
    *(
        visit(
            str(number),
            "abcdef"[number % 6],
            45 + 5 * number,
            best_from=day(number % 5),
            best_until=day(min(4, number % 5 + 1)),
            known_crew=("north", "south", "")[number % 3],
            skills=frozenset({"ladder"}) if number % 4 == 0 else frozenset(),
            weekdays=frozenset({0, 2, 4}) if number % 5 == 1 else frozenset(range(7)),
            minutes_for={"south": 75} if number == 2 else {},
        )
        for number in NUMBERS
    )
)
LOOKUP = Lookup(sift(MIXED).problem)
HOLDS = {
    str(number): Hold(
        crew=("north", "south")[number % 2], day=day(number % 4), is_firm=False, stay_bonus=300, crew_price=100
    )
    for number in NUMBERS
}


def models(**more) -> list[Model]:
    return [write_model(LOOKUP, Shape(by_day=by_day, **more)) for by_day in (False, True)]


def some_plan(seed: int) -> Mapping[tuple, Sequence[str]]:
    """Any plan that keeps the rules: visits put in one after the other, on days drawn by lot."""
    random = Random(seed)
    keys = list(LOOKUP.crew_days)
    laid: dict = {}
    for number in random.sample(NUMBERS, len(NUMBERS)):
        chosen = set(random.sample(keys, 4))
        without = put_in(LOOKUP, laid, [str(number)])
        if any(str(number) in sequence and key in chosen for key, sequence in without.items()):
            laid = without
    return laid


def cost(model: Model, laid: Mapping[tuple, Sequence[str]]) -> int:
    found = price(model.problem, model.routes(laid))
    assert model.sequences(found.routes) == {key: tuple(sequence) for key, sequence in laid.items()}
    return found.cost


@settings(deadline=None, max_examples=30)
@given(st.integers(0, 10**6), st.integers(0, 10**6), st.booleans())
def test_both_ways_of_writing_price_plans_alike(one, other, is_held):
    # Prizes of ways not chosen count differently, by a constant; between two plans the difference must be the same.
    by_runs, by_day = models(holds=HOLDS if is_held else None)
    first, second = some_plan(one), some_plan(other)

    assert cost(by_runs, first) - cost(by_runs, second) == cost(by_day, first) - cost(by_day, second)


def test_a_visit_outside_its_best_part_costs_what_it_is_worth():
    problem = week(visit("1", "yard", best_from=day(1), best_until=day(1)), weights=Weights(even_load=0))
    lookup = Lookup(sift(problem).problem)
    model = write_model(lookup, Shape(by_day=True))

    def priced(number: int) -> int:
        return price(model.problem, model.routes({("north", day(number)): ("1",)})).cost

    assert priced(0) - priced(1) == Weights().best_part


def test_closed_days_and_wrong_crews_lie_out_of_reach():
    lookup = Lookup(sift(week(visit("1", weekdays=frozenset({1})), visit("2", skills=frozenset({"ladder"})))).problem)
    model = write_model(lookup, Shape(by_day=True))
    profile = {
        key: vehicle.profile
        for vehicle, keys in zip(model.problem.vehicles, model.crew_days, strict=True)
        for key in keys
    }
    place = {model.visit_ids[client.visit]: client.place for client in model.problem.clients}

    def is_open(key: str, crew: str, number: int) -> bool:
        return bool(model.problem.times[profile[crew, day(number)]][0, place[key]] < FORBIDDEN)

    assert [is_open("1", "north", number) for number in range(5)] == [False, True, False, False, False]
    assert [is_open("2", "north", number) for number in range(5)] == [True] * 5
    assert [is_open("2", "south", number) for number in range(5)] == [False] * 5


def test_days_to_which_the_same_rules_apply_share_their_matrices():
    plain = write_model(Lookup(sift(week(visit("1"), visit("2", "b"))).problem), Shape(by_day=True))
    mixed = write_model(LOOKUP, Shape(by_day=True))

    assert len(plain.problem.times) == 1
    assert 2 < len(mixed.problem.times) <= len(LOOKUP.crew_days)
    held = sum(matrix.nbytes for matrix in (*mixed.problem.times, *mixed.problem.costs))
    assert held <= bytes_by_day(LOOKUP)


def test_longer_work_of_a_crew_takes_its_time():
    lookup = Lookup(
        sift(week(visit("1", "a", 60, minutes_for={"south": 75}), crew_days=shifts(break_minutes=0))).problem
    )
    model = write_model(lookup, Shape(by_day=True))
    place = model.problem.clients[0].place
    for vehicle, keys in zip(model.problem.vehicles, model.crew_days, strict=True):
        leaving = int(model.problem.times[vehicle.profile][place, 0])
        assert model.problem.clients[0].service + leaving == (75 if keys[0][0] == "south" else 60) + 20


def test_costs_are_counted_finely_only_where_load_is_weighed():
    even = write_model(Lookup(sift(week(visit("1"), weights=Weights(even_load=1))).problem), Shape(by_day=True))
    plain = write_model(Lookup(sift(week(visit("1"), weights=Weights(even_load=0))).problem), Shape(by_day=True))

    assert (even.problem.costs[0] == PARTS * plain.problem.costs[0]).all()
    assert (even.problem.times[0] == plain.problem.times[0]).all()
