"""One act as a phone sends it, read and checked field by field. Fields we do not know are kept, never refused.

{"id": "…uuid…", "schema": 1, "seq": 12, "person": 3, "visit": 17, "kind": "done", "task": 4711,
 "at": "2027-01-12T10:42:07.120+00:00", "offset_s": -1.4, "pack_at": "…", "value": {…}, "job": {…}}
"""

from __future__ import annotations

import hashlib
import json
import math
import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from business.errors import Fault
from scheduling.models import FieldAct, Task

SCHEMAS = (1,)
ANSWERS = (FieldAct.Kind.DONE, FieldAct.Kind.NOT_DONE)
FACTS = (FieldAct.Kind.MEASURED, FieldAct.Kind.SEEN, FieldAct.Kind.NOTE)
CLOSINGS = (FieldAct.Kind.FINISHED, FieldAct.Kind.CALLED_OFF)
LONGEST_TEXT = 2000
LONGEST_BODY = 64 * 1024
LARGEST_WHOLE = 2**31 - 1


@dataclass(frozen=True, kw_only=True)
class SaidAct:
    """An act that could be read. ``job`` is the task as the phone showed it, in case it is gone by now."""

    uid: uuid.UUID
    seq: int
    person: int
    visit: int
    kind: str
    at: datetime
    body: dict[str, Any]
    digest: str
    offset_s: float | None = None
    pack_at: datetime | None = None
    task: int | None = None
    tree: int | None = None
    withdraws: uuid.UUID | None = None
    repairs: uuid.UUID | None = None
    value: Mapping[str, Any] = field(default_factory=dict)
    job: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Unreadable:
    """An act that could not be read; ``uid`` is None where even its name is no good."""

    uid: uuid.UUID | None
    seq: int
    faults: tuple[Fault, ...]
    body: dict[str, Any]
    digest: str


class _Reader:
    """Takes fields out of an act and gathers what is wrong with them."""

    def __init__(self, body: Mapping[str, Any]) -> None:
        self.body = body
        self.faults: list[Fault] = []

    def wrong(self, where: str, wrong: str, remedy: str) -> None:
        self.faults.append(Fault(where, wrong, remedy))

    def whole(self, name: str, *, least: int = 1, is_needed: bool = True) -> int | None:
        value = self.body.get(name)
        if value is None and not is_needed:
            return None
        if not isinstance(value, int) or isinstance(value, bool) or not least <= value <= LARGEST_WHOLE:
            self.wrong(name, f"{value!r} is not a number", f"a whole number from {least}")
            return None
        return value

    def name(self, name: str, *, is_needed: bool = True) -> uuid.UUID | None:
        value = self.body.get(name)
        if value is None and not is_needed:
            return None
        try:
            return uuid.UUID(str(value))
        except ValueError:
            self.wrong(name, f"{value!r} is not an identity", "a random UUID")
            return None

    def moment(self, name: str, *, is_needed: bool = True) -> datetime | None:
        value = self.body.get(name)
        if value is None and not is_needed:
            return None
        try:
            moment = datetime.fromisoformat(str(value))
        except ValueError:
            moment = None
        if moment is None or moment.tzinfo is None or not 2000 <= moment.year <= 2200:
            self.wrong(name, f"{value!r} is not a moment", "write it as 2027-01-12T10:42:07+00:00")
            return None
        return moment

    def seconds(self, name: str) -> float | None:
        value = self.body.get(name)
        if value is None:
            return None
        if not isinstance(value, int | float) or isinstance(value, bool) or not abs(value) < 10**9:
            self.wrong(name, f"{value!r} is not a number of seconds", "seconds, such as -1.4")
            return None
        return float(value)

    def table(self, name: str) -> dict[str, Any]:
        value = self.body.get(name)
        if value is None:
            return {}
        if not isinstance(value, dict):
            self.wrong(name, "is not a table of fields", "names with their values")
            return {}
        return value


