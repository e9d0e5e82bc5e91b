"""Work out of reach asks for people trained on ladders, and above three metres for two of them."""

from __future__ import annotations

from datetime import date

import pytest

from gardens.pruning.heights import LADDER_FROM_MM, TWO_PEOPLE_FROM_MM, highest_mm, limb_top_mm, with_hands
from gardens.pruning.minutes import Size
from gardens.pruning.values import Need, Window
from gardens.training import fold
from gardens.training.state import Limb, TreeFacts

DAY = date(2026, 1, 10)
DAYS = Window(opens=DAY, best_from=DAY, best_until=DAY, closes=DAY, basis="normals")


def size_of(*wires: int, height: int) -> Size:
    facts = TreeFacts(
        species="apple_spur",
        form="horizontal_tiers",
        planted_on=date(2010, 1, 10),
        wire_heights_mm=wires,
        run_left_mm=1500,
        run_right_mm=1500,
        height_mm=height,
        rootstock="mm106",
    )
    return Size(fold(facts, [], DAY))


def need(kind: str = "winter_prune", limb: str = "whole", **more) -> Need:
    return Need(kind=kind, limb=limb, instruction="Cut.", window=DAYS, minutes=20, why="", source="", **more)


def told(size: Size, asked: Need) -> tuple[str, int]:
    (found,) = with_hands([asked], size)
    return found.skill, found.people


LOW, HIGH, VERY_HIGH = (450, 900, 1350), (450, 1200, 1900, 2600), (450, 1300, 2200, 3300)


@pytest.mark.parametrize(
    ("wires", "height", "expected"),
    [(LOW, 1900, ("", 1)), (HIGH, 2800, ("ladder", 1)), (VERY_HIGH, 3500, ("ladder", 2))],
)
def test_the_top_tier_decides_who_is_sent(wires, height, expected):
    """Two people above 3 m: house default beside HSE, safe use of ladders and stepladders."""
    assert told(size_of(*wires, height=height), need()) == expected


def test_a_low_arm_of_a_high_tree_is_done_from_the_ground():
    size = size_of(*VERY_HIGH, height=3500)
    assert told(size, need(limb="arm:1:left")) == ("", 1)
    assert told(size, need(limb="tier:1")) == ("", 1)
    assert told(size, need(limb="tier:4")) == ("ladder", 2)


def test_the_height_of_the_cut_counts_for_the_leader():
    size = size_of(*VERY_HIGH, height=3500)
    assert told(size, need("head_back", "leader", at_mm=850)) == ("", 1)
    assert told(size, need("head_back", "leader", at_mm=2500)) == ("ladder", 1)


def test_looking_and_watering_need_no_ladder():
    size = size_of(*VERY_HIGH, height=3500)
    for kind in ("inspect", "water", "feed_mulch"):
        assert told(size, need(kind)) == ("", 1)


def test_what_a_rule_asks_for_is_never_taken_away():
    assert told(size_of(*LOW, height=1900), need(skill="spraying", people=2)) == ("spraying", 2)
    assert told(size_of(*VERY_HIGH, height=3500), need(skill="spraying", people=3)) == ("spraying", 3)


def test_the_top_of_a_limb_follows_its_angle():
    lying = Limb(key="arm:1:left", kind="arm", length_mm=1000, angle_deg=0, origin_y_mm=900)
    rising = Limb(key="arm:1:left", kind="arm", length_mm=1000, angle_deg=30, origin_y_mm=900)
    hanging = Limb(key="arm:1:left", kind="arm", length_mm=1000, angle_deg=-20, origin_y_mm=900)
    assert [limb_top_mm(limb) for limb in (lying, rising, hanging)] == pytest.approx([900, 1400, 900])


def test_unknown_limb_stays_on_the_ground():
    assert highest_mm(size_of(*LOW, height=1900), need(limb="arm:9:left")) == 0
    assert LADDER_FROM_MM < TWO_PEOPLE_FROM_MM
