"""The next reminder: in order, no sooner than its day, never two at once."""

from __future__ import annotations

from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from business.money.ladder import Step, StepDue, next_step

# Common practice: due + 3 friendly, + 14 firm, + 30 final, + 45 a person decides.
LADDER = [Step(number=number, days_late=days) for number, days in enumerate((3, 14, 30, 45), start=1)]
DUE = date(2026, 5, 1)


def test_the_first_step_comes_three_days_late():
    assert next_step(LADDER, due_on=DUE, taken=[]) == StepDue(number=1, on=date(2026, 5, 4))


def test_steps_taken_in_time_keep_the_calendar():
    taken = [(1, date(2026, 5, 4)), (2, date(2026, 5, 15))]
    assert next_step(LADDER, due_on=DUE, taken=taken) == StepDue(number=3, on=date(2026, 5, 31))


def test_a_step_taken_late_moves_the_next_one():
    taken = [(1, date(2026, 6, 20))]
    # Eleven days lie between the first step and the second.
    assert next_step(LADDER, due_on=DUE, taken=taken) == StepDue(number=2, on=date(2026, 7, 1))


def test_after_the_last_step_nothing_comes():
    assert next_step(LADDER, due_on=DUE, taken=[(4, date(2026, 6, 15))]) is None
    assert next_step([], due_on=DUE, taken=[]) is None


@given(st.dates(date(2026, 5, 1), date(2027, 5, 1)))
def test_letters_never_go_on_one_day(start):
    taken: list[tuple[int, date]] = []
    day = start
    while (step := next_step(LADDER, due_on=DUE, taken=taken)) is not None:
        day = max(day, step.on)
        taken.append((step.number, day))
    days = [on for _, on in taken]
    assert len(set(days)) == len(days) == 4
