"""One visit into one round: every position tried, exactly."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from scheduling.rounds.lookup import CrewDayKey, Lookup, break_of
from scheduling.rounds.plan import Round
from scheduling.rounds.timetable import Trouble, timetable
from scheduling.rounds.values import CrewDay, VisitRequest

Sequences = dict[CrewDayKey, tuple[str, ...]]


@dataclass(frozen=True)
class Insertion:
    """A visit put into a round: where, the round it makes, and what it costs more. [minutes]"""

    key: CrewDayKey
    position: int
    round: Round
    extra_drive: int
    extra_cost: int


def best_insertion(lookup: Lookup, day: CrewDay, sequence: Sequence[str], visit: str) -> Insertion | Trouble:
    """The cheapest position for the visit in this crew's day, or the trouble of the position that comes nearest."""
    nearest: Trouble | None = None
    drive = _drive(lookup, day, sequence)
    free = _free_minutes(lookup, day, sequence, visit) - drive
    for detour, position in _detours(lookup, day, sequence, visit):
        found: Round | Trouble = Trouble("shift", "", detour - free)
        if detour <= free:
            found = timetable(lookup, day, [*sequence[:position], visit, *sequence[position:]])
        if isinstance(found, Round):
            cost = detour + wishes_missed(lookup, lookup.visits[visit], day)
            cost += found.overtime_minutes * lookup.problem.weights.overtime
            return Insertion(day.key, position, found, detour, cost)
        if nearest is None or found.short < nearest.short:
            nearest = found
    return nearest or Trouble("shift", visit, 0)


def _drive(lookup: Lookup, day: CrewDay, sequence: Sequence[str]) -> int:
    """Minutes driven on this day, 0 if nobody leaves the yard."""
    if not sequence:
        return 0
    places = _places(lookup, day, sequence)
    return sum(lookup.legs[one][two] for one, two in pairwise(places))


def _places(lookup: Lookup, day: CrewDay, sequence: Sequence[str]) -> list[str]:
    sites = [lookup.visits[visit].site for visit in sequence]
    return [lookup.start_of(day), *sites, lookup.crews[day.crew].returns_to]


def _free_minutes(lookup: Lookup, day: CrewDay, sequence: Sequence[str], visit: str) -> int:
    """Minutes of the day that work leaves for driving, at most; a break is taken off where one is sure to be due."""
    whole = day.ends + day.overtime_minutes - day.starts
    work = sum(lookup.visits[each].takes(day.crew) for each in (*sequence, visit))
    return whole - work - (break_of(day) if day.starts + work > day.break_until else 0)


def _detours(lookup: Lookup, day: CrewDay, sequence: Sequence[str], visit: str) -> list[tuple[int, int]]:
    """What each position adds to the driving, the least first."""
    legs, site = lookup.legs, lookup.visits[visit].site
    places = _places(lookup, day, sequence)
    detours = []
    for position in range(len(sequence) + 1):
        before, after = places[position], places[position + 1]
        saved = legs[before][after] if sequence else 0
        detours.append((legs[before][site] + legs[site][after] - saved, position))
    return sorted(detours)


def wishes_missed(lookup: Lookup, visit: VisitRequest, day: CrewDay) -> int:
    """What the best part and the known crew are worth that this crew-day misses. [minutes of driving]"""
    weights = lookup.problem.weights
    cost = 0 if visit.is_best_on(day.day) else weights.best_part
    return cost + (weights.unknown_crew if visit.known_crew and visit.known_crew != day.crew else 0)


def insertions(
    lookup: Lookup, sequences: Mapping[CrewDayKey, Sequence[str]], visit: str, only: Iterable[CrewDayKey] | None = None
) -> list[Insertion]:
    """Every crew-day that can take the visit as it stands, the cheapest first."""
    request = lookup.visits[visit]
    found = []
    for key in lookup.crew_days if only is None else only:
        day = lookup.crew_days[key]
        if lookup.bar(request, day):
            continue
        placed = best_insertion(lookup, day, sequences.get(key, ()), visit)
        if isinstance(placed, Insertion):
            found.append(placed)
    return sorted(found, key=lambda insertion: (insertion.extra_cost, insertion.key[1], insertion.key[0]))


def mend(lookup: Lookup, sequences: Mapping[CrewDayKey, Sequence[str]]) -> Sequences:
    """Sequences that keep every promise: what breaks one is taken out and put where it costs least, if anywhere.

    The library lays out days without breaks; the walk through the day has the last word.
    """
    mended: Sequences = {}
    homeless: list[str] = []
    for key, sequence in sequences.items():
        day = lookup.crew_days[key]
        allowed = [visit for visit in sequence if lookup.bar(lookup.visits[visit], day) is None]
        kept = _keep_feasible(lookup, day, allowed)
        homeless += [visit for visit in sequence if visit not in kept]
        if kept:
            mended[key] = tuple(kept)
    return put_in(lookup, mended, homeless)


def put_in(lookup: Lookup, sequences: Mapping[CrewDayKey, Sequence[str]], visits: Iterable[str]) -> Sequences:
    """The sequences with these visits put where they cost least, urgent ones first; those that fit nowhere stay out."""
    result: Sequences = {key: tuple(sequence) for key, sequence in sequences.items()}
    waiting = sorted(visits, key=lambda visit: (not lookup.visits[visit].is_urgent, lookup.visits[visit].closes, visit))
    for visit in waiting:
        request = lookup.visits[visit]
        for placed in insertions(lookup, result, visit)[:1]:
            if request.is_optional and placed.extra_cost > lookup.problem.weights.optional:
                continue
            result[placed.key] = placed.round.visits
    return result


def _keep_feasible(lookup: Lookup, day: CrewDay, sequence: list[str]) -> list[str]:
    """The sequence with as few visits taken out as it needs, never a locked one."""
    while sequence and isinstance(timetable(lookup, day, sequence), Trouble):
        loose = [visit for visit in sequence if lookup.visits[visit].lock is None]
        if not loose:
            return _in_working_order(lookup, day, sequence)
        tries = [(_shortfall(lookup, day, [each for each in sequence if each != visit]), visit) for visit in loose]
        victim = min(tries, key=lambda each: (each[0], lookup.visits[each[1]].is_urgent, each[1]))[1]
        sequence = [each for each in sequence if each != victim]
    return sequence


def _shortfall(lookup: Lookup, day: CrewDay, sequence: Sequence[str]) -> int:
    found = timetable(lookup, day, sequence)
    return found.short if isinstance(found, Trouble) else 0


def _in_working_order(lookup: Lookup, day: CrewDay, locked: Sequence[str]) -> list[str]:
    """Locked visits alone always have an order that works: the check of the input saw to it."""
    order: list[str] = []
    starts = {visit: lock.start for visit in locked if (lock := lookup.visits[visit].lock)}
    for visit in sorted(locked, key=lambda each: (starts[each] is None, starts[each] or 0)):
        for position in range(len(order), -1, -1):
            tried = [*order[:position], visit, *order[position:]]
            if not isinstance(timetable(lookup, day, tried), Trouble):
                order = tried
                break
    return order
