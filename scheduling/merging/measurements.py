"""Several measurements of the same thing on the same visit."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from statistics import fmean

from scheduling.merging.values import Measurement, StandingMeasure

CLOSE_MM = 50.0
"""Two people with two tapes on a living tree agree no better than this."""
CLOSE_SHARE = 0.10


def merge_measurements(measurements: Iterable[Measurement], withdrawn: Collection[str] = ()) -> StandingMeasure | None:
    """The value to reckon with: the mean of values within 5 cm or 10 % of each other, else the latest, flagged.

    Where one person measured twice, the later value is a correction and stands alone for that person.
    """
    said = {one.key: one for one in measurements if one.key not in set(withdrawn)}
    latest: dict[object, Measurement] = {}
    for one in sorted(said.values(), key=lambda one: (one.at, one.key)):
        latest[one.by if one.by is not None else one.key] = one
    standing = sorted(latest.values(), key=lambda one: (one.at, one.key))
    if not standing:
        return None
    values = [one.value for one in standing]
    spread = max(values) - min(values)
    is_close = spread <= max(CLOSE_MM, CLOSE_SHARE * max(abs(value) for value in values))
    return StandingMeasure(
        value=fmean(values) if is_close else standing[-1].value,
        keys=tuple(one.key for one in standing),
        is_far_apart=not is_close,
    )
