"""A young tree from near by: marks need room, and a whip on a high wall would be a scratch with a knot of signs."""

from __future__ import annotations

from collections.abc import Sequence

from gardens.training.state import TreeState

from .frame import Margins, Reach
from .marks import Mark
from .skeleton import build_skeleton
from .style import Options
from .support import SupportPicture

WORTH_IT = 1.2
"""How much larger the tree must come out for its surroundings to be left away."""
AROUND_MM = 420
ABOVE_MM = 260
LEAST_HALF_MM = 650
LEAST_TOP_MM = 800


def near_reach(
    state: TreeState, marks: Sequence[Mark], support: SupportPicture, whole: Reach, options: Options
) -> Reach | None:
    """The wood there is, with the next wire above it and room for the season's growth; None where the whole shows it.

    Only a picture with numbered jobs is drawn from near by: without them the plan of the whole form is what is asked.
    """
    if options.compact or options.crop_to or not any(mark.number for mark in marks):
        return None
    points = [point for course in build_skeleton(state).courses for point, _ in course.present]
    if not points:
        return None
    half = max(max(abs(x) for x, _ in points) + AROUND_MM, LEAST_HALF_MM)
    top = max(y for _, y in points)
    next_wire = min((wire for wire in support.wire_heights_mm if wire > top), default=0)
    reach = Reach(-half, whole.bottom, half, min(max(top + ABOVE_MM, next_wire + 90.0, LEAST_TOP_MM), whole.top))
    return reach if _scale(whole, options) >= WORTH_IT * _scale(reach, options) else None


def _scale(reach: Reach, options: Options) -> float:
    """The scale at which a reach fills the sheet, white edges left aside."""
    edges = Margins()
    wide = options.paper_width - edges.left - edges.right
    high = options.max_height_mm - edges.top - edges.bottom
    return max(reach.width / max(wide, 1.0), reach.height / max(high, 1.0))
