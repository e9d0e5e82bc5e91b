"""Minutes of work a tree asks for in a year.

The figures are the priors of the labour table: minutes = fixed + per unit × units, one trained person's time. They are
the program's own defaults, anchored in orchard and vineyard figures; a business replaces them by its own records.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class YearOfWork:
    """What one year asks for. ``metres`` of arm, rib, axis or rod; limbs that are new, cuts of the leader, ties."""

    year: int
    metres: float
    new_limbs: float
    headings: float
    is_planting: bool
    is_fan: bool
    is_vine: bool


def usual_minutes(work: YearOfWork) -> float:
    """Expected minutes of one trained person. Source: labour table of the project, own defaults."""
    minutes = 4 + 1.5  # look, measure, photograph
    if work.is_planting:
        minutes += 15 + 25
    if work.headings > 0:
        minutes += 3 + 2 * work.headings
    if work.new_limbs > 0:
        minutes += 2 + 0.8 * work.new_limbs  # choose and rub out
        minutes += 2 + 0.35 * 4 * work.new_limbs  # ties
        minutes += 2 + 4 * work.new_limbs  # lower
        minutes += 1 + 0.12 * 4 * work.new_limbs  # ties off
    if work.metres > 0:
        if work.is_vine:
            minutes += 5 + 1.0 * work.metres + 2 * (3 + 1.2 * work.metres)
        elif work.is_fan:
            minutes += 8 + 2.0 * work.metres + 4 + 1.8 * work.metres
        else:
            minutes += 6 + 2.0 * work.metres + 4 + 1.8 * work.metres + 3 + 0.6 * work.metres
        minutes += 3 + 1.0 * work.metres  # wall side
    return minutes
