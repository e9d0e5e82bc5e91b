"""One visit moved by hand: whether it may, why not, and what it does to the day. Answers at once, nothing is searched."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from scheduling.rounds.checks import sift
from scheduling.rounds.insertion import Insertion, best_insertion, insertions, put_in
from scheduling.rounds.lookup import CrewDayKey, Lookup, say_day, say_time
from scheduling.rounds.plan import ReasonCode, Round, RoundPlan
from scheduling.rounds.timetable import Trouble, timetable
from scheduling.rounds.values import CrewDay, RoundsProblem, VisitRequest


@dataclass(frozen=True, kw_only=True)
class Move:
    """Where a visit is to go. ``position`` counts from 0 among the other visits of that day; None: the best one."""

    visit: str
    crew: str
    day: date
    position: int | None = None


@dataclass(frozen=True, kw_only=True)
class MoveCheck:
    """The answer to a move.

    ``round_to`` is the round it would make and ``round_from`` what is left of the one it leaves (None: nothing).
    ``wishes_missed`` are not rules: the move may be made all the same.
    """

    is_allowed: bool
    code: ReasonCode | str
    why: str
    round_to: Round | None = None
    round_from: Round | None = None
    drive_change: int = 0
    wishes_missed: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class AddOption:
    """A place for one more visit, and what it costs: minutes of driving and of the crew's day."""

    crew: str
    day: date
    position: int
    starts: int
    extra_drive: int
    extra_minutes: int
    is_best: bool
    why: str


@dataclass(frozen=True, kw_only=True)
class CrewTimeGain:
    """What a further shift would change: the visits it would take that no round takes now."""

    crew: str
    day: date
    minutes: int
    visits: tuple[str, ...]
    drive_minutes: int
    why: str


def check_move(problem: RoundsProblem, plan: RoundPlan, move: Move) -> MoveCheck:
    """Whether the visit may be put there, and what it would change. Rules stop it; missed wishes are only told."""
    lookup = Lookup(sift(problem).problem)
    visit = lookup.visits.get(move.visit)
    if visit is None:
        return MoveCheck(
            is_allowed=False, code="bad_input", why=f"{move.visit} is not among the visits that can be planned."
        )
    day = lookup.crew_days.get((move.crew, move.day))
    if day is None:
        name = lookup.crews[move.crew].name if move.crew in lookup.crews else move.crew
        return MoveCheck(is_allowed=False, code="no_shift", why=f"{name} does not work on {say_day(move.day)}.")
    if visit.lock and (move.crew, move.day) != (visit.lock.crew, visit.lock.day):
        return MoveCheck(is_allowed=False, code="locked", why=f"{visit.name} is locked; unlock it first.")
    if bar := lookup.bar(visit, day):
        return MoveCheck(is_allowed=False, code=bar.code, why=f"{visit.name}: {bar.why}.")
    return _try(lookup, plan, day, move)


def _try(lookup: Lookup, plan: RoundPlan, day: CrewDay, move: Move) -> MoveCheck:
    rest = tuple(each for each in plan.sequences.get(day.key, ()) if each != move.visit and each in lookup.visits)
    if move.position is None:
        best = best_insertion(lookup, day, rest, move.visit)
        found: Round | Trouble = best.round if isinstance(best, Insertion) else best
    else:
        spot = max(0, min(move.position, len(rest)))
        found = timetable(lookup, day, [*rest[:spot], move.visit, *rest[spot:]])
    if isinstance(found, Trouble):
        return MoveCheck(is_allowed=False, code=found.code, why=say_trouble(lookup, day, found))
    old_key = plan.places.get(move.visit)
    left = _left_behind(lookup, plan, old_key, move) if old_key and old_key != day.key else None
    keys = {key for key in (old_key, day.key) if key}
    driven = sum(each.drive_minutes for each in plan.rounds if (each.crew, each.day) in keys)
    change = found.drive_minutes + (left.drive_minutes if left else 0) - driven
    return MoveCheck(
        is_allowed=True,
        code="fits",
        why=_say_fit(lookup, found, move),
        round_to=found,
        round_from=left,
        drive_change=change,
        wishes_missed=_wishes_missed(lookup, lookup.visits[move.visit], day),
    )


def _left_behind(lookup: Lookup, plan: RoundPlan, key: CrewDayKey, move: Move) -> Round | None:
    rest = [each for each in plan.sequences[key] if each != move.visit and each in lookup.visits]
    if not rest or key not in lookup.crew_days:
        return None
    found = timetable(lookup, lookup.crew_days[key], rest)
    return found if isinstance(found, Round) else None


def _say_fit(lookup: Lookup, found: Round, move: Move) -> str:
    stop = next(stop for stop in found.stops if stop.visit == move.visit)
    name = lookup.crews[found.crew].name
    times = f"{say_time(stop.starts)} to {say_time(stop.ends)}"
    return (
        f"{lookup.visits[move.visit].name}: {name} on {say_day(found.day)}, {times}; back at {say_time(found.returns)}."
    )


