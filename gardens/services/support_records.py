"""Facts about supports: measured, seen, done. Rows are added, never changed."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, timedelta

from django.db import transaction

from business import clock
from business.errors import BadInput, Fault
from business.models import Staff
from gardens.models import Record, Support
from gardens.supports.care import BREAKS

WORDS: dict[str, tuple[str, ...]] = {
    "measured": ("sag", "pull", "lean"),
    "seen": ("gale", *BREAKS, "note"),
    "done": ("inspect", "tighten_wires", "straighten_posts", "erect_support"),
}
_PART = re.compile(r"^(whole|wire:[1-9]\d?|post:[1-9]\d?)$")


@dataclass(frozen=True, kw_only=True)
class SupportFact:
    """What somebody measured [mm, N, degrees], saw or did on a support; ``part`` is whole, wire:2 or post:3."""

    on: date
    kind: str
    what: str
    part: str = "whole"
    value: float | None = None
    text: str = ""


@transaction.atomic
def write_support_record(*, support: Support, fact: SupportFact, by: Staff | None) -> Record:
    """Add a fact about a support.

    Raises:
        BadInput: with every fault of the fact.
    """
    _check(support, fact)
    record = Record(
        support=support,
        on=fact.on,
        kind=fact.kind,
        what=fact.what,
        limb=fact.part,
        value=fact.value,
        text=fact.text,
        made_by=by,
        source=Record.Source.OFFICE,
        entered_at=clock.now(),
    )
    record.full_clean(exclude=["made_by"])
    record.save()
    return record


def _check(support: Support, fact: SupportFact) -> None:
    faults = []
    if fact.on > clock.today(support.site.zone) + timedelta(days=1):
        faults.append(Fault("date", f"{fact.on} lies in the future", "records say what was, not what will be"))
    if fact.kind not in WORDS:
        faults.append(Fault("kind", f"{fact.kind!r} is not known", "say measured, seen or done"))
    elif fact.what not in WORDS[fact.kind]:
        faults.append(Fault("what", f"{fact.what!r} is not known", f"use one of {', '.join(WORDS[fact.kind])}"))
    if not _PART.match(fact.part):
        faults.append(Fault("part", f"{fact.part!r} is not a part", "say whole, wire:2 or post:3"))
    elif fact.part.startswith("wire:") and int(fact.part[5:]) > len(support.wire_heights_mm):
        faults.append(Fault("wire", f"there are {len(support.wire_heights_mm)} wires", "count them from below"))
    if fact.kind == "measured" and (fact.value is None or fact.value < 0):
        faults.append(Fault("value", "is missing or below zero", "write what was measured"))
    if faults:
        raise BadInput(faults)
