"""Acts around the frame: planting, low shoots, wall side, side wood, renovation."""

from __future__ import annotations

from collections.abc import Iterator

from gardens.training.season_view import Part, SeasonView
from gardens.training.state import Step
from gardens.training.words import ordinal


def planting(view: SeasonView) -> Iterator[Step]:
    """Setting the tree, in the dormant months before its first season."""
    if view.age > 1 or view.facts.start == "neglected" or view.walk.today > view.facts.planted_on:
        return
    if view.form.id == "oblique_cordon":
        return
    gap = view.facts.gap_to_wall_mm
    where = f"{view.length(gap)} from the wall, its top leaning slightly to it" if gap else "in the line of the wires"
    yield from view.step("plant", "whole", f"Plant the tree {where}, the graft above the soil.")
    if view.facts.start == "ready_trained":
        yield from view.step("ready_wires", "whole", "Set the wires to the heights of the arms the tree already has.")


def settling(view: SeasonView) -> Iterator[Step]:
    """A bought trained tree: its side shoots are cut short in the winter it is moved."""
    if view.age == 1 and view.facts.start == "ready_trained" and view.group == "pome":
        low, high = view.length(80), view.length(100)
        yield from view.step("ready_laterals", "whole", f"Shorten the side shoots on the arms to {low} to {high}.")


def low_shoots(view: SeasonView) -> Iterator[Step]:
    """Growth below the first limbs: kept short through the first summer or off at once, as the business does it."""
    if view.walk.plan.stem or view.is_renovating or not (view.walk.trunk_top or view.reaches):
        return
    cutting: Part = "summer" if view.frame_part == "spring" else "dormant"
    if view.age == 1 and view.practice.low_shoots == "keep_first_year":
        yield from view.step(
            "low_shoots_kept", "trunk", "Shorten the shoots on the trunk below the first arms to three leaves."
        )
    elif view.age == 1:
        yield from view.step(
            "low_shoots", "trunk", "Rub off every shoot on the trunk below the first arms.", part="summer"
        )
    elif view.age == 2 or view.state.stage == "forming":
        yield from view.step(
            "low_shoots", "trunk", "Cut every shoot on the trunk below the first arms off flush.", part=cutting
        )


def wall_side(view: SeasonView) -> Iterator[Step]:
    """Growth toward the wall and straight out, every year."""
    if view.age == 1 and view.facts.start == "whip":
        return
    part: Part = "summer" if view.frame_part == "spring" else "dormant"
    out = (
        "toward the wall or straight out from it" if view.facts.gap_to_wall_mm else "straight out to the front or back"
    )
    yield from view.step("wall_side", "whole", f"Cut out every shoot that grows {out}.", part=part)


def upkeep(view: SeasonView) -> Iterator[Step]:
    """Blossom of the first springs, side wood in summer, old spurs: pome fruit."""
    if not view.practice.asks_for_upkeep or view.group != "pome":
        return
    practice = view.practice
    if view.age <= practice.blossom_off_seasons and view.facts.start != "neglected":
        yield from view.step("blossom_off", "whole", "Pick off all blossom.")
    if not view.standing and not view.walk.plan.stem:
        return
    yield from view.step(
        "laterals",
        "whole",
        f"Cut side shoots longer than {view.length(practice.leave_below_mm)} to {practice.lateral_keep_leaves} leaves, those "
        f"that spring from a spur to {practice.sublateral_keep_leaves}; leave shorter ones whole.",
    )
    back = "to one leaf past the last cut" if practice.regrowth == "one_leaf" else "to its base"
    yield from view.step("regrowth", "whole", f"Cut what has grown since the summer cut back {back}.", part="autumn")
    if view.age >= practice.spur_thin_from_season and not view.is_renovating:
        yield from view.step("spurs", "whole", "Thin a third of the crowded spurs to two fruit buds each.")


def renovating(view: SeasonView) -> Iterator[Step]:
    """A neglected tree: a share of the old wood each winter, of stone fruit each spring."""
    if not view.is_renovating:
        return
    seasons, part = view.practice.renovation_seasons, view.age
    share = min(view.practice.renovation_share, 1 / seasons)
    amount = {2: "half", 3: "a third", 4: "a quarter"}.get(round(1 / share), f"{share:.0%}")
    turn = f"the {ordinal(part)} of {seasons}"
    if view.frame_part == "spring":
        yield from view.step(
            "renovate_stone",
            "whole",
            f"Cut {amount} of the shoots at the top back to lower young ones, {turn} years; cut no arm itself.",
        )
        return
    yield from view.step(
        "renovate",
        "whole",
        f"Take out {amount} of the old and upright wood, {turn} winters, the thickest first; leave trunk and arms.",
    )
