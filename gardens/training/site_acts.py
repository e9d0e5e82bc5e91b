"""Acts around the frame: planting, low shoots, wall side, ties, side wood."""

from __future__ import annotations

from collections.abc import Iterator

from gardens.training.season_view import SeasonView
from gardens.training.state import Step


def planting(view: SeasonView) -> Iterator[Step]:
    """Setting the tree, in the dormant months before its first season."""
    if view.age != 1 or view.walk.today > view.facts.planted_on:
        return
    gap = view.length(view.facts.gap_to_wall_mm)
    yield from view.step(
        "plant", "whole", f"Plant the tree {gap} from the wall, the graft above the soil, leaning slightly to it."
    )


def low_shoots(view: SeasonView) -> Iterator[Step]:
    """Growth below the first tier: kept short through the first summer or off at once, as the business does it."""
    if view.walk.plan.stem or view.walk.trunk_top <= 0 and not view.reaches:
        return
    if view.age == 1 and view.practice.low_shoots == "keep_first_year":
        yield from view.step(
            "low_shoots_kept", "trunk", "Shorten the shoots on the trunk below the first tier to three leaves."
        )
        return
    part = "summer" if view.age == 1 else None
    if view.age <= 2 or view.state.stage in ("forming", "renovating"):
        yield from view.step(
            "low_shoots", "trunk", "Cut every shoot on the trunk below the first tier off flush.", part=part
        )


def wall_side(view: SeasonView) -> Iterator[Step]:
    """Growth toward the wall and straight out, every year."""
    if view.age > 1 or view.facts.start != "whip":
        yield from view.step(
            "wall_side",
            "whole",
            "Cut out every shoot that grows toward the wall or straight out from it.",
            part="summer" if view.group == "stone" else None,
        )


def upkeep(view: SeasonView) -> Iterator[Step]:
    """Blossom of the first springs, side wood in summer, old spurs."""
    if not view.with_upkeep or view.group != "pome":
        return
    practice = view.practice
    if view.age <= practice.blossom_off_seasons and view.facts.start != "neglected":
        yield from view.step("blossom_off", "whole", "Pick off all blossom.")
    if not any(limb.season for limb in view.limbs):
        return
    short = view.length(practice.leave_below_mm)
    yield from view.step(
        "laterals",
        "whole",
        f"Cut side shoots longer than {short} to {practice.lateral_keep_leaves} leaves from the arm, those from a spur to "
        f"{practice.sublateral_keep_leaves} leaf; leave shorter ones.",
    )
    back = "to one leaf past the last cut" if practice.regrowth == "one_leaf" else "to its base"
    yield from view.step("regrowth", "whole", f"Cut new growth from the summer cuts back {back}.")
    if view.age >= practice.spur_thin_from_season:
        yield from view.step(
            "spurs", "whole", "Thin each crowded spur to two fruit buds, a third of the spurs this winter."
        )
