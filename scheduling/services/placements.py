"""Where visits and rounds stand, as plans remember it, and how they are put back there."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, time
from typing import Any

from scheduling.models import Round, Visit

Placement = dict[str, Any]


def placement(visit: Visit) -> Placement:
    """Where a visit stands, as plans remember it."""
    return {
        "state": visit.state,
        "crew": visit.round.crew_id if visit.round else None,
        "on": visit.on.isoformat() if visit.on else None,
        "position": visit.position,
        "arrives": clock_words(visit.arrives_at),
        "leaves": clock_words(visit.leaves_at),
        "drive": visit.drive_minutes,
    }


def put(visit: Visit, where: Placement) -> None:
    """Put a visit where a remembered placement says; without a day it is a suggestion again."""
    on = date.fromisoformat(where["on"]) if where.get("on") else None
    visit.state = where["state"]
    visit.on = on
    visit.round = Round.objects.get_or_create(crew_id=where["crew"], on=on)[0] if on and where.get("crew") else None
    visit.position = where.get("position")
    visit.arrives_at = time.fromisoformat(where["arrives"]) if where.get("arrives") else None
    visit.leaves_at = time.fromisoformat(where["leaves"]) if where.get("leaves") else None
    visit.drive_minutes = where.get("drive") or 0
    visit.save()


def round_key(crew_id: int | str | None, on: date | str | None) -> str:
    """How a crew's day is named in a plan."""
    return f"{crew_id} {on}"


def outline(found: Round) -> Placement:
    """A round's own times and drive, as plans remember them."""
    return {
        "leaves": clock_words(found.leaves_at),
        "back": clock_words(found.back_at),
        "drive": found.drive_minutes,
        "km": found.drive_km,
    }


def outlines_of(keys: Iterable[str]) -> dict[str, Placement | None]:
    """The outlines of these crew-days; None where there is no round."""
    wanted = set(keys)
    days = {key.split(" ")[1] for key in wanted}
    rows = {round_key(found.crew_id, found.on): outline(found) for found in Round.objects.filter(on__in=days)}
    return {key: rows.get(key) for key in wanted}


def put_outlines(outlines: Mapping[str, Placement | None]) -> None:
    """Write the times and drives of rounds that still have visits."""
    for key, kept in outlines.items():
        if kept is None:
            continue
        crew, on = key.split(" ")
        Round.objects.filter(crew_id=int(crew), on=on).update(
            leaves_at=kept["leaves"], back_at=kept["back"], drive_minutes=kept["drive"], drive_km=kept["km"]
        )


def drop_empty_rounds() -> None:
    """A round without a visit is no round."""
    Round.objects.filter(visits=None).delete()


def minute_of(at: time) -> int:
    """Minutes after midnight."""
    return at.hour * 60 + at.minute


def time_of(minute: int) -> time:
    """The time of day; past midnight reads as the last minute of the day."""
    return time(min(23, minute // 60), minute % 60 if minute < 1440 else 59)


def clock_words(at: time | None) -> str | None:
    """A time of day as plans keep it: 08:05."""
    return at.strftime("%H:%M") if at else None
