"""The steps to a plan: the same promises whether the horizon is searched whole or block by block."""

import time
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import HealthCheck, given, settings

from scheduling.rounds import Effort, plan_rounds
from scheduling.rounds import stages as steps
from scheduling.rounds.checks import sift
from scheduling.rounds.lookup import Lookup
from scheduling.rounds.stages import Stages, may_be_by_day
from tests.scheduling.rounds.test_any_week import SHORT, weeks, wrong_with
from tests.scheduling.rounds.weeks import QUICK, day, visit, week

BUSY = week(
    *(
        visit(str(number), "abcdef"[number % 6], 50, best_from=day(number % 5), best_until=day(number % 5))
        for number in range(20)
    )
)


@pytest.fixture
def by_blocks(monkeypatch):
    """Every horizon is too large to be searched whole."""
    monkeypatch.setattr(steps, "MOST_BYTES_BY_DAY", 0)
    monkeypatch.setattr(steps, "BLOCK_VISITS", 8)
    monkeypatch.setattr(steps, "LEAST_BLOCK_DAYS", 2)


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture]
)
@given(problem=weeks())
def test_any_week_keeps_its_rules_block_by_block(by_blocks, problem):
    assert wrong_with(problem, plan_rounds(problem, SHORT)) == []


def test_blocks_cover_every_day_and_overlap(by_blocks):
    lookup = Lookup(sift(BUSY).problem)
    stages = Stages(lookup, QUICK, time.perf_counter())

    blocks = stages._blocks({("north", day(number)): ("x",) * 4 for number in range(5)})

    assert {each for block in blocks for each in block} == set(lookup.working_days)
    assert all(set(one) & set(two) for one, two in pairwise(blocks))
    assert all(list(block) == sorted(block) for block in blocks)


def test_block_by_block_is_nearly_as_good_as_whole(by_blocks, monkeypatch):
    monkeypatch.setattr(steps, "LEAST_BLOCK_DAYS", 4)
    by_block = plan_rounds(BUSY, QUICK).numbers
    monkeypatch.setattr(steps, "MOST_BYTES_BY_DAY", 48_000_000)
    whole = plan_rounds(BUSY, QUICK).numbers

    assert by_block.placed == whole.placed == 20
    assert by_block.best_share >= 0.8 * whole.best_share
    assert by_block.drive_minutes <= 1.2 * whole.drive_minutes


def test_a_small_horizon_is_searched_whole_and_a_large_one_is_not():
    small = Lookup(sift(BUSY).problem)
    many = week(*(visit(str(number), "a", 30) for number in range(700)))

    assert may_be_by_day(small)
    assert not may_be_by_day(Lookup(sift(many).problem))


def test_a_stopped_search_keeps_what_it_found():
    asked = []

    def stop() -> bool:
        asked.append(1)
        return len(asked) > 3

    plan = plan_rounds(BUSY, Effort(seconds=30.0, should_stop=stop))

    assert plan.was_stopped
    assert plan.seconds < 15
    assert plan.numbers.placed == 20


def test_steps_are_told_by_name_as_they_run(by_blocks):
    told = []
    plan_rounds(BUSY, Effort(seconds=1.5, on_progress=told.append))

    names = list(dict.fromkeys(each.stage for each in told))
    assert names[0] == "finding a place for every visit"
    assert any(name.startswith("shortening the rounds, part") for name in names)
    assert all(each.placed <= each.asked == 20 for each in told)


def test_a_plan_to_go_on_from_is_not_lost(by_blocks):
    first = plan_rounds(BUSY, QUICK)
    again = plan_rounds(BUSY, replace(QUICK, iterations=4), start=first)

    assert again.numbers.placed == first.numbers.placed


def test_a_handful_of_visits_does_not_use_up_the_time():
    few = week(*(visit(str(number), "abc"[number], 50) for number in range(3)))

    began = time.perf_counter()
    plan = plan_rounds(few, Effort(seconds=60.0))

    assert plan.numbers.placed == 3
    assert time.perf_counter() - began < 30
    assert not plan.was_stopped