def say_trouble(lookup: Lookup, day: CrewDay, trouble: Trouble) -> str:
    """What stands against a sequence, as a sentence."""
    name, when = lookup.crews[day.crew].name, say_day(day.day)
    visit = lookup.visits[trouble.visit].name if trouble.visit in lookup.visits else ""
    sentences = {
        "shift": f"{name} would be back {trouble.short} min after the end of the shift on {when}.",
        "hours": f"{visit} would run {trouble.short} min past the client's hours on {when}.",
        "lock": f"{name} would be {trouble.short} min late for {visit}, which is promised for a fixed time on {when}.",
        "load": f"The vehicle of {name} would be overloaded by {trouble.short} on {when}.",
        "most_visits": f"{name} would have {trouble.short} visit more than allowed on {when}.",
    }
    return sentences[trouble.code]


def _wishes_missed(lookup: Lookup, visit: VisitRequest, day: CrewDay) -> tuple[str, ...]:
    missed = []
    if not visit.is_best_on(day.day) and visit.best_from and visit.best_until:
        missed.append(f"Outside its best part, {say_day(visit.best_from)} to {say_day(visit.best_until)}.")
    if visit.known_crew and visit.known_crew != day.crew and visit.known_crew in lookup.crews:
        missed.append(f"The client knows {lookup.crews[visit.known_crew].name}.")
    return tuple(missed)


def cost_of_adding(
    problem: RoundsProblem, plan: RoundPlan, visit: VisitRequest, most: int = 5
) -> tuple[AddOption, ...]:
    """Where one more visit would fit without moving another, the cheapest first. Empty: nowhere."""
    others = tuple(each for each in problem.visits if each.id != visit.id)
    lookup = Lookup(sift(replace(problem, visits=(*others, visit))).problem)
    if visit.id not in lookup.visits:
        return ()
    sequences = {
        key: tuple(each for each in sequence if each in lookup.visits and each != visit.id)
        for key, sequence in plan.sequences.items()
        if key in lookup.crew_days
    }
    return tuple(_option(lookup, plan, placed, visit) for placed in insertions(lookup, sequences, visit.id)[:most])


def _option(lookup: Lookup, plan: RoundPlan, placed: Insertion, visit: VisitRequest) -> AddOption:
    crew, day = placed.key
    stop = placed.round.stops[placed.position]
    before = plan.round_of(crew, day)
    length = placed.round.returns - placed.round.leaves
    extra = length - (before.returns - before.leaves if before else 0)
    return AddOption(
        crew=crew,
        day=day,
        position=placed.position,
        starts=stop.starts,
        extra_drive=placed.extra_drive,
        extra_minutes=extra,
        is_best=stop.is_best and visit.best_from is not None,
        why=f"{lookup.crews[crew].name} on {say_day(day)} at {say_time(stop.starts)}: {placed.extra_drive} min more driving, "
        f"{extra} min more of the day.",
    )


def gain_from_crew_time(
    problem: RoundsProblem, plan: RoundPlan, minutes: int = 240, most: int = 5
) -> tuple[CrewTimeGain, ...]:
    """What a further shift of that length would change, for every crew and working day; the most useful first.

    Reckoned as a second vehicle with the crew's skills that starts when the crew does; only visits now in no round are
    put on it. A day on which the crew does not work is looked at as well, from 8:00.
    """
    gains = []
    base = Lookup(sift(problem).problem)
    waiting = [each.visit for each in plan.unplaced if each.visit in base.visits]
    if not waiting:
        return ()
    for crew in base.crews.values():
        for day in base.working_days:
            if gain := _gain(base, (crew.id, day), waiting, minutes):
                gains.append(gain)
    gains.sort(key=lambda gain: (-len(gain.visits), gain.drive_minutes, gain.day, gain.crew))
    return tuple(gains[:most])


def _gain(base: Lookup, key: CrewDayKey, waiting: list[str], minutes: int) -> CrewTimeGain | None:
    crew, day = key
    known = base.crew_days.get(key)
    starts = known.starts if known else 480
    shift = CrewDay(crew=crew, day=day, starts=starts, ends=starts + minutes, break_minutes=0)
    asked = tuple(base.visits[visit] for visit in waiting)
    lookup = Lookup(replace(base.problem, crew_days=(shift,), visits=asked))
    taken = put_in(lookup, {}, waiting).get(key, ())
    if not taken:
        return None
    made = timetable(lookup, shift, taken)
    if isinstance(made, Trouble):
        return None
    names = ", ".join(base.visits[visit].name for visit in taken)
    return CrewTimeGain(
        crew=crew,
        day=day,
        minutes=minutes,
        visits=taken,
        drive_minutes=made.drive_minutes,
        why=f"{minutes} min more of {base.crews[crew].name} on {say_day(day)} would serve {names}.",
    )
