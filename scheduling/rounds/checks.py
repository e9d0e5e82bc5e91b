"""The input checked before anything is planned: every fault named with what would help, the rest kept."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from business.errors import Fault
from scheduling.rounds.lookup import Lookup, say_day, say_time, worked_minutes
from scheduling.rounds.plan import Unplaced
from scheduling.rounds.timetable import Trouble, timetable
from scheduling.rounds.values import Crew, CrewDay, RoundsProblem, VisitRequest


@dataclass(frozen=True)
class Sifted:
    """A problem that can be planned, what was wrong, and the visits that had to be taken out."""

    problem: RoundsProblem
    faults: tuple[Fault, ...]
    refused: tuple[Unplaced, ...]


class _Sieve:
    def __init__(self, problem: RoundsProblem) -> None:
        self.problem = problem
        self.faults: list[Fault] = []
        self.refused: list[Unplaced] = []

    def fault(self, where: str, wrong: str, remedy: str) -> None:
        self.faults.append(Fault(where, wrong, remedy))

    def refuse(self, visit: VisitRequest, wrong: str, remedy: str) -> None:
        self.fault(f"visit {visit.name}", wrong, remedy)
        why = f"{visit.name}: {wrong}"
        self.refused.append(Unplaced(visit=visit.id, code="bad_input", why=why, freed_by=(remedy,)))

    def has_place(self, place: str) -> bool:
        return place in self.problem.travel.index


def sift(problem: RoundsProblem) -> Sifted:
    """Take out of the problem what cannot be planned, and say why."""
    sieve = _Sieve(problem)
    crews = _sound_crews(sieve)
    crew_days = _sound_crew_days(sieve, crews)
    visits = _sound_visits(sieve, {crew.id: crew for crew in crews})
    sound = replace(problem, crews=crews, crew_days=crew_days, visits=visits)
    lookup = Lookup(sound)
    kept = _kept_locks(sieve, lookup)
    for visit in visits:
        if visit.lock is None and visit.minutes > lookup.longest_shift > 0:
            _name_too_long(sieve, visit, lookup)
    left = tuple(visit for visit in visits if visit.lock is None or visit.id in kept)
    return Sifted(replace(sound, visits=left), tuple(sieve.faults), tuple(sieve.refused))


def _sound_crews(sieve: _Sieve) -> tuple[Crew, ...]:
    kept: dict[str, Crew] = {}
    for crew in sieve.problem.crews:
        missing = next((place for place in (crew.start, crew.returns_to) if not sieve.has_place(place)), None)
        if crew.id in kept:
            sieve.fault(f"crew {crew.name}", "is listed twice", "keep one of the two; the first was used")
        elif missing is not None:
            sieve.fault(
                f"crew {crew.name}", "starts or ends at a yard without a place", "give the yard a place on the map"
            )
        else:
            kept[crew.id] = crew
    return tuple(kept.values())


def _sound_crew_days(sieve: _Sieve, crews: Sequence[Crew]) -> tuple[CrewDay, ...]:
    names = {crew.id: crew.name for crew in crews}
    known = {crew.id for crew in sieve.problem.crews}
    kept: dict[tuple[str, date], CrewDay] = {}
    for day in sieve.problem.crew_days:
        where = f"shift of {names.get(day.crew, day.crew)} on {say_day(day.day)}"
        if day.crew not in names:
            if day.crew not in known:
                sieve.fault(where, "belongs to no crew", "add the crew or take the shift out")
        elif day.key in kept:
            sieve.fault(where, "is listed twice", "join the two; the first was used")
        elif day.ends <= day.starts:
            times = f"ends at {say_time(day.ends)} before it starts at {say_time(day.starts)}"
            sieve.fault(where, times, "swap the two times; night shifts are not planned")
        elif day.starts < 0 or day.ends + day.overtime_minutes > sieve.problem.horizon.minutes_per_day:
            sieve.fault(where, "runs past midnight", "end it by 24:00")
        elif worked_minutes(day) == 0:
            sieve.fault(where, f"is no longer than its break of {day.break_minutes} min", "shorten the break")
        elif day.start and not sieve.has_place(day.start):
            sieve.fault(where, f"begins at {day.start!r}, which has no place", "set it on the map")
        else:
            kept[day.key] = day
    return tuple(kept.values())


def _sound_visits(sieve: _Sieve, crews: dict[str, Crew]) -> tuple[VisitRequest, ...]:
    times = Counter(visit.id for visit in sieve.problem.visits)
    kept: dict[str, VisitRequest] = {}
    for visit in sieve.problem.visits:
        if visit.id in kept:
            continue
        if times[visit.id] > 1:
            sieve.fault(f"visit {visit.name}", "is listed more than once", "keep one; the first was used")
        wrong = _wrong_with(sieve, visit, crews)
        if wrong:
            sieve.refuse(visit, *wrong)
        else:
            kept[visit.id] = visit
    return tuple(kept.values())


def _wrong_with(sieve: _Sieve, visit: VisitRequest, crews: dict[str, Crew]) -> tuple[str, str] | None:
    if not sieve.has_place(visit.site):
        return "its garden has no place on the map", "give the garden its latitude and longitude"
    if visit.minutes < 1 or any(minutes < 1 for minutes in visit.minutes_for.values()):
        return f"takes {visit.minutes} min", "give it at least one minute"
    if visit.closes < visit.opens:
        return f"closes on {say_day(visit.closes)} before it opens on {say_day(visit.opens)}", "swap the two days"
    for opens, closes in visit.hours:
        if closes <= opens:
            return f"the client's hours end at {say_time(closes)} before {say_time(opens)}", "swap the two times"
    if visit.hours and visit.lock is None and visit.minutes > max(closes - opens for opens, closes in visit.hours):
        longest = max(closes - opens for opens, closes in visit.hours)
        return f"takes {visit.minutes} min, the client's hours are {longest} min", "ask for longer hours, or split it"
    if visit.lock and visit.lock.crew not in crews:
        return f"is locked to crew {visit.lock.crew!r}, which cannot be planned", "lock it to another crew"
    return None


def _name_too_long(sieve: _Sieve, visit: VisitRequest, lookup: Lookup) -> None:
    """The visit stays in the problem, its reason is worked out with the others; here it is only named."""
    sieve.fault(
        f"visit {visit.name}",
        f"takes {visit.minutes} min, the longest shift has {lookup.longest_shift} min",
        "split it over several days, or send more hands",
    )


def _kept_locks(sieve: _Sieve, lookup: Lookup) -> set[str]:
    """Locked visits that can be kept together; the others are named."""
    kept: set[str] = set()
    by_day: dict[tuple[str, date], list[VisitRequest]] = {}
    for visit in lookup.problem.visits:
        if visit.lock:
            by_day.setdefault((visit.lock.crew, visit.lock.day), []).append(visit)
    for (crew, day), visits in by_day.items():
        crew_day = lookup.crew_days.get((crew, day))
        if crew_day is None:
            for visit in visits:
                sieve.refuse(visit, *_no_shift(lookup, crew, day))
            continue
        for visit in visits:
            _name_broken_rules(sieve, lookup, visit)
        kept |= _locks_that_fit(sieve, lookup, crew_day, visits)
    return kept


def _no_shift(lookup: Lookup, crew: str, day: date) -> tuple[str, str]:
    name = lookup.crews[crew].name
    if day not in lookup.problem.horizon:
        return f"is locked on {say_day(day)}, outside the planned days", "plan that day as well, or unlock it"
    if day in lookup.problem.holidays:
        return f"is locked on {say_day(day)}, a holiday", "move it to a working day, or take the holiday off the list"
    return f"is locked on {say_day(day)}, when {name} does not work", f"give {name} a shift that day, or unlock it"


def _name_broken_rules(sieve: _Sieve, lookup: Lookup, visit: VisitRequest) -> None:
    """A lock is a decision and is kept; that it goes against a rule is said."""
    if visit.lock is None:
        return
    free, crew = replace(visit, lock=None), lookup.crews[visit.lock.crew]
    if bar := lookup.day_bar(free, visit.lock.day) or lookup.crew_bar(free, crew):
        sieve.fault(f"visit {visit.name}", f"is locked against a rule: {bar.why}", "unlock it, or change the rule")


def _locks_that_fit(sieve: _Sieve, lookup: Lookup, day: CrewDay, visits: Sequence[VisitRequest]) -> set[str]:
    kept: list[str] = []
    timed = sorted(visits, key=lambda visit: (_locked_start(visit) is None, _locked_start(visit) or 0))
    for visit in timed:
        tries = [[*kept[:place], visit.id, *kept[place:]] for place in range(len(kept), -1, -1)]
        good = next((order for order in tries if not isinstance(timetable(lookup, day, order), Trouble)), None)
        if good:
            kept = good
            continue
        alone = timetable(lookup, day, [visit.id])
        if isinstance(alone, Trouble):
            wrong = f"does not fit the shift of its crew on {say_day(day.day)} ({alone.short} min short)"
            sieve.refuse(visit, wrong, "lengthen the shift, start it earlier, or unlock it")
        else:
            wrong = f"clashes with the other locked visits of its crew on {say_day(day.day)}"
            sieve.refuse(visit, wrong, "unlock one of them, or lock it to another crew")
    return set(kept)


def _locked_start(visit: VisitRequest) -> int | None:
    return visit.lock.start if visit.lock else None
