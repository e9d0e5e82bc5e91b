"""Minutes of work a tree asks for in a year, by the labour standards of the knowledge.

The standards are priors anchored in orchard and vineyard figures; a business replaces them by what its crews record.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from gardens.knowledge.files import check, check_all, read_tables
from gardens.knowledge.form_schema import KNOWLEDGE
from gardens.knowledge.ground_schema import LabourFile, SourceFile, Standard
from gardens.knowledge.words import form_group

TIES_PER_M = 4
NEW_SHOOT_M = 0.4
"""How much of a new shoot is handled when it is chosen and tied. [m]"""


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
    minutes = _time("inspect", work, tree=1)
    if work.is_planting:
        minutes += _time("plant", work, tree=1)
    if work.headings + work.cut_limbs > 0:
        minutes += _time("head_back", work, cut=work.headings + work.cut_limbs)
    if work.new_limbs > 0:
        metres = work.new_limbs * NEW_SHOOT_M
        minutes += _time("select_shoots", work, m_arm=metres, m2_face=metres * NEW_SHOOT_M)
        minutes += _time("tie_in", work, tie=metres * TIES_PER_M)
        minutes += _time("lower_arms", work, arm=work.new_limbs)
        minutes += _time("remove_ties", work, tie=metres * TIES_PER_M)
    if work.metres > 0:
        sizes = {"m_arm": work.metres, "m2_face": work.area_m2, "tree": 1.0}
        for kind in ("winter_prune", "summer_prune", "clear_wall_side"):
            minutes += _time(kind, work, **sizes)
    return minutes


def _time(kind: str, work: YearOfWork, **units: float) -> float:
    fixed, per_unit, unit = _rate(kind, work.form, work.group)
    return fixed + per_unit * units.get(unit, 0.0)


@cache
def _rate(kind: str, form: str, group: str) -> tuple[float, float, str]:
    standard = _standard(kind, form, group)
    return (standard.fixed, standard.per_unit, standard.unit) if standard else (0.0, 0.0, "")


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
