"""The picture of a tree on its support, to scale, as SVG text: the same on the page, on the phone and on paper.

    draw_tree(state, marks, support, options)      one tree with what is to be done to it
    draw_support(support, trees, options)          a whole support with all its trees
    draw_strip(states, forecast, options)          one tree over the years, past solid, forecast dotted
    draw_layout(layout, trees, options)            a support as it is to be built, with its dimensions
    draw_rows_section(picture, options)            rows one behind the other, with the sun that sets their distance
    draw_rows_plan(picture, options)               the same from above
    draw_legend(kinds, options)                    the key to the marks

All lengths in mm; the answer is SVG text that stands in a page, a PDF or a file of its own.
"""

from .layout import LayoutSheet, draw_layout
from .legend import draw_legend
from .marks import Mark, marks_from_needs, marks_from_steps
from .row import TreeInRow, draw_support
from .rows import RowsPicture, draw_rows_plan, draw_rows_section
from .strip import draw_strip, expected_state
from .style import Options
from .support import SupportPicture
from .symbols import SYMBOLS
from .tree import draw_tree

__all__ = [
    "SYMBOLS",
    "LayoutSheet",
    "Mark",
    "Options",
    "RowsPicture",
    "SupportPicture",
    "TreeInRow",
    "draw_layout",
    "draw_legend",
    "draw_rows_plan",
    "draw_rows_section",
    "draw_strip",
    "draw_support",
    "draw_tree",
    "expected_state",
    "marks_from_needs",
    "marks_from_steps",
]
