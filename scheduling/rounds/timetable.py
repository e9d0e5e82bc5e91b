"""One crew's day walked through, minute by minute: an exact check of a round, and its times.

The routing library does not know breaks; this walk does. It finds the place for the break that keeps every promise:
in a wait, between two stops, or during a long stop.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from scheduling.rounds.lookup import Lookup, break_of
from scheduling.rounds.plan import Round, Stop
from scheduling.rounds.values import CrewDay, VisitRequest

TroubleCode = Literal["hours", "lock", "shift", "load", "most_visits"]
AFTER_LAST = -1
LONGEST_WITHOUT_BREAK = 360
"""Minutes out after which a break is due (six hours; common in working-time law, from memory)."""


@dataclass(frozen=True)
class Trouble:
    """Why a sequence does not work: the rule, the visit it strikes (empty: the shift), minutes or units too many."""

    code: TroubleCode
    visit: str
    short: int


@dataclass(frozen=True)
class _Break:
    """A place for the break: before or during the stop at ``place``, or after the last."""

    place: int
    is_inside: bool


@dataclass
class _Walk:
    """A walk through the day: times per stop, the break, how late promises became."""

    arrives: list[int]
    starts: list[int]
    ends: list[int]
    returns: int = 0
    break_at: int | None = None
    late: int = 0
    worst: Trouble | None = None

    def blame(self, code: TroubleCode, visit: str, minutes: int) -> None:
        """Count minutes too many, and remember where it hurt most."""
        self.late += minutes
        if self.worst is None or minutes > self.worst.short:
            self.worst = Trouble(code, visit, minutes)


def timetable(lookup: Lookup, day: CrewDay, visits: Sequence[str]) -> Round | Trouble:
    """The round of these visits in this order, or what stands against it. Rules of `Lookup.bar` are not asked."""
    requests = [lookup.visits[visit] for visit in visits]
    if trouble := _too_much(lookup, day, requests):
        return trouble
    walk = _best_walk(lookup, day, requests)
    if walk.worst:
        return walk.worst
    return _round(lookup, day, requests, walk)


def _too_much(lookup: Lookup, day: CrewDay, requests: Sequence[VisitRequest]) -> Trouble | None:
    if day.most_visits is not None and len(requests) > day.most_visits:
        return Trouble("most_visits", "", len(requests) - day.most_visits)
    totals: dict[str, int] = {}
    for request in requests:
        for load, amount in request.loads.items():
            totals[load] = totals.get(load, 0) + amount
    capacity = lookup.crews[day.crew].capacity
    for load, amount in totals.items():
        # A lock may overload the vehicle on purpose; the check of the input has said so.
        if amount > capacity.get(load, 0) and not all(request.lock for request in requests if load in request.loads):
            return Trouble("load", "", amount - capacity.get(load, 0))
    return None


def _best_walk(lookup: Lookup, day: CrewDay, requests: Sequence[VisitRequest]) -> _Walk:
    """The walk with the break where it does least harm: nobody late, not during a stop, early in its span."""
    pause = break_of(day)
    plain = _walk(lookup, day, requests, None)
    is_home_early = plain.returns <= day.break_until and plain.returns - day.starts <= LONGEST_WITHOUT_BREAK
    if pause == 0 or (is_home_early and not plain.late):
        return plain
    if not any(request.hours or request.lock for request in requests):
        # Nobody waits for anybody: the break only pushes what follows.
        over = plain.returns + pause - day.ends - day.overtime_minutes
        if over > 0:
            return _Walk([], [], [], late=over, worst=Trouble("shift", "", over))
    elif plain.worst and plain.worst.code != "shift":
        return plain  # a break makes nobody less late
    best: tuple[tuple[int, bool, int, int], _Walk] | None = None
    for spot in _spots(plain, day):
        walk = _walk(lookup, day, requests, spot)
        if walk.break_at is None or not day.break_from <= walk.break_at <= day.break_until:
            continue
        rank = (walk.late, spot.is_inside, walk.returns, walk.break_at)
        if best is None or rank < best[0]:
            best = (rank, walk)
    return best[1] if best else plain


def _spots(plain: _Walk, day: CrewDay) -> Iterator[_Break]:
    """Places for the break worth trying: those whose time without a break is not past its span."""
    count = len(plain.starts)
    for place in range(count):
        before = day.starts if place == 0 else plain.ends[place - 1]
        if before > day.break_until:
            return
        if plain.starts[place] >= day.break_from - day.break_minutes:
            yield _Break(place, is_inside=False)
        if plain.ends[place] > day.break_from and plain.starts[place] <= day.break_until:
            yield _Break(place, is_inside=True)
    yield _Break(AFTER_LAST, is_inside=False)


def _walk(lookup: Lookup, day: CrewDay, requests: Sequence[VisitRequest], pause: _Break | None) -> _Walk:
    walk = _Walk([], [], [])
    now, here, legs = day.starts, lookup.start_of(day), lookup.legs
    for place, request in enumerate(requests):
        now += legs[here][request.site]
        here = request.site
        walk.arrives.append(now)
        if pause and pause.place == place and not pause.is_inside:
            walk.break_at = max(now, day.break_from)
            now = walk.break_at + day.break_minutes
        length = request.takes(day.crew)
        start = _start(lookup, walk, request, now, length)
        now = start + length
        if pause and pause.place == place and pause.is_inside:
            walk.break_at = max(start, day.break_from)
            now += day.break_minutes
            _end(lookup, walk, request, start, now)
        walk.starts.append(start)
        walk.ends.append(now)
    if pause and pause.place == AFTER_LAST:
        walk.break_at = max(now, day.break_from)
        now = walk.break_at + day.break_minutes
    walk.returns = now + lookup.leg(here, lookup.crews[day.crew].returns_to)
    if (over := walk.returns - day.ends - day.overtime_minutes) > 0:
        walk.blame("shift", "", over)
    return walk


def _start(lookup: Lookup, walk: _Walk, request: VisitRequest, now: int, length: int) -> int:
    """When work starts: at the promised time, or as soon as the client's hours allow."""
    if request.lock and request.lock.start is not None:
        if now > request.lock.start:
            walk.blame("lock", request.id, now - request.lock.start)
            return now
        return request.lock.start
    if request.lock or not request.hours:
        return now
    spans = lookup.hours(request)
    for opens, closes in spans:
        start = max(now, opens)
        if start + length <= closes:
            return start
    walk.blame("hours", request.id, now + length - max(closes for _, closes in spans))
    return now


