"""What several people said about the same job, measurement or visit becomes one standing; nothing said is dropped.

Every function here gives the same result for the same set of acts in whatever order, and however often, they come.
"""

from scheduling.merging.answers import merge_answers
from scheduling.merging.measurements import merge_measurements
from scheduling.merging.moments import Moment, moment_of
from scheduling.merging.sequences import contiguous, gaps
from scheduling.merging.values import FLAGS, REASONS_BY_WEIGHT, Answer, Measurement, Standing, StandingMeasure

__all__ = [
    "FLAGS",
    "REASONS_BY_WEIGHT",
    "Answer",
    "Measurement",
    "Moment",
    "Standing",
    "StandingMeasure",
    "contiguous",
    "gaps",
    "merge_answers",
    "merge_measurements",
    "moment_of",
]
