"""The acts of a usual year, in the order of the year."""

from __future__ import annotations

from collections.abc import Iterator

from gardens.training import frame_acts, repairs, shoot_acts, site_acts, tie_acts
from gardens.training.season_view import SeasonView
from gardens.training.state import Step


def usual_year(view: SeasonView) -> Iterator[Step]:
    """Head and shorten the frame, then everything around it."""
    yield from site_acts.planting(view)
    yield from frame_acts.heading(view)
    yield from frame_acts.shortening(view)
    yield from around_the_frame(view)


def around_the_frame(view: SeasonView) -> Iterator[Step]:
    """All of a year but the cuts of the frame: mend; choose, tie, balance; lower, untie; keep clear."""
    yield from site_acts.settling(view)
    yield from site_acts.renovating(view)
    yield from repairs.repairs(view)
    yield from shoot_acts.choosing(view)
    yield from shoot_acts.slanting(view)
    yield from shoot_acts.balancing(view)
    yield from shoot_acts.lowering(view)
    yield from tie_acts.old_ties(view)
    yield from site_acts.low_shoots(view)
    yield from site_acts.wall_side(view)
    yield from site_acts.upkeep(view)