def _end(lookup: Lookup, walk: _Walk, request: VisitRequest, start: int, ends: int) -> None:
    """A break inside a stop must not push its end out of the client's hours."""
    if request.lock:
        return
    closes = max((closes for opens, closes in lookup.hours(request) if opens <= start <= closes), default=start)
    if ends > closes:
        walk.blame("hours", request.id, ends - closes)


def _round(lookup: Lookup, day: CrewDay, requests: Sequence[VisitRequest], walk: _Walk) -> Round:
    places = [lookup.start_of(day), *(request.site for request in requests)]
    home = lookup.crews[day.crew].returns_to
    arrives = list(walk.arrives)
    leaves = day.starts
    if requests:
        # Waiting before the first stop is spent at the yard rather than at the client's gate.
        ready = walk.starts[0]
        if walk.break_at is not None and walk.break_at < ready:
            ready = walk.break_at = min(ready - day.break_minutes, day.break_until)
        leaves += ready - arrives[0]
        arrives[0] = ready
    stops = tuple(
        Stop(
            visit=request.id,
            site=request.site,
            drive_minutes=lookup.leg(places[number], request.site),
            drive_km=round(lookup.km(places[number], request.site), 3),
            arrives=arrives[number],
            starts=walk.starts[number],
            ends=walk.ends[number],
            is_best=request.is_best_on(day.day),
            is_locked=request.lock is not None,
        )
        for number, request in enumerate(requests)
    )
    pause = day.break_minutes if walk.break_at is not None else 0
    return Round(
        crew=day.crew,
        day=day.day,
        leaves=leaves,
        returns=walk.returns,
        stops=stops,
        break_at=walk.break_at,
        break_minutes=pause,
        drive_minutes=sum(stop.drive_minutes for stop in stops) + lookup.leg(places[-1], home),
        drive_km=round(sum(stop.drive_km for stop in stops) + lookup.km(places[-1], home), 3),
        work_minutes=sum(request.takes(day.crew) for request in requests),
        overtime_minutes=max(0, walk.returns - day.ends),
    )
