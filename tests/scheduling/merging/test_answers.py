"""What several people said about one job."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.merging import REASONS_BY_WEIGHT, Answer, merge_answers

TEN = datetime(2025, 1, 14, 10, 0, tzinfo=UTC)


def said(key: str, state: str = "done", *, minute: int = 0, by: int = 1, reason: str = "", note: str = "") -> Answer:
    return Answer(
        key=key,
        state=state,  # type: ignore[arg-type]
        at=TEN + timedelta(minutes=minute),
        by=by,
        reason=reason or ("weather" if state == "not_done" else ""),
        note=note,
    )


answers = st.builds(
    said,
    st.sampled_from("abcdefgh"),
    st.sampled_from(["done", "not_done"]),
    minute=st.integers(0, 30),
    by=st.integers(1, 3),
    reason=st.sampled_from(REASONS_BY_WEIGHT),
    note=st.sampled_from(["", "Wire is loose."]),
)


def test_without_answers_a_job_is_open():
    assert merge_answers([]).state == "open"


def test_one_done_outweighs_every_not_done():
    standing = merge_answers([said("a", "not_done", minute=9), said("b", minute=1), said("c", "not_done")])
    assert standing.state == "done"
    assert "two_answers" in standing.flags


def test_of_two_ticks_the_earlier_leads():
    standing = merge_answers([said("late", minute=9, by=1), said("early", minute=2, by=2)])
    assert standing.lead is not None
    assert standing.lead.key == "early"
    assert standing.flags == {"also_done"}


def test_the_gravest_reason_leads():
    standing = merge_answers(
        [said("a", "not_done", reason="no_time"), said("b", "not_done", reason="unsafe", minute=5)]
    )
    assert standing.lead is not None
    assert standing.lead.reason == "unsafe"
    assert standing.flags == {"two_reasons"}


def test_every_note_is_kept():
    standing = merge_answers([said("a", note="Wire is loose."), said("b", minute=1, note="Took the low branch too.")])
    assert standing.note == "Wire is loose.\nTook the low branch too."


def test_what_was_taken_back_no_longer_counts():
    assert merge_answers([said("a"), said("b", "not_done", by=2)], {"a"}).state == "not_done"
    assert merge_answers([said("a")], {"a"}).lead is None


def test_a_not_done_needs_its_reason():
    with pytest.raises(ValueError, match="reason"):
        Answer(key="a", state="not_done", at=TEN)


def test_a_moment_needs_its_time_zone():
    with pytest.raises(ValueError, match="time zone"):
        Answer(key="a", state="done", at=datetime(2025, 1, 14))  # noqa: DTZ001 - the point of the test


@settings(deadline=None, max_examples=150)
@given(
    st.lists(answers, max_size=8, unique_by=lambda answer: answer.key),
    st.sets(st.sampled_from("abcdefgh")),
    st.randoms(),
)
def test_order_and_repetition_change_nothing(given_answers, withdrawn, chance):
    shuffled = [*given_answers, *given_answers]
    chance.shuffle(shuffled)
    assert merge_answers(shuffled, withdrawn) == merge_answers(given_answers, withdrawn)


@settings(deadline=None, max_examples=150)
@given(st.lists(answers, min_size=1, max_size=8, unique_by=lambda answer: answer.key))
def test_the_leading_answer_is_one_that_was_given(given_answers):
    standing = merge_answers(given_answers)
    assert standing.lead in given_answers
    assert (standing.state == "done") == any(answer.state == "done" for answer in given_answers)
