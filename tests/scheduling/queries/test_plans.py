"""Numbers of a plan, before and after."""

from __future__ import annotations

from datetime import date

import pytest

from scheduling.models import Plan
from scheduling.queries.plans import compare


@pytest.mark.parametrize(
    ("key", "before", "after", "turn"),
    [
        ("drive_minutes", 60, 45, "better"),
        ("drive_minutes", 45, 60, "worse"),
        ("best_share", 0.6, 0.9, "better"),
        ("best_share", 0.902, 0.898, "same"),
        ("drive_km", 30.1, 30.4, "same"),
        ("unplaced", 0, 1, "worse"),
        ("rounds", 3, 2, "same"),
    ],
)
@pytest.mark.django_db
def test_each_number_tells_its_turn(key, before, after, turn):
    plan = Plan(first_day=date(2027, 1, 1), last_day=date(2027, 1, 2))
    plan.numbers = {"before": {key: before}, "after": {key: after}}

    assert [(row.before, row.after, row.turn) for row in compare(plan).numbers] == [(before, after, turn)]


@pytest.mark.django_db
def test_a_first_plan_has_numbers_and_no_turn():
    plan = Plan(first_day=date(2027, 1, 1), last_day=date(2027, 1, 2), numbers={"placed": 4})

    assert [(row.before, row.after, row.turn) for row in compare(plan).numbers] == [(None, 4, "same")]
