"""The picture of a tree on its support, to scale, as SVG text: the same on the page, on the phone and on paper."""

from .marks import Mark, marks_from_needs, marks_from_steps
from .row import TreeInRow, draw_support
from .style import Options
from .support import SupportPicture
from .tree import draw_tree

__all__ = [
    "Mark",
    "Options",
    "SupportPicture",
    "TreeInRow",
    "draw_support",
    "draw_tree",
    "marks_from_needs",
    "marks_from_steps",
]
