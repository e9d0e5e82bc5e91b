"""Facts about supports: measured, seen, done. Rows are added, never changed."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, timedelta

from django.db import transaction

from business import clock
from business.errors import BadInput, Fault
from business.models import Staff
from business.services.audit import note
from gardens.models import Record, Support
from gardens.supports.care import BREAKS
from gardens.units import show_length

WORDS: dict[str, tuple[str, ...]] = {
    "measured": ("sag", "pull", "lean"),
    "seen": ("gale", *BREAKS, "note"),
    "done": ("inspect", "tighten_wires", "straighten_posts", "erect_support"),
}
UNITS = {"sag": "mm", "pull": "N", "lean": "°"}
MOST = {"sag": 1000.0, "pull": 500.0, "lean": 45.0}
"""Beyond these a reading is a slip of the pen."""

_PART = re.compile(r"^(whole|wire:[1-9]\d?|post:[1-9]\d?)$")


@dataclass(frozen=True, kw_only=True)
class SupportFact:
    """What somebody measured [mm, N, degrees], saw or did on a support; ``part`` is whole, wire:2 or post:3.

    ``span_mm`` and ``load_n_m``: the span a sag was read in, and what hung on the wire meanwhile.
    """

    on: date
    kind: str
    what: str
    part: str = "whole"
    value: float | None = None
    text: str = ""
    span_mm: int | None = None
    load_n_m: float = 0.0


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
        details=_details(fact),
        made_by=by,
        source=Record.Source.OFFICE,
        entered_at=clock.now(),
    )
    record.full_clean(exclude=["made_by"])
    record.save()
    after = {
        "on": fact.on,
        "kind": fact.kind,
        "what": fact.what,
        "part": fact.part,
        "value": fact.value,
        "text": fact.text,
    }
    note("record added", f"support:{support.pk}", after=after, by=by)
    return record


def _details(fact: SupportFact) -> dict[str, float]:
    said = {"span_mm": fact.span_mm, "load_n_m": fact.load_n_m}
    return {key: value for key, value in said.items() if value}


def faults_of(support: Support, fact: SupportFact) -> list[Fault]:
    """What is wrong with a fact about a support; empty where it can be written down."""
    return [*_faults_of_words(support, fact), *_faults_of_part(support, fact), *_faults_of_value(support, fact)]


def _check(support: Support, fact: SupportFact) -> None:
    if faults := faults_of(support, fact):
        raise BadInput(faults)


def _faults_of_words(support: Support, fact: SupportFact) -> list[Fault]:
    faults = []
    if fact.on > clock.today(support.site.zone) + timedelta(days=1):
        faults.append(Fault("date", f"{fact.on} lies in the future", "records say what was, not what will be"))
    if fact.kind not in WORDS:
        faults.append(Fault("kind", f"{fact.kind!r} is not known", "say measured, seen or done"))
    elif fact.what not in WORDS[fact.kind]:
        faults.append(Fault("what", f"{fact.what!r} is not known", f"use one of {', '.join(WORDS[fact.kind])}"))
    return faults


def _faults_of_part(support: Support, fact: SupportFact) -> list[Fault]:
    wires = len(support.wire_heights_mm)
    if not _PART.match(fact.part):
        return [Fault("part", f"{fact.part!r} is not a part", "say whole, wire:2 or post:3")]
    if fact.part.startswith("wire:") and int(fact.part[5:]) > wires:
        return [Fault("wire", f"there are {wires} wires", "count them from below")]
    if fact.what in ("sag", "pull") and not fact.part.startswith("wire:"):
        return [Fault("part", f"{fact.what} was read on no wire", "name the wire, counted from below")]
    if fact.what == "lean" and not fact.part.startswith("post:"):
        return [Fault("part", "lean was read on no post", "name the post, counted from the left")]
    return []


def _faults_of_value(support: Support, fact: SupportFact) -> list[Fault]:
    faults = []
    if fact.kind == "measured" and (fact.value is None or fact.value < 0):
        faults.append(Fault("value", "is missing or below zero", "write what was measured"))
    elif fact.kind == "measured" and fact.value is not None and fact.value > MOST.get(fact.what, fact.value):
        most, unit = MOST[fact.what], UNITS[fact.what]
        faults.append(Fault("value", f"{fact.value:g} {unit} cannot be", f"give at most {most:g} {unit}"))
    if fact.span_mm is not None and not 200 <= fact.span_mm <= max(200, support.length_mm):
        longest = show_length(support.length_mm)
        faults.append(Fault("span", f"{show_length(max(0, fact.span_mm))} is no span here", f"give 20 cm to {longest}"))
    elif fact.what == "sag" and fact.span_mm and fact.value and fact.value > fact.span_mm / 4:
        faults.append(
            Fault("value", f"{fact.value:g} mm of sag in {show_length(fact.span_mm)}", "check both; that wire is off")
        )
    if fact.load_n_m < 0:
        faults.append(Fault("load", f"{fact.load_n_m:g} N/m", "give what hung on the wire, or nothing"))
    return faults
