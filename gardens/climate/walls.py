"""A sunny wall wakes a tree earlier."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta

from gardens.climate.values import StageDate

SPRING_STAGES = (
    "bud_swell",
    "bud_burst",
    "first_leaves",
    "pink_bud",
    "first_bloom",
    "full_bloom",
    "petal_fall",
    "fruit_set",
)
DAYS_EARLIER_SUNNY, DAYS_EARLIER_EAST = 5, 2
SOURCE = "program default on the common saying of one to two weeks earlier on a warm wall"


def days_earlier(aspect_deg: float, *, is_southern: bool = False) -> int:
    """Days by which bloom is earlier on a wall that faces ``aspect_deg`` (0 north, 90 east, clockwise).

    Five on walls facing from south-south-east to west, two facing east, none facing the pole. The southern half of the
    world looks north instead.
    """
    mirrored = (180.0 - aspect_deg if is_southern else aspect_deg) % 360
    if 150 <= mirrored <= 292.5:
        return DAYS_EARLIER_SUNNY
    return DAYS_EARLIER_EAST if 67.5 <= mirrored < 150 else 0


def on_wall(stages: Mapping[str, StageDate], aspect_deg: float, *, is_southern: bool = False) -> dict[str, StageDate]:
    """The stages of a tree on a wall: those of spring moved up to the first one seen, which has the wall in it."""
    step = timedelta(days=days_earlier(aspect_deg, is_southern=is_southern))
    seen = [stage.on for key, stage in stages.items() if key in SPRING_STAGES and stage.basis == "observed"]
    moved = {}
    for key, stage in stages.items():
        is_moved = key in SPRING_STAGES and stage.basis != "observed" and all(stage.on < on for on in seen)
        if is_moved and step:
            stage = replace(stage, on=stage.on - step, earliest=stage.earliest - step, latest=stage.latest - step)
        moved[key] = stage
    return moved
