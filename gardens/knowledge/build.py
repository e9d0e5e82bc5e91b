"""A species put together: its own file over its group's over what holds for all; and what only the whole can check."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from typing import TypeVar

from business.errors import Fault
from gardens.knowledge.rule_schema import Closed, Task, Watch
from gardens.knowledge.schema import Calendar, GroupFile, RuleFile, Species, SpeciesFile
from gardens.knowledge.usual import circle, when_day
from gardens.knowledge.when import ANCHORS, Frame, When
from gardens.knowledge.words import PROFILES, WORK_KINDS

CHECKED_IN = Frame(2001)
"""Any common year does; the order of days in it is that of every year."""

COMMON = "all"
LONGEST_WINDOW_DAYS = 366

Named = TypeVar("Named", Task, Closed, Watch)


def build_species(species_id: str, own: SpeciesFile, groups: Mapping[str, GroupFile]) -> Species:
    """One species with everything it inherits; the nearer file wins where two name the same rule.

    Raises:
        KeyError: if a group is missing, or groups inherit from each other in a ring.
    """
    lineage = lineage_of(own.group, groups)
    layers: list[tuple[str, RuleFile]] = [(group, groups[group]) for group in reversed(lineage)]
    layers.append((species_id, own))
    dropped = {name for _, layer in layers for name in layer.drop}
    return Species(
        id=species_id,
        facts=own,
        lineage=lineage,
        tasks=_merged([(origin, layer.task) for origin, layer in layers], dropped),
        closed=_merged([(origin, layer.closed) for origin, layer in layers], dropped),
        watches=_merged([(origin, layer.watch) for origin, layer in layers], dropped),
        cautions=tuple(caution for _, layer in layers for caution in layer.caution),
        contradictions=tuple(both for _, layer in layers for both in layer.contradiction),
        calendar={profile: _calendar([layer.calendar for _, layer in layers], profile) for profile in PROFILES},
    )


def lineage_of(group: str, groups: Mapping[str, GroupFile]) -> tuple[str, ...]:
    """A group and the wider ones it builds on, nearest first, ending with "all".

    Raises:
        KeyError: for a group that is missing, or that inherits from itself.
    """
    lineage: list[str] = []
    while True:
        if group in lineage or group not in groups:
            raise KeyError(group)
        lineage.append(group)
        if group == COMMON:
            return tuple(lineage)
        group = groups[group].inherits


def _merged(layers: list[tuple[str, tuple[Named, ...]]], dropped: set[str]) -> tuple[Named, ...]:
    rules: dict[str, Named] = {}
    for origin, layer in layers:
        rules.update({rule.id: rule.model_copy(update={"origin": origin}) for rule in layer})
    return tuple(rule for rule in rules.values() if rule.id not in dropped)


def _calendar(layers: list[Calendar], profile: str) -> Mapping[str, When]:
    """Nearer layers win over farther ones, and within a layer the profile over "any"."""
    days: dict[str, When] = {}
    for layer in layers:
        for key in ("any", profile):
            days.update(layer.get(key, {}))
    return days


def faults_of_species(species: Species, known: Mapping[str, Iterable[str]]) -> Iterator[Fault]:
    """What is wrong with the whole although each file alone is well formed.

    Args:
        species: the species as built.
        known: the names that rules may use: "codes", "gates", "standards".
    """
    yield from _calendar_faults(species)
    if not any(True for _ in _calendar_faults(species)):
        yield from _order_faults(species)
        yield from _span_faults(species)
    yield from _name_faults(species, known)
    chosen = [row for row in species.facts.thinning if row.is_chosen]
    if not chosen:
        yield Fault(f"species/{species.id}.toml, thinning", "no row is chosen", "set is_chosen = true on one row a use")


def _calendar_faults(species: Species) -> Iterator[Fault]:
    for profile, calendar in species.calendar.items():
        where = f"species/{species.id}.toml, calendar ({profile})"
        for anchor in ANCHORS:
            if anchor not in calendar:
                yield Fault(where, f"no usual day for {anchor}", f'add {anchor} = "month:MM-DD" or a day after a stage')
        if ring := circle(calendar):
            yield Fault(where, f"days hang on each other: {' > '.join(ring)}", "give one of them a month")


def _order_faults(species: Species) -> Iterator[Fault]:
    for task in species.tasks:
        if task.always:
            continue
        for profile in task.profiles:
            yield from _task_order(task, species, profile)
    for watch in species.watches:
        if watch.opens is not None and watch.closes is not None:
            for profile in watch.profiles:
                days = [(key, when, _day(when, species, profile)) for key, when in _ends(watch.opens, watch.closes)]
                yield from _disorder(days, f"{_file(watch.origin, species)}, watch {watch.id}", profile)


def _ends(opens: When, closes: When) -> list[tuple[str, When]]:
    return [("opens", opens), ("closes", closes)]


def _task_order(task: Task, species: Species, profile: str) -> Iterator[Fault]:
    keys = ("opens", "best_from", "best_until", "closes")
    given = [(key, getattr(task, key)) for key in keys if getattr(task, key) is not None]
    days = [(key, when, _day(when, species, profile)) for key, when in given]
    yield from _disorder(days, f"{_file(task.origin, species)}, task {task.id}", profile)


def _disorder(days: list[tuple[str, When, date]], where: str, profile: str) -> Iterator[Fault]:
    for (key, when, day), (next_key, next_when, next_day) in itertools.pairwise(days):
        if next_day < day:
            yield Fault(
                where,
                f"{next_key} ({next_when}, usually {next_day:%-d %B}) falls before {key} ({when}, usually "
                f"{day:%-d %B}) in the {profile} year",
                "a window runs opens ≤ best_from ≤ best_until ≤ closes; write next:… for a day after the turn of the year",
            )
    if days and (days[-1][2] - days[0][2]).days > LONGEST_WINDOW_DAYS:
        yield Fault(
            where,
            f"runs from {days[0][2]:%-d %B %Y} to {days[-1][2]:%-d %B %Y} in the {profile} year",
            "a window is not longer than a year; write always = true where no season is closed",
        )


def _span_faults(species: Species) -> Iterator[Fault]:
    for closure in species.closed:
        if closure.starts is None or closure.ends is None:
            continue
        for profile in closure.profiles:
            length = (_day(closure.ends, species, profile) - _day(closure.starts, species, profile)).days
            if not -365 < length < 365:
                yield Fault(
                    f"{_file(closure.origin, species)}, closed {closure.id}",
                    f"runs {length} days in the {profile} year",
                    "a closed season is shorter than a year; write always = true for one that never opens",
                )


def _day(when: When, species: Species, profile: str) -> date:
    return when_day(when, CHECKED_IN, species.calendar[profile])


def _file(origin: str, species: Species) -> str:
    return f"species/{origin}.toml" if origin == species.id else f"groups/{origin}.toml"


def _name_faults(species: Species, known: Mapping[str, Iterable[str]]) -> Iterator[Fault]:
    codes, gates, standards = (set(known[key]) for key in ("codes", "gates", "standards"))
    tasks = {task.id for task in species.tasks} | set(WORK_KINDS)
    yield from _disease_faults(species, set(known["diseases"]))
    for task in species.tasks:
        where = f"{_file(task.origin, species)}, task {task.id}"
        for gate in task.gates:
            if gate not in gates:
                yield Fault(where, f"{gate!r} is not a weather gate", f"use one of {', '.join(sorted(gates))}")
        if task.standard and task.standard not in standards:
            yield Fault(
                where, f"{task.standard!r} is not a labour standard", f"use one of {', '.join(sorted(standards))}"
            )
    for closure in species.closed:
        where = f"{_file(closure.origin, species)}, closed {closure.id}"
        if closure.code not in codes:
            yield Fault(where, f"{closure.code!r} is not a reason code", f"use one of {', '.join(sorted(codes))}")
        if closure.origin == species.id:
            for name in closure.allow:
                if name not in tasks:
                    yield Fault(where, f"allow names {name!r}, no task here", f"use one of {', '.join(sorted(tasks))}")


def _disease_faults(species: Species, diseases: set[str]) -> Iterator[Fault]:
    rules: tuple[Task | Closed | Watch, ...] = (*species.tasks, *species.closed, *species.watches)
    for rule in rules:
        for key, name in (("if_disease", rule.if_disease), ("unless_disease", rule.unless_disease)):
            if name and name not in diseases:
                where = f"{_file(rule.origin, species)}, {rule.id}, {key}"
                yield Fault(where, f"{name!r} is not a disease we know", f"use one of {', '.join(sorted(diseases))}")
