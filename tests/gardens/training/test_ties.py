"""When a tie begins to bite."""

from __future__ import annotations

from datetime import date

import pytest

from gardens.training import Tie, fold, girdling_alarm
from gardens.training.seasons import share_grown
from gardens.training.ties import day_of_share, tie_kind
from tests.gardens.training.trees import measured, tree


def alarm(material: str, since: date, limb: str = "arm:1:left", **changes: object) -> date:
    return girdling_alarm(Tie(limb=limb, since=since, material=material), fold(tree(**changes), [], since))


def test_tie_on_young_wood_lasts_one_season_at_most():
    """Home orchard society forum: thin jute nearly girdled young arms within one season."""
    for material in ("jute", "stretch tape", "cotton strip", "raffia"):
        assert date(2026, 6, 20) < alarm(material, date(2026, 6, 20)) <= date(2026, 10, 31)


def test_stretching_tie_holds_longer_than_jute():
    spring = date(2026, 4, 1)
    assert alarm("jute", spring) <= alarm("cotton strip", spring) <= alarm("stretch tape", spring)


def test_strong_growth_brings_the_alarm_forward():
    since = date(2027, 4, 20)
    weak = fold(tree(rootstock="M27"), [], since)
    strong = fold(tree(rootstock="MM111"), [], since)
    tie = Tie(limb="leader", since=since, material="jute")
    assert girdling_alarm(tie, strong) < girdling_alarm(tie, weak)


def test_measured_growth_moves_the_alarm():
    since = date(2027, 4, 20)
    tie = Tie(limb="leader", since=since, material="jute")
    slow = [measured(date(2026, 11, 20), "season_growth", 150)]
    assert girdling_alarm(tie, fold(tree(), slow, since)) > girdling_alarm(tie, fold(tree(), [], since))


def test_wire_on_wood_is_wrong_from_the_first_day():
    """Forum and winter-check page: no wire and no plastic zip ties."""
    assert alarm("zip tie", date(2026, 6, 20)) == date(2026, 6, 20)


def test_unknown_material_is_taken_as_the_one_that_bites_soonest():
    assert tie_kind("something blue").id == tie_kind("jute").id
    assert tie_kind("").id == tie_kind("jute").id


def test_autumn_tie_may_stay_through_the_next_season():
    off = alarm("stretch tape", date(2026, 10, 20))
    assert date(2027, 4, 15) < off <= date(2027, 10, 31)


@pytest.mark.parametrize("share", [0.0, 0.1, 0.37, 0.5, 0.93, 1.0])
def test_day_of_a_share_is_the_inverse_of_the_share_of_a_day(share: float):
    day = day_of_share(2026, share, southern=False)
    assert share_grown(day) >= share - 1e-9
    assert share_grown(date.fromordinal(day.toordinal() - 1)) <= share
