"""The acts of a usual year, in the order of the year, for families that need no order of their own."""

from __future__ import annotations

from collections.abc import Iterator

from gardens.training import frame_acts, repairs, site_acts, tie_acts
from gardens.training.season_view import SeasonView
from gardens.training.state import Step


def usual_year(view: SeasonView) -> Iterator[Step]:
    """Plant, head, shorten; choose; tie, balance; lower, untie."""
    part = view.frame_part
    yield from site_acts.planting(view)
    yield from frame_acts.heading(view, part=part)
    yield from frame_acts.shortening(view, part=part)
    yield from around_the_frame(view)


def around_the_frame(view: SeasonView) -> Iterator[Step]:
    """All of a year but the cuts of the frame."""
    yield from repairs.repairs(view)
    yield from frame_acts.choosing(view)
    yield from frame_acts.slanting(view)
    yield from frame_acts.balancing(view)
    yield from frame_acts.lowering(view)
    yield from tie_acts.old_ties(view)
    yield from site_acts.low_shoots(view)
    yield from site_acts.wall_side(view)
    yield from site_acts.upkeep(view)
