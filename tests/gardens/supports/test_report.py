"""The report for people and for programs."""

from __future__ import annotations

import json

import pytest

from gardens.supports import bill_of_materials, check_support, layout_of, report_as_dict, report_as_text
from tests.gardens.supports.stands import row, wall


@pytest.mark.parametrize("stand", [wall(), row()], ids=["wall", "row"])
def test_report_goes_through_json_and_back(stand):
    made = report_as_dict(check_support(stand), bill_of_materials(stand), layout_of(stand))
    read = json.loads(json.dumps(made, allow_nan=False))

    assert set(read) >= {"verdict", "words", "tension", "sag", "loads", "wires", "parts", "bill", "layout", "cautions"}
    assert read["parts"]
    assert all({"demand", "limit", "verdict", "formula", "source", "cure"} <= set(part) for part in read["parts"])
    assert len(read["wires"]) == len(stand.wire_heights_mm)
    assert read["layout"]["run_mm"] == stand.run_mm


def test_text_says_the_verdict_first_and_the_cautions_last():
    weak = wall(joint="hand_wrap", tension_n=400.0)
    text = report_as_text(check_support(weak), bill_of_materials(weak))

    assert text.splitlines()[0].endswith("NOT ENOUGH")
    for heading in ("LOADS", "WIRES", "PARTS", "TO BUY", "WORK", "ASK A QUALIFIED PERSON", "CAUTIONS"):
        assert f"\n{heading}" in text
    assert text.index("CAUTIONS") > text.index("TO BUY")
    assert "Cure:" in text


def test_worst_parts_come_first_in_the_text():
    weak = wall(joint="hand_wrap", tension_n=400.0)
    lines = report_as_text(check_support(weak), bill_of_materials(weak)).splitlines()
    words = [line[2:16].strip() for line in lines if line[2:16].strip() in ("not enough", "near its limit", "fine")]

    assert words == sorted(words, key=["not enough", "near its limit", "fine"].index)


def test_lengths_of_the_text_follow_the_reader():
    text = report_as_text(check_support(row(), units="imperial"), bill_of_materials(row()), units="imperial")

    assert " in" in text
    assert "65 ft" in text


def test_wires_that_carry_the_same_share_a_block():
    text = report_as_text(check_support(wall()), bill_of_materials(wall()))

    assert "wire 1, 2, 3, 4 at" in text
