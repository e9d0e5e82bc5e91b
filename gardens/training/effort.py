"""Minutes of work a tree asks for in a year, by the labour standards of the knowledge.

The standards are priors anchored in orchard and vineyard figures; a business replaces them by what its crews record.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from gardens.knowledge.files import check, check_all, read_tables
from gardens.knowledge.form_schema import KNOWLEDGE
from gardens.knowledge.ground_schema import LabourFile, SourceFile, Standard
from gardens.knowledge.words import form_group

TIES_PER_M = 4
NEW_SHOOT_M = 0.4
"""How much of a new shoot is handled when it is chosen and tied. [m]"""
EVERY_YEAR = ("winter_prune", "summer_prune", "clear_wall_side")
NOW_AND_THEN = ("inspect", "plant", "head_back", "select_shoots", "tie_in", "lower_arms", "remove_ties")


@dataclass(frozen=True, slots=True)
class YearOfWork:
    """What one year asks for.

    ``metres`` is the length of all limbs at the start of the season, ``area_m2`` the wall face they cover, ``new_limbs``
    the shoots that are raised, ``headings`` the cuts of the leader, ``cut_limbs`` the limbs that are shortened. All are
    expected values and need not be whole.
    """

    year: int
    form: str
    group: str
    metres: float
    area_m2: float
    new_limbs: float
    headings: float
    cut_limbs: float
    is_planting: bool = False


def usual_minutes(work: YearOfWork) -> float:
    """Expected minutes of one trained person in a year of training and pruning. Source: labour standards, house default."""
    rates = _rates(work.form, work.group)
    minutes = _time(rates["inspect"], {"tree": 1})
    if work.is_planting:
        minutes += _time(rates["plant"], {"tree": 1})
    if (cuts := work.headings + work.cut_limbs) > 0:
        minutes += _time(rates["head_back"], {"cut": cuts})
    if work.new_limbs > 0:
        metres = work.new_limbs * NEW_SHOOT_M
        sizes = {"m_arm": metres, "m2_face": metres * NEW_SHOOT_M}
        ties = {"tie": metres * TIES_PER_M}
        minutes += _time(rates["select_shoots"], sizes) + _time(rates["tie_in"], ties)
        minutes += _time(rates["lower_arms"], {"arm": work.new_limbs}) + _time(rates["remove_ties"], ties)
    if work.metres > 0:
        sizes = {"m_arm": work.metres, "m2_face": work.area_m2, "tree": 1.0}
        for kind in EVERY_YEAR:
            minutes += _time(rates[kind], sizes)
    return minutes


def _time(rate: tuple[float, float, str], units: Mapping[str, float]) -> float:
    fixed, per_unit, unit = rate
    return fixed + per_unit * units.get(unit, 0.0)


@cache
def _rates(form: str, group: str) -> Mapping[str, tuple[float, float, str]]:
    """Fixed minutes, minutes for a unit, and the unit, for each kind of work."""
    standards = {kind: _standard(kind, form, group) for kind in (*NOW_AND_THEN, *EVERY_YEAR)}
    return {kind: (row.fixed, row.per_unit, row.unit) if row else (0.0, 0.0, "") for kind, row in standards.items()}


def _standard(kind: str, form: str, group: str) -> Standard | None:
    for standard in _standards():
        fits_form = not standard.forms or form in standard.forms or form_group(form) in standard.forms
        if kind in standard.kinds and fits_form and (not standard.groups or group in standard.groups):
            return standard
    return None


@cache
def _standards() -> tuple[Standard, ...]:
    """The labour standards alone, without the species they also serve."""
    sources = check(SourceFile, read_tables(KNOWLEDGE)["sources"], where="sources.toml").source
    files = check_all(LabourFile, read_tables(KNOWLEDGE / "labour"), folder="labour", context={"sources": sources})
    return tuple(standard for file in files.values() for standard in file.standard)
