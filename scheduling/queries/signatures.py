"""What the client said at the end of a visit: signed, or nobody was home."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from scheduling.models import FieldAct

WIDE, HIGH = 600, 200
"""The field to sign in, as the phone counts."""
MOST_POINTS = 2000


@dataclass(frozen=True, kw_only=True)
class Signature:
    """``strokes``: lines of points in a field of 600 by 200; may be empty where a name was typed."""

    name: str
    strokes: Sequence[Sequence[tuple[int, int]]]
    at: datetime


@dataclass(frozen=True, kw_only=True)
class Farewell:
    """How the visit ended for the client. Neither signed nor away: nothing was said."""

    signature: Signature | None = None
    nobody_home: bool = False


def farewell_of(visit_id: int) -> Farewell:
    """The last word on it that was not taken back."""
    kinds = [FieldAct.Kind.SIGNED, FieldAct.Kind.NOBODY_HOME]
    gone = FieldAct.objects.filter(visit=visit_id, withdraws__isnull=False).values("withdraws")
    said = FieldAct.objects.filter(visit=visit_id, kind__in=kinds, result=FieldAct.Result.ACCEPTED)
    last = said.exclude(uid__in=gone).order_by("-happened_at", "-pk").first()
    if last is None:
        return Farewell()
    if last.kind == FieldAct.Kind.NOBODY_HOME:
        return Farewell(nobody_home=True)
    value = last.body.get("value") if isinstance(last.body, dict) else None
    value = value if isinstance(value, dict) else {}
    name = str(value.get("name") or "").strip()[:120]
    return Farewell(signature=Signature(name=name, strokes=strokes_in(value.get("strokes")), at=last.happened_at))


def strokes_in(said: Any) -> list[list[tuple[int, int]]]:
    """Only points inside the field; whatever else a phone may have sent is left out."""
    strokes, points = [], 0
    for stroke in said if isinstance(said, list) else []:
        line = (
            [(round(point[0]), round(point[1])) for point in stroke if _is_point(point)]
            if isinstance(stroke, list)
            else []
        )
        if len(line) > 1 and points + len(line) <= MOST_POINTS:
            strokes.append(line)
            points += len(line)
    return strokes


def _is_point(point: Any) -> bool:
    return (
        isinstance(point, list | tuple)
        and len(point) == 2
        and all(isinstance(place, int | float) and not isinstance(place, bool) for place in point)
        and 0 <= point[0] <= WIDE
        and 0 <= point[1] <= HIGH
    )
