"""Bills of materials against worked lists (calculated by hand from the counting rules of the trade)."""

from __future__ import annotations

import pytest

from gardens.supports import Allowances, End, Fixing, Post, Support, bill_of_materials, wire
from tests.gardens.supports.stands import there


def test_wall_of_six_metres_needs_what_was_worked():
    wall = Support(
        kind="wall",
        run_mm=6000,
        height_mm=2400,
        wire_heights_mm=(400, 800, 1200, 1600, 2000),
        wire=wire(2.0),
        tension_n=200,
        hold_gap_mm=1800,
        wall="sound_brick",
        fixing=Fixing(),
        end_fixing=Fixing(),
    )
    bill = bill_of_materials(wall)

    assert bill.amount("vine_eye") == 25
    assert bill.amount("plastic_plug") == 28
    assert bill.amount("tensioner") == 5
    assert bill.amount("straining_wire") == pytest.approx(33.9)
    assert there(bill.line("straining_wire")).mass_kg == pytest.approx(0.84, abs=0.005)


def test_row_of_twenty_metres_needs_what_was_worked():
    row = Support(
        kind="post_and_wire",
        run_mm=20_000,
        height_mm=1800,
        wire_heights_mm=(500, 900, 1300, 1700),
        wire=wire(2.5, grade="high_tensile"),
        tension_n=900,
        hold_gap_mm=2500,
        post=Post(),
        end=End(),
    )
    bill = bill_of_materials(row, allowances=Allowances(ends_mm=(400, 400), join_mm=300, joins=1))

    assert bill.amount("line_post") + bill.amount("end_post") == 9
    assert bill.amount("line_post") == 7
    assert bill.amount("straining_wire") == pytest.approx(88.6)
    assert there(bill.line("straining_wire")).mass_kg == pytest.approx(3.41, abs=0.005)
    assert bill.amount("staple") == 31 + 24


def test_labour_follows_the_task_standards():
    # Task standards of the trade: eyes 20 + 6 each; a wire 5 + 8 + 0.4 a metre; line posts 10 + 15 driven, 35 dug;
    # ends 15 + 60 each (published parts: 0.41 min a metre of wire; the rest common practice).
    row = Support(
        kind="post_and_wire",
        run_mm=20_000,
        height_mm=1800,
        wire_heights_mm=(600, 1200),
        wire=wire(2.5),
        tension_n=700,
        hold_gap_mm=2500,
        post=Post(setting="dug"),
        end=End(),
    )
    minutes = {line.work: line.minutes for line in bill_of_materials(row).labour}

    assert minutes == pytest.approx(
        {"post_dug": 10 + 35 * 7, "end_assembly": 15 + 60 * 2, "wire_run": 5 + 8 * 2 + 0.4 * 40}
    )