def read_act(raw: Any) -> SaidAct | Unreadable:
    """Read one act; whatever is wrong with it is told with what would be right."""
    body = raw if isinstance(raw, dict) else {}
    written = json.dumps(raw, sort_keys=True)
    digest = hashlib.sha256(written.encode()).hexdigest()
    reader = _Reader(body)
    uid, seq = reader.name("id"), reader.whole("seq")
    is_keepable = len(written) <= LONGEST_BODY and "\\u0000" not in written
    if not is_keepable:
        reader.wrong("act", "is longer than 64 kB or holds a letter that is none", "write its note again, shorter")
    if body.get("schema") not in SCHEMAS:
        reader.wrong("schema", f"{body.get('schema')!r} is not known", f"one of {SCHEMAS}")
    kind = body.get("kind")
    if kind not in FieldAct.Kind.values:
        reader.wrong("kind", f"{kind!r} is not known", f"one of {', '.join(FieldAct.Kind.values)}")
    person, visit, at = reader.whole("person"), reader.whole("visit"), reader.moment("at")
    value, job = reader.table("value"), reader.table("job")
    said = {
        "offset_s": reader.seconds("offset_s"),
        "pack_at": reader.moment("pack_at", is_needed=False),
        "task": reader.whole("task", is_needed=kind in ANSWERS),
        "tree": reader.whole("tree", is_needed=kind in (FieldAct.Kind.MEASURED, FieldAct.Kind.SEEN)),
        "withdraws": reader.name("withdraws", is_needed=kind == FieldAct.Kind.WITHDRAWS),
        "repairs": reader.name("repairs", is_needed=False),
    }
    _check_value(reader, str(kind), value)
    if reader.faults or uid is None or seq is None or person is None or visit is None or at is None:
        kept = body if is_keepable else {"id": str(uid)}
        return Unreadable(uid=uid, seq=seq or 0, faults=tuple(reader.faults), body=kept, digest=digest)
    return SaidAct(
        uid=uid,
        seq=seq,
        person=person,
        visit=visit,
        kind=str(kind),
        at=at,
        body=body,
        digest=digest,
        value=value,
        job=job,
        **said,  # type: ignore[arg-type] # the readers above give these types
    )


def _check_value(reader: _Reader, kind: str, value: Mapping[str, Any]) -> None:
    """What each kind of act must say."""
    for name in ("note", "text", "name", "unit", "what", "limb", "words"):
        _check_text(reader, name, value.get(name))
    for name in ("value", "quantity", "minutes"):
        _check_number(reader, name, value.get(name))
    if kind == FieldAct.Kind.NOT_DONE and value.get("reason") not in Task.Reason.values:
        reader.wrong("reason", "a job that was not done needs its reason", f"one of {', '.join(Task.Reason.values)}")
    if kind == FieldAct.Kind.MEASURED and value.get("value") is None:
        reader.wrong("value", "is empty", "what was measured, in mm or degrees")
    if kind in (FieldAct.Kind.NOTE, FieldAct.Kind.EXTRA) and not str(value.get("text") or "").strip():
        reader.wrong("text", "is empty", "say it in a few words")
    if kind == FieldAct.Kind.CALLED_OFF and not str(value.get("reason") or "").strip():
        reader.wrong("reason", "is empty", "say why, such as rain, frost, nobody home")
    if kind == FieldAct.Kind.MATERIAL and not (str(value.get("name") or "").strip() and value.get("quantity")):
        reader.wrong("material", "has no name or quantity", "say what and how much, such as ties, 12")
    if kind == FieldAct.Kind.FINISHED and not 1 <= _number(value.get("minutes"), 1) <= 1440:
        reader.wrong("minutes", f"{value.get('minutes')!r} is not a time on site", "from 1 to 1440 minutes")
    if kind == FieldAct.Kind.PHOTO and not _is_digest(value.get("digest")):
        reader.wrong("digest", "is not the SHA-256 of a picture", "64 hexadecimal digits")


def _check_text(reader: _Reader, name: str, text: object) -> None:
    if text is not None and (not isinstance(text, str) or len(text) > LONGEST_TEXT or "\x00" in text):
        reader.wrong(name, "is not a text we can keep", f"up to {LONGEST_TEXT} letters")


def _check_number(reader: _Reader, name: str, number: object) -> None:
    is_number = isinstance(number, int | float) and not isinstance(number, bool)
    if number is not None and (not is_number or not math.isfinite(_number(number, math.inf))):
        reader.wrong(name, f"{number!r} is not a number", "a number")


def _number(value: object, otherwise: float) -> float:
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else otherwise


def _is_digest(value: object) -> bool:
    return isinstance(value, str) and len(value) == 64 and set(value) <= set("0123456789abcdef")
