"""In which season each tier is set and the form is full, with its range, and the minutes of work each year asks for."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from gardens.knowledge import form_schema as knowledge
from gardens.knowledge.form_schema import FormRecord
from gardens.training.ahead import NEVER, Ahead, share_of_draws, years_of_a_settled_tree
from gardens.training.draws import DRAWS, Floats
from gardens.training.effort import YearOfWork, usual_minutes
from gardens.training.practice import USUAL, TrainingPractice
from gardens.training.resume import look_at
from gardens.training.state import Forecast, TreeState
from gardens.training.walk import Walk

RANGE_HOLDS = 0.8
EVENNESS = 0.1
"""How much an uneven rest counts against a range, beside how far it is from holding four in five."""
YEARS_OF_WORK = 5
"""For how many years at least the work is told, full or not."""


def forecast(
    state: TreeState,
    *,
    practice: TrainingPractice = USUAL,
    form: FormRecord | None = None,
    minutes: Callable[[YearOfWork], float] = usual_minutes,
) -> Forecast:
    """When the form will be full and its tiers set.

    Growth is what was expected of a tree of this species, rootstock, age and place, corrected by its own measured
    seasons (an exact normal update); the rules of the form are walked forward under what may come. A tree that is full
    answers the season in which it became full; a lost one answers nothing. Where most of what may come does not fill
    the form within 40 seasons, the years are None.

    Args:
        state: the tree as it stands.
        practice: how the business trains.
        form: another record of the form than the one in its file.
        minutes: the minutes one trained person needs for a year of work.
    """
    walk = look_at(state, practice=practice, form=form)
    if walk.is_lost or not walk.limbs:
        return Forecast(full_p10=None, full_p50=None, full_p90=None)
    usual = knowledge.usual_vigours().get(state.facts.species)
    group = usual.group if usual else "other"
    if walk.is_full():
        full = walk.full_since or walk.season
        work = years_of_a_settled_tree(walk, group, YEARS_OF_WORK)
        return _told((full, full, full), _tiers_of(walk), work, minutes)
    if all(limb.is_accepted for limb in walk.limbs.values()):
        return Forecast(full_p10=None, full_p50=None, full_p90=None)  # every limb given up: nothing is left to fill
    ahead = Ahead(walk, group)
    ahead.run()
    return _told(years_between(np.sort(ahead.full_at.max(axis=0))), _tiers(ahead), _years_of_work(ahead), minutes)


def _told(
    full: tuple[int | None, int | None, int | None],
    tiers: tuple[tuple[int, int, int, int], ...],
    work: list[YearOfWork],
    minutes: Callable[[YearOfWork], float],
) -> Forecast:
    return Forecast(
        full_p10=full[0],
        full_p50=full[1],
        full_p90=full[2],
        tiers=tiers,
        minutes_per_year=tuple((year.year, round(minutes(year), 1)) for year in work),
    )


def years_between(moments: Floats) -> tuple[int | None, int | None, int | None]:
    """The middle season, and the seasons around it that hold the truth as near to 80 % as whole seasons allow.

    Of all runs of seasons around the middle one, the run that holds a share of the draws nearest to 80 % is told, with
    what is left as even on both sides as it can be. Where one season holds most of them it stands alone; a run that has
    no end within the horizon has no last season.
    """
    if not math.isfinite(moments[DRAWS // 2]):
        return None, None, None
    counts: dict[float, int] = {}
    for year in np.floor(moments).tolist():
        counts[year] = counts.get(year, 0) + 1
    years = list(counts)
    middle = years.index(math.floor(moments[DRAWS // 2]))
    before = [sum(counts[year] for year in years[:place]) for place in range(middle + 1)]
    after = [sum(counts[year] for year in years[place + 1 :]) for place in range(middle, len(years))]

    def miss(run: tuple[int, int]) -> float:
        early, late = before[run[0]] / DRAWS, after[run[1]] / DRAWS
        return abs(1 - early - late - RANGE_HOLDS) + EVENNESS * abs(early - late)

    runs = [(first, last) for first in range(middle, -1, -1) for last in range(len(after))]
    first, last = min(runs, key=miss)
    p90 = years[middle + last]
    return int(years[first]), int(years[middle]), int(p90) if math.isfinite(p90) else None


def _tiers_of(walk: Walk) -> tuple[tuple[int, int, int, int], ...]:
    set_in: dict[int, int] = {}
    for limb in walk.limbs.values():
        if limb.is_alive:
            tier = limb.place.limb.tier
            set_in[tier] = max(set_in.get(tier, 0), limb.season)
    return tuple((tier, season, season, season) for tier, season in sorted(set_in.items()))


def _tiers(ahead: Ahead) -> tuple[tuple[int, int, int, int], ...]:
    rows = []
    for tier in range(1, ahead.walk.plan.tiers + 1):
        members = [row for row, limb in enumerate(ahead.limbs) if limb.place.limb.tier == tier]
        if not members:
            continue
        years = ahead.begun[members].max(axis=0)
        if years.min() == years.max() < NEVER:
            rows.append((tier, *(int(years[0]),) * 3))
            continue
        years = np.sort(years)
        if years[DRAWS // 2] < NEVER:
            latest = int(years[years < NEVER][-1])
            p10, p50, p90 = (min(latest, int(share_of_draws(years, share))) for share in (0.1, 0.5, 0.9))
            rows.append((tier, p10, p50, p90))
    return tuple(rows)


def _years_of_work(ahead: Ahead) -> list[YearOfWork]:
    work = list(ahead.work)
    while work and len(work) < YEARS_OF_WORK:
        last = work[-1]
        work.append(replace(last, year=last.year + 1, new_limbs=0.0, headings=0.0, cut_limbs=0.0, is_planting=False))
    return work
