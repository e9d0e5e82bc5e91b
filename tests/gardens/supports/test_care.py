"""Records of wires and posts, and the care that follows from them."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import permutations

import pytest

from gardens.knowledge.words import WORK_KINDS
from gardens.supports import SupportRecord, care_due, fold_support
from tests.gardens.supports.stands import row

BUILT = date(2022, 2, 1)
TODAY = date(2024, 3, 1)


def seen(what: str, on: date, part: str = "whole") -> SupportRecord:
    return SupportRecord(on=on, kind="seen", what=what, part=part)


def measured(what: str, value: float, on: date, part: str) -> SupportRecord:
    return SupportRecord(on=on, kind="measured", what=what, value=value, part=part)


def done(what: str, on: date, part: str = "whole") -> SupportRecord:
    return SupportRecord(on=on, kind="done", what=what, part=part)


def due(*records: SupportRecord, on: date = TODAY):
    return care_due(fold_support(row(), records, built_on=BUILT, on=on))


def kinds(*records: SupportRecord, on: date = TODAY) -> list[tuple[str, str]]:
    return [(care.kind, care.part) for care in due(*records, on=on)]


def test_new_wire_is_tightened_after_its_first_season():
    tighten = [care for care in due() if care.kind == "tighten_wires"]

    assert len(tighten) == 4
    assert all(care.opens <= BUILT + timedelta(days=365) <= care.closes for care in tighten)
    assert tighten[0].instruction == "Tighten wire 1 to 600 N."


def test_tightened_wire_is_left_alone():
    assert ("tighten_wires", "wire:1") not in kinds(done("tighten_wires", date(2023, 2, 1)))


def test_sag_read_in_the_garden_makes_the_wire_urgent():
    slack = next(care for care in due(measured("sag", 60, TODAY, "wire:2")) if care.part == "wire:2")

    assert slack.is_urgent
    assert slack.closes <= TODAY + timedelta(days=14)
    assert "at most 40 mm" in slack.instruction


def test_reading_before_the_tightening_counts_no_more():
    records = (measured("sag", 60, date(2023, 5, 1), "wire:2"), done("tighten_wires", date(2023, 6, 1), "wire:2"))

    assert ("tighten_wires", "wire:2") not in kinds(*records)


def test_leaning_post_is_set_straight_and_then_forgotten():
    leaning = measured("lean", 6, date(2024, 1, 5), "post:3")

    assert ("straighten_posts", "post:3") in kinds(leaning)
    assert ("straighten_posts", "post:3") not in kinds(leaning, done("straighten_posts", date(2024, 2, 1), "post:3"))
    assert ("straighten_posts", "post:4") not in kinds(measured("lean", 2, TODAY, "post:4"))


def test_broken_parts_are_mended_first():
    first = due(seen("broken_wire", date(2024, 2, 20), "wire:1"))[0]

    assert (first.kind, first.part, first.is_urgent) == ("erect_support", "wire:1", True)
    assert first.instruction.startswith("Renew wire 1")
    assert ("wire_joiner", 2.0) in first.materials


def test_inspection_comes_a_year_after_the_last():
    inspect = next(care for care in due(done("inspect", date(2023, 10, 1))) if care.kind == "inspect")

    assert inspect.best_from <= date(2024, 9, 30) <= inspect.best_until
    assert not inspect.is_urgent


def test_gale_brings_the_inspection_forward():
    inspect = next(
        care
        for care in due(done("inspect", date(2023, 10, 1)), seen("gale", date(2024, 2, 25)))
        if care.kind == "inspect"
    )

    assert inspect.is_urgent
    assert inspect.opens == TODAY


def test_order_of_arrival_does_not_matter():
    records = [
        measured("lean", 6, date(2023, 5, 1), "post:3"),
        done("straighten_posts", date(2023, 6, 1), "post:3"),
        measured("sag", 60, date(2023, 7, 1), "wire:2"),
        seen("gale", date(2023, 8, 1)),
    ]

    assert len({due(*order) for order in permutations(records)}) == 1


def test_future_records_do_not_count_yet():
    assert kinds(seen("broken_wire", date(2024, 5, 1), "wire:1")) == kinds()


def test_care_speaks_in_the_words_of_the_program():
    everything = due(
        measured("lean", 6, TODAY, "post:3"), measured("sag", 60, TODAY, "wire:2"), seen("rotten_post", TODAY, "post:2")
    )

    for care in everything:
        assert care.kind in WORK_KINDS
        assert care.opens <= care.best_from <= care.best_until <= care.closes
        assert care.minutes > 0
        assert care.source
        assert care.instruction.endswith(".")


@pytest.mark.parametrize(("first", "second", "is_due"), [("read", "tightened", False), ("tightened", "read", True)])
def test_on_one_day_the_order_of_writing_counts(first, second, is_due):
    day = date(2024, 3, 1)
    facts = {
        "read": SupportRecord(on=day, kind="measured", what="sag", part="wire:1", value=60),
        "tightened": SupportRecord(on=day, kind="done", what="tighten_wires", part="wire:1"),
    }
    records = [replace(facts[first], key="1"), replace(facts[second], key="2")]

    state = fold_support(row(), records, built_on=date(2021, 1, 1), on=day)

    assert (state.wires[0].slack is not None) is is_due
