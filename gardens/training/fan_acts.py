"""Acts on a fan: low cut, two arms, the second spring's shortening, ribs cut by a third."""

from __future__ import annotations

from collections.abc import Iterator

from gardens.training import frame_acts, site_acts
from gardens.training.season_view import SeasonView
from gardens.training.state import Step


def fan_year(view: SeasonView) -> Iterator[Step]:
    """The frame of a fan in the order of the year; stone fruit and figs are cut as growth starts, never in winter."""
    yield from site_acts.planting(view)
    yield from frame_acts.heading(view)
    yield from frame_acts.centre_leader(view)
    yield from frame_acts.shortening(view)
