"""What to do about an arm that did not come, or died."""

from __future__ import annotations

from collections.abc import Iterator

from gardens.training.season_view import SeasonView
from gardens.training.state import Step
from gardens.training.walk import Growing
from gardens.training.words import name_of


def repairs(view: SeasonView) -> Iterator[Step]:
    """One named repair for each lost limb that was not accepted."""
    for limb in view.limbs:
        if limb.status == "lost" and not limb.is_accepted:
            yield from _repair(view, limb)


def _repair(view: SeasonView, limb: Growing) -> Iterator[Step]:
    name = name_of(limb.place.limb)
    seasons_gone = view.year - limb.lost_in if limb.lost_in else 0
    if view.state.full_since is not None:
        yield from view.step(
            "accept_gap", limb.key, f"Lay a side shoot of the neighbour into the gap of {name}, or accept the gap."
        )
        return
    if seasons_gone <= 1:
        yield from view.step("spare", limb.key, f"Tie the nearest spare shoot into the place of {name}.")
        yield from view.step(
            "notch",
            limb.key,
            f"Cut a strip of bark {view.length(2)} wide, a third of the way round, just above the bud where {name} should be.",
            at_mm=limb.place.limb.origin_y_mm,
        )
    else:
        yield from view.step(
            "graft",
            limb.key,
            f"Set a bud or a side graft into the trunk {view.length(limb.place.limb.origin_y_mm)} "
            f"above the ground for {name}.",
            at_mm=limb.place.limb.origin_y_mm,
        )
