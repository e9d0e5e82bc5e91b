"""A yearly need made exact by what was recorded: which laterals, how many spurs, how many buds."""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby

from gardens.knowledge.fact_schema import BudRule
from gardens.knowledge.rule_schema import Task
from gardens.knowledge.schema import Species
from gardens.pruning.book import SpeciesYear
from gardens.pruning.crop import crop_limit, fruits_along
from gardens.pruning.minutes import BEARING_LIMBS
from gardens.pruning.renewal import Renewal, renew_after_picking, renew_canes, thin_spur_systems
from gardens.pruning.side_wood import SideWood
from gardens.pruning.values import Need
from gardens.pruning.vine_buds import balanced_buds, extra_for_dead_buds, spread_over_spurs
from gardens.training.state import TreeState


def refined(need: Need, task: Task, state: TreeState, wood: SideWood, year: SpeciesYear) -> tuple[Need, ...]:
    """The needs that take the place of a general one; the general one itself where nothing was recorded.

    Args:
        need: the general need on the whole tree.
        task: the rule it came from.
        state: the tree as it stands.
        wood: what its records tell of side wood.
        year: the species' year.
    """
    species = year.species
    if task.kind == "renew_wood" and species.facts.wood.renewal == "one_year_shoots":
        return _by_parent(need, renew_after_picking(wood, species, year.season.year))
    if task.kind == "renew_wood" and species.facts.wood.renewal == "canes":
        return _by_parent(need, renew_canes(wood, species, year.season.year))
    if task.kind == "thin_spurs":
        return _by_parent(need, thin_spur_systems(state, wood, species))
    if task.kind == "thin_fruit" and "spacing_cm" in task.numbers:
        return (_with_fruit_count(need, task.numbers["spacing_cm"], state, species),)
    if task.kind == "winter_prune" and species.facts.bud_rule and task.standard != "regrowth":
        return (_with_buds(need, state, wood, year),)
    return (need,)


def asks_for_spurs(state: TreeState, wood: SideWood, species: Species) -> bool:
    """Whether counted spur systems stand so close that they are thinned whatever the turn."""
    return any(act.act == "thin" for act in thin_spur_systems(state, wood, species))


def _by_parent(need: Need, acts: tuple[Renewal, ...]) -> tuple[Need, ...]:
    """One need for each limb that has something to do; the minutes are shared out by the number of acts."""
    if not acts:
        return (need,)
    todo = [act for act in acts if act.act != "keep"]
    if not todo:
        return ()
    needs = []
    for parent, group in groupby(sorted(todo, key=lambda act: act.parent), key=lambda act: act.parent):
        here = list(group)
        whys = "; ".join(dict.fromkeys(f"{act.limb}: {act.why}" for act in here if act.act != "tie_in"))
        flagged = any(act.flag for act in here)
        needs.append(
            replace(
                need,
                limb=parent or "whole",
                instruction="\n".join(act.instruction for act in here),
                minutes=round(max(need.minutes * len(here) / len(todo), 1.0), 1),
                why=f"{need.why} ({whys})" if whys else need.why,
                is_optional=need.is_optional and not flagged,
            )
        )
    return tuple(needs)


def bud_rule_for(species: Species, cultivar: str) -> BudRule:
    """The balanced-pruning rule of a cultivar: the one that names it, else the first that names none.

    Raises:
        ValueError: for a species without such rules.
    """
    rules = species.facts.bud_rule
    if not rules:
        raise ValueError(f"{species.id} has no bud rule")
    name = cultivar.casefold()
    named = (rule for rule in rules if any(word.casefold() in name for word in rule.words))
    general = (rule for rule in rules if not rule.words)
    return next(named, None) or next(general, rules[0])


def _with_buds(need: Need, state: TreeState, wood: SideWood, year: SpeciesYear) -> Need:
    """The winter cut of a vine with its number of buds, where last winter's prunings were weighed."""
    rule = bud_rule_for(year.species, state.facts.cultivar)
    dead = wood.dead_buds_percent or 0.0
    past = [(season, kg) for season, kg in wood.prunings_kg if season <= year.season.year and kg > 0]
    if not past:
        extra = extra_for_dead_buds(dead)
        if not dead or extra == 0.0:
            return need
        line = "Cut as little as you can" if extra is None else f"Keep {extra:.0%} more buds than usual"
        return replace(need, instruction=f"{line}: {dead:g} % of the buds are dead.\n{need.instruction}")
    load = balanced_buds(past[-1][1], rule, dead)
    if load.buds is None:
        line = f"Cut as little as you can: {dead:g} % of the buds are dead."
    else:
        line = f"Leave {load.buds} buds on the vine ({load.why}).{_spur_line(load.buds, state, year.species)}"
    return replace(
        need, instruction=f"{line}\n{need.instruction}", source="; ".join(dict.fromkeys([need.source, load.source]))
    )


def _with_fruit_count(need: Need, spacing_cm: float, state: TreeState, species: Species) -> Need:
    """The thinning with the number of fruits the arms hold, and the most the trunk carries where it was measured."""
    arms_cm = sum(limb.length_mm for limb in state.limbs if limb.kind in BEARING_LIMBS and limb.status != "lost") / 10
    if arms_cm < 100:
        return need
    line = f"Leave about {fruits_along(arms_cm, spacing_cm)} fruits on {arms_cm / 100:.1f} m of arms"
    limit = crop_limit(species, state.girth_mm) if state.girth_mm else None
    line += f", no more than {limit.most} by the girth of the trunk." if limit is not None else "."
    return replace(need, instruction=f"{need.instruction}\n{line}")


def _spur_line(buds: int, state: TreeState, species: Species) -> str:
    rods_cm = sum(limb.length_mm for limb in state.limbs if limb.kind == "rod" and limb.status != "lost") / 10
    spacing = species.facts.renewal.spacing_cm
    if rods_cm <= 0 or spacing is None:
        return ""
    plan = spread_over_spurs(buds, rods_cm, spacing)
    return f" On {rods_cm:.0f} cm of rod: {plan.spurs} spurs of {plan.buds_each} buds, {plan.spacing_cm:g} cm apart."
