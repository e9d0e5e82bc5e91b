"""Renewal of bearing wood, decided piece by piece from what was recorded.

Peach and sour cherry: each piece of wood bears once, so what bore goes and its replacement takes the place. Apple and
pear: spur systems are counted and the surplus goes. Berries: canes that bore go, new ones come in.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from gardens.knowledge.schema import Species
from gardens.pruning.side_wood import SideShoot, SideWood
from gardens.training.state import TreeState

Act = Literal["keep", "cut_to_replacement", "cut_out", "cut_short", "tie_in", "thin"]

STUB_LEAVES = 2
CROWDED_BY = 1.2
"""Spur systems may stand a fifth closer than the rule before thinning is asked for. Source: house default."""


@dataclass(frozen=True, kw_only=True)
class Renewal:
    """What happens to one piece of wood. ``to`` is the shoot that takes its place; ``flag`` is set on wood that has
    stayed too long."""

    limb: str
    parent: str
    act: Act
    instruction: str
    why: str
    age: int = 0
    to: str = ""
    flag: bool = False


def renew_after_picking(wood: SideWood, species: Species, season: int) -> tuple[Renewal, ...]:
    """What goes and what comes after the harvest of a season, on species that bear on last season's shoots.

    A lateral of age 1 has borne now: it is cut to its longest replacement, which is tied in. Wood of age 2 bore last
    year and should be gone; from ``flag_age_years`` on it is flagged. This season's shoots stay.
    """
    flag_age = species.facts.renewal.flag_age_years or 3
    acts: list[Renewal] = []
    for shoot in _in_order(wood):
        if not shoot.key.startswith("lateral:"):
            continue
        age = shoot.age(season)
        if age <= 0:
            acts.append(_keep(shoot, age, "it grew this season and bears next"))
        elif age == 1:
            acts.extend(_renew_one(shoot, wood, season, age))
        else:
            acts.append(_take_out(shoot, wood, season, age, flag_age))
    return tuple(acts)


def _renew_one(shoot: SideShoot, wood: SideWood, season: int, age: int) -> list[Renewal]:
    bore = "it bore this season" if shoot.has_fruited(season) else "it is last season's wood and bears only once"
    replacements = wood.replacements_of(shoot.key, season)
    if not replacements:
        return [
            Renewal(
                limb=shoot.key,
                parent=shoot.parent,
                act="cut_short",
                instruction=f"Cut {shoot.key} back to {STUB_LEAVES} leaves; no replacement shoot is recorded.",
                why=f"{bore}; a short stub may still break from its base",
                age=age,
            )
        ]
    chosen = replacements[0]
    return [
        Renewal(
            limb=shoot.key,
            parent=shoot.parent,
            act="cut_to_replacement",
            instruction=f"Cut {shoot.key} back to {chosen.key}.",
            why=bore,
            age=age,
            to=chosen.key,
        ),
        Renewal(
            limb=chosen.key,
            parent=shoot.parent,
            act="tie_in",
            instruction=f"Tie {chosen.key} into the place of {shoot.key}.",
            why="it bears next season",
            to=shoot.key,
        ),
    ]


def _take_out(shoot: SideShoot, wood: SideWood, season: int, age: int, flag_age: int) -> Renewal:
    is_old = age >= flag_age
    replacements = wood.replacements_of(shoot.key, season)
    target = f"back to {replacements[0].key}" if replacements else f"out at {shoot.parent}"
    return Renewal(
        limb=shoot.key,
        parent=shoot.parent,
        act="cut_to_replacement" if replacements else "cut_out",
        instruction=f"Cut {shoot.key} {target}." + (f" It is {age} years old." if is_old else ""),
        why=f"wood of {age} years does not bear any more and leaves the limb bare",
        age=age,
        to=replacements[0].key if replacements else "",
        flag=is_old,
    )


def _keep(shoot: SideShoot, age: int, why: str) -> Renewal:
    return Renewal(limb=shoot.key, parent=shoot.parent, act="keep", instruction=f"Leave {shoot.key}.", why=why, age=age)


def _in_order(wood: SideWood) -> list[SideShoot]:
    return sorted(wood.shoots, key=lambda shoot: (shoot.parent, shoot.key))


def thin_spur_systems(state: TreeState, wood: SideWood, species: Species) -> tuple[Renewal, ...]:
    """How many spur systems stay on each limb whose spurs were counted: one for each ``spacing_cm`` of its length."""
    spacing = species.facts.renewal.spacing_cm
    if spacing is None:
        return ()
    middle_cm = sum(spacing) / 2
    acts: list[Renewal] = []
    for key, count, day in wood.spur_counts:
        limb = state.limb(key)
        length_cm = (limb.length_mm if limb is not None else sum(one.length_mm for one in state.limbs)) / 10
        wanted = max(1, round(length_cm / middle_cm))
        is_crowded = count > wanted * CROWDED_BY
        acts.append(
            Renewal(
                limb=key,
                parent=key,
                act="thin" if is_crowded else "keep",
                instruction=f"Leave {wanted} of the {count} spur systems on {key}, {middle_cm:g} cm apart."
                if is_crowded
                else f"Leave the {count} spur systems on {key}.",
                why=f"{count} systems were counted on {day:%-d %B %Y} along {length_cm:.0f} cm",
            )
        )
    return tuple(acts)


def renew_canes(wood: SideWood, species: Species, season: int) -> tuple[Renewal, ...]:
    """Which canes go after the harvest of a season and which stay, on berries that bear on last season's canes."""
    canes = [shoot for shoot in _in_order(wood) if shoot.key.startswith("cane:")]
    acts: list[Renewal] = []
    for cane in canes:
        age = cane.age(season)
        if age >= 1:
            acts.append(
                Renewal(
                    limb=cane.key,
                    parent=cane.parent,
                    act="cut_out",
                    instruction=f"Cut {cane.key} off at the ground.",
                    why="it has borne and dies now" if age == 1 else f"it is {age} years old and dead",
                    age=age,
                    flag=age >= 2,
                )
            )
        else:
            acts.append(
                Renewal(
                    limb=cane.key,
                    parent=cane.parent,
                    act="tie_in",
                    instruction=f"Tie {cane.key} in, apart from the old canes.",
                    why="it bears next season",
                    age=age,
                )
            )
    return tuple(acts)
