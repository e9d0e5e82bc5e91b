"""What is bought, loaded and tied with."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from business.errors import BadInput
from gardens.knowledge.material_book import materials
from gardens.supports import (
    Allowances,
    End,
    Fixing,
    Post,
    VanItem,
    bill_of_materials,
    items_of_bill,
    load_in_the_van,
    tie_count,
    tie_life,
)
from gardens.supports.bill import coils
from tests.gardens.supports.stands import espalier, row, wall


def test_every_line_names_a_known_good():
    for stand in (wall(), row(), row(end=End(kind="h_brace")), row(end=End(kind="strut")), wall(kind="fence")):
        bill = bill_of_materials(stand)
        assert all(line.good in materials().goods for line in bill.lines)
        assert all(line.quantity > 0 and line.how for line in bill.lines)
        assert len({(line.good, line.text) for line in bill.lines}) == len(bill.lines)


def test_brackets_take_two_bolts_each():
    bill = bill_of_materials(wall(), allowances=Allowances(spare=0))

    assert bill.amount("wall_bracket") == 8
    assert bill.amount("resin_stud") == 16


def test_screw_eyes_need_no_plugs():
    eye = Fixing(kind="screw_eye", anchor="wood", thread_mm=40)
    bill = bill_of_materials(wall(kind="fence", wall=None, end_fixing=eye, fixing=eye))

    assert bill.amount("screw_eye") == 12
    assert bill.line("plastic_plug") is None
    assert {line.work for line in bill.labour} == {"eye_in_timber", "wire_run"}


@pytest.mark.parametrize(
    ("end", "goods"),
    [
        (End(), {"screw_anchor": 2, "wire_grip": 2}),
        (End(kind="h_brace"), {"brace_post": 2, "brace_rail": 2, "brace_pin": 4}),
        (End(kind="strut"), {"brace_rail": 2, "strut_plate": 2, "brace_pin": 2}),
        (End(kind="bare"), {"end_post": 2}),
    ],
)
def test_each_kind_of_end_brings_its_parts(end, goods):
    bill = bill_of_materials(row(end=end))

    assert {good: bill.amount(good) for good in goods} == goods


def test_stay_wire_is_as_long_as_its_triangle():
    # h/sin 60° = 1.6/0.866 = 1.848 m, two strands, two ends, 0.6 m to make each fast.
    bill = bill_of_materials(row(end=End(angle_deg=60, height_mm=1600)))

    assert bill.amount("stay_wire") == pytest.approx(2 * (2 * 1.848 + 0.6), abs=0.06)


def test_dug_posts_in_a_collar_take_concrete():
    dug = Post(size_mm=100, length_mm=2600, depth_mm=800, setting="concrete", collar_mm=300)
    bill = bill_of_materials(row(post=dug))

    # 9 line posts × π/4·(0.3² − 0.1²)·0.8 = 0.4524 m³
    assert bill.amount("concrete") == pytest.approx(0.46)
    assert bill_of_materials(row()).line("concrete") is None


def test_waste_lengthens_the_wire():
    plain, wasteful = (
        bill_of_materials(row(), allowances=Allowances(wire_waste=waste)).amount("straining_wire") for waste in (0, 0.1)
    )

    assert wasteful == pytest.approx(1.1 * plain, abs=0.06)
    with pytest.raises(ValueError, match="not below zero"):
        Allowances(wire_waste=-0.1)


@pytest.mark.parametrize(
    ("mass", "text"),
    [(0.4, "1 coil of 0.5 kg"), (3.4, "1 coil of 5 kg"), (25, "1 coil of 25 kg"), (60, "3 coils of 25 kg")],
)
def test_wire_is_bought_in_coils(mass, text):
    assert coils(mass, (0.5, 1, 2, 5, 25)) == text


def test_new_plants_bring_canes_and_ties_and_old_ones_none():
    new = bill_of_materials(wall(plants=(espalier(age_years=0),)))
    old = bill_of_materials(wall(plants=(espalier(age_years=9),)))

    # Tiers: one upright and two slanted canes; ties each 25 cm on 3.6 m and two a cane.
    assert new.amount("cane_2400") == 3
    assert new.amount("tie_soft_tube") == 15 + 6
    assert old.line("cane_2400") is None


def test_van_adds_up_what_the_round_needs():
    load = load_in_the_van([("tie_jute", 12), ("cane_2400", 3), ("tie_jute", 9.5), ("mulch", 75)])
    by_good = {line.good: line for line in load}

    assert by_good["tie_jute"].quantity == 22
    assert by_good["cane_2400"].packs == 1
    assert (by_good["mulch"].packs, by_good["mulch"].mass_kg) == (2, 30)
    assert [line.good for line in load] == [good for good in materials().goods if good in by_good]


def test_van_refuses_what_it_does_not_know():
    with pytest.raises(BadInput) as refusal:
        load_in_the_van([("gold_wire", 1), ("tie_jute", -2), ("gold_wire", 1)])

    assert len(refusal.value.faults) == 2


def test_empty_round_loads_nothing():
    assert load_in_the_van([]) == ()


def test_ties_are_counted_by_the_quarter_metre():
    assert tie_count(0) == 0
    assert tie_count(1000) == 4
    assert tie_count(1010, canes=2) == 9


@pytest.mark.parametrize(
    ("material", "wood_mm", "off_by"),
    [
        ("jute", 8, date(2024, 11, 1)),
        ("jute", 30, date(2024, 11, 1)),
        ("soft tube", 8, date(2025, 11, 1)),
        ("stretch tape", 8, date(2024, 11, 1)),
        ("stretch tape", 20, date(2025, 11, 1)),
        ("rubber", 40, date(2026, 11, 1)),
    ],
)
def test_ties_come_off_when_their_seasons_end(material, wood_mm, off_by):
    assert tie_life(material, since=date(2024, 6, 10), wood_mm=wood_mm).off_by == off_by


def test_tie_put_on_after_growth_lives_through_the_next_season():
    assert tie_life("jute", since=date(2024, 12, 10)).off_by == date(2025, 11, 1)
    assert tie_life("jute", since=date(2024, 12, 10), season_ends=(5, 1)).off_by == date(2025, 5, 1)


def test_wire_as_a_tie_comes_off_at_once():
    # Growers' accounts: no wire and no plastic zip ties on wood that thickens.
    life = tie_life("zip tie", since=date(2024, 6, 10))

    assert (life.is_right, life.off_by) == (False, date(2024, 6, 10))
    with pytest.raises(BadInput):
        tie_life("chewing gum", since=date(2024, 6, 10))


def test_tie_on_the_wrong_wood_is_said_so():
    assert not tie_life("raffia", since=date(2024, 6, 10), wood_mm=40).is_right


def test_same_fixing_at_ends_and_along_is_one_line():
    eye = Fixing()
    bill = bill_of_materials(replace(wall(), end_fixing=eye, fixing=eye))

    assert [line.quantity for line in bill.lines if line.good == "vine_eye"] == [12]


def test_sizes_of_one_good_are_loaded_apart():
    thick, thin = (
        VanItem(good="straining_wire", quantity=30, size="3-15mm", text="3.15 mm"),
        VanItem(good="straining_wire", quantity=12.4, size="2mm", text="2 mm"),
    )

    load = load_in_the_van([thick, thin, thick, ("straining_wire", 5)])

    assert {(line.size, line.quantity) for line in load} == {("3-15mm", 60), ("2mm", 13), ("", 5)}


def test_the_load_of_a_bill_weighs_what_the_bill_weighs():
    bill = bill_of_materials(row())

    assert sum(line.mass_kg for line in load_in_the_van(items_of_bill(bill))) == pytest.approx(bill.mass_kg, rel=0.01)
