"""Faults of measures that several doors look for: wires out of order, bearings off the compass."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from business.errors import Fault
from gardens.units import show_length


def wire_height_faults(heights_mm: Sequence[int], height_mm: int | None, where: str = "wires") -> list[Fault]:
    """Wires out of order, below the ground or above the support."""
    faults = []
    for number, (low, high) in enumerate(pairwise(heights_mm), start=2):
        if low >= high:
            ordered = ", ".join(show_length(height) for height in sorted(set(heights_mm)))
            faults.append(
                Fault(
                    f"{where}, wire {number}",
                    f"{show_length(high)} does not lie above {show_length(low)}",
                    f"list them from the lowest up: {ordered}",
                )
            )
            break
    for number, height in enumerate(heights_mm, start=1):
        if height <= 0:
            faults.append(Fault(f"{where}, wire {number}", f"{height} mm is not above the ground", "give its height"))
        if height_mm is not None and height > height_mm:
            faults.append(
                Fault(
                    f"{where}, wire {number}",
                    f"{show_length(height)} is above the support, which is {show_length(height_mm)} high",
                    f"give at most {show_length(height_mm)}, or a higher support",
                )
            )
    return faults


def bearing_faults(bearing_deg: float | None, where: str = "faces") -> list[Fault]:
    """A bearing outside the compass."""
    if bearing_deg is None or 0 <= bearing_deg < 360:
        return []
    return [Fault(where, f"a bearing of {bearing_deg:g}°", "give 0 to 359: 0 north, 90 east, 180 south, 270 west")]
