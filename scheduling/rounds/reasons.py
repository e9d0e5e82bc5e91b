"""Why a visit is in no round: the binding rule in a sentence, and what would free it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from scheduling.rounds.insertion import Insertion, best_insertion
from scheduling.rounds.lookup import CrewDayKey, Lookup, say_day, say_time
from scheduling.rounds.plan import NearMiss, ReasonCode, Unplaced
from scheduling.rounds.timetable import Trouble, timetable
from scheduling.rounds.values import CrewDay, VisitRequest

Sequences = Mapping[CrewDayKey, Sequence[str]]
MOST_NAMED = 6
"""Crews or days named in one sentence."""


def reason_for(lookup: Lookup, sequences: Sequences, visit: str) -> Unplaced:
    """What keeps this visit out of every round of the plan, and what would let it in."""
    return _Inquiry(lookup, sequences, lookup.visits[visit]).answer()


@dataclass(frozen=True)
class _Finding:
    """What one crew-day says."""

    day: CrewDay
    code: ReasonCode
    why: str
    short: int = 0
    is_short_of_hours: bool = False


class _Inquiry:
    def __init__(self, lookup: Lookup, sequences: Sequences, visit: VisitRequest) -> None:
        self.lookup, self.sequences, self.visit = lookup, sequences, visit

    def answer(self) -> Unplaced:
        if closed := self._closed_days():
            return self._unplaced(*closed)
        days = set(self.lookup.days_for(self.visit))
        findings = [self._ask(day) for day in self.lookup.crew_days.values() if day.day in days]
        by_code = {code: [each for each in findings if each.code == code] for code in {each.code for each in findings}}
        if fitting := by_code.get("fits") or by_code.get("not_worth_it"):
            return self._it_fits(fitting[0])
        if full := by_code.get("day_full"):
            return self._all_full(full)
        if alone := by_code.get("too_long") or by_code.get("hours"):
            return self._alone_too_much(alone)
        return self._no_crew(findings)

    def _unplaced(
        self, code: ReasonCode, why: str, freed_by: Sequence[str] = (), nearest: tuple[NearMiss, ...] = ()
    ) -> Unplaced:
        sentence = f"{self.visit.name}: {why}"
        return Unplaced(visit=self.visit.id, code=code, why=sentence, freed_by=tuple(freed_by), nearest=nearest)

    def _closed_days(self) -> tuple[ReasonCode, str, list[str]] | None:
        """The answer if the visit's own rules leave no working day."""
        visit, horizon = self.visit, self.lookup.problem.horizon
        window = f"{say_day(visit.opens)} to {say_day(visit.closes)}"
        if not self.lookup.working_days:
            return "no_shift", "no crew works on any of the planned days", ["Give a crew a shift."]
        if self.lookup.days_for(visit):
            return None
        if visit.closes < horizon.first or visit.opens > horizon.last:
            planned = f"{say_day(horizon.first)} to {say_day(horizon.last)}"
            return "outside_horizon", f"its days {window} lie outside the planned {planned}", ["Plan those days."]
        dry = replace(visit, is_outdoor=False)
        if self.lookup.days_for(dry):
            days = ", ".join(say_day(day) for day in self.lookup.days_for(dry)[:3])
            return (
                "wet",
                f"every day it may be done ({days}) is marked wet",
                ["Take the mark off a day that turns out dry, or let it close later."],
            )
        freed = ["Ask the client for another access day."] if visit.weekdays or visit.blocked else []
        open_days = [day for day in self.lookup.working_days if visit.opens <= day <= visit.closes]
        if not open_days:
            return "no_shift", f"no crew works between {window}", ["Give a crew a shift on one of those days."]
        return "no_open_day", f"the client gives no access on any working day of {window}", freed

    def _ask(self, day: CrewDay) -> _Finding:
        visit, lookup = self.visit, self.lookup
        if bar := lookup.crew_bar(visit, lookup.crews[day.crew]):
            return _Finding(day, bar.code, bar.why)
        alone = timetable(lookup, day, [visit.id])
        if isinstance(alone, Trouble):
            if alone.code == "most_visits":
                return _Finding(day, "most_visits", f"{lookup.crews[day.crew].name} may make no visit that day")
            return _Finding(day, "too_long" if alone.code == "shift" else "hours", "", alone.short)
        sequence = self.sequences.get(day.key, ())
        placed = best_insertion(lookup, day, sequence, visit.id)
        if isinstance(placed, Insertion):
            return _Finding(day, "not_worth_it" if visit.is_optional else "fits", "")
        name = lookup.crews[day.crew].name
        if placed.code == "load":
            return _Finding(day, "load", f"the vehicle of {name} is full on {say_day(day.day)}", placed.short)
        if placed.code == "most_visits":
            return _Finding(
                day, "most_visits", f"{name} has all the visits allowed on {say_day(day.day)}", placed.short
            )
        return _Finding(day, "day_full", "", placed.short, is_short_of_hours=placed.code != "shift")

    def _it_fits(self, finding: _Finding) -> Unplaced:
        crew = self.lookup.crews[finding.day.crew].name
        where = f"{crew} on {say_day(finding.day.day)}"
        if finding.code == "not_worth_it":
            return self._unplaced(
                "not_worth_it",
                f"optional, and the detour is dear; {where} has room",
                [f"Put it by hand with {where}, or make it due."],
            )
        return self._unplaced(
            "fits",
            f"{where} has room, the search ended before it got there",
            [f"Plan longer, or put it by hand with {where}."],
        )

    def _all_full(self, full: Sequence[_Finding]) -> Unplaced:
        visit, lookup = self.visit, self.lookup
        nearest = sorted(full, key=lambda each: (each.short, each.day.day, each.day.crew))[:3]
        misses = tuple(NearMiss(crew=each.day.crew, day=each.day.day, minutes_short=each.short) for each in nearest)
        who = self._who(each.day.crew for each in full)
        later = self._first_room_after(max(each.day.day for each in full))
        until = (
            f" until {say_day(later[1])}"
            if later
            else f" to the end of the plan on {say_day(lookup.problem.horizon.last)}"
        )
        why = f"closes {say_day(visit.closes)}, {who} full{until}"
        freed = []
        if later:
            name = lookup.crews[later[0]].name
            freed.append(f"Let it close on {say_day(later[1])}: {name} has room then.")
        best = nearest[0]
        name = lookup.crews[best.day.crew].name
        if best.is_short_of_hours:
            freed.append(f"Widen the client's hours, or another promise of {name}, by {best.short} min.")
        else:
            freed.append(f"Give {name} {best.short} min more on {say_day(best.day.day)}.")
        if bump := self._bump([each.day for each in nearest]):
            freed.append(bump)
        return self._unplaced("day_full", why, freed, misses)

    def _who(self, crews: Iterable[str]) -> str:
        able = sorted(set(crews))
        names = [self.lookup.crews[crew].name for crew in able]
        if self.visit.skills:
            return f"all crews with {', '.join(sorted(self.visit.skills))} ({', '.join(names)}) are"
        if len(able) == len(self.lookup.crews) and len(able) > 1:
            return "all crews are"
        return f"{', '.join(names)} {'is' if len(names) == 1 else 'are'}"

    def _first_room_after(self, last: date) -> CrewDayKey | None:
        """The first crew-day after its window that would take it."""
        longer = replace(self.visit, closes=self.lookup.problem.horizon.last)
        for key, day in self.lookup.crew_days.items():
            if day.day > last and not self.lookup.bar(longer, day):
                placed = best_insertion(self.lookup, day, self.sequences.get(key, ()), self.visit.id)
                if isinstance(placed, Insertion):
                    return key
        return None

    def _bump(self, days: Sequence[CrewDay]) -> str | None:
        """The visit with the most time left whose place would do."""
        found: list[tuple[date, VisitRequest, CrewDay]] = []
        for day in days:
            sequence = self.sequences.get(day.key, ())
            for other in sequence:
                request = self.lookup.visits[other]
                if request.lock or request.closes <= self.visit.closes:
                    continue
                rest = [each for each in sequence if each != other]
                if isinstance(best_insertion(self.lookup, day, rest, self.visit.id), Insertion):
                    found.append((request.closes, request, day))
        if not found:
            return None
        closes, request, day = max(found, key=lambda each: (each[0], each[1].id))
        name = self.lookup.crews[day.crew].name
        return f"Move {request.name} (closes {say_day(closes)}) off {name}'s {say_day(day.day)}."

    def _alone_too_much(self, found: Sequence[_Finding]) -> Unplaced:
        visit = self.visit
        best = min(found, key=lambda each: each.short)
        name = self.lookup.crews[best.day.crew].name
        when = say_day(best.day.day)
        if best.code == "too_long":
            why = f"takes {visit.minutes} min and does not fit any open shift, drive included; nearest is {name} on {when}"
            return self._unplaced(
                "too_long",
                f"{why}, {best.short} min short",
                [f"Lengthen that shift by {best.short} min, split the work, or send more hands."],
            )
        hours = ", ".join(f"{say_time(opens)} to {say_time(closes)}" for opens, closes in visit.hours)
        return self._unplaced(
            "hours",
            f"the client's hours ({hours}) do not meet any open shift; {name} on {when} is {best.short} min short",
            [f"Ask for {best.short} min more, or start the shift earlier."],
        )

    def _no_crew(self, findings: Sequence[_Finding]) -> Unplaced:
        code = Counter(each.code for each in findings).most_common(1)[0][0]
        bars = list(dict.fromkeys(each.why for each in findings if each.code == code))
        freed = {
            "skill": f"Train a crew for {', '.join(sorted(self.visit.skills))}, or give a trained one a shift.",
            "crew_size": "Join two crews for that day.",
            "other_crew": "Allow another crew there.",
            "load": "Take a larger vehicle, or bring part of it another day.",
            "most_visits": "Raise the limit of visits on one of those days.",
        }
        return self._unplaced(
            code,
            f"no crew at work on its days can take it: {'; '.join(bars[:MOST_NAMED])}",
            [freed.get(code, "Change the rule, or give another crew a shift.")],
        )
