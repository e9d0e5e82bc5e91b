"""How this business trains: the one door to it for everything that reads, steps or forecasts a tree on rows."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from django.db import IntegrityError, transaction

from business import clock
from business.errors import AlreadyDone, BadInput, Fault, NotAllowed, Refusal, Stale
from business.models import Staff
from business.services.audit import note
from gardens.models import HousePractice
from gardens.queries.practice import kept_practice
from gardens.training import FORM_ONLY, TrainingPractice, choices_of, practice_of

REFERENCE = "practice:1"
LONGEST_REASON = HousePractice._meta.get_field("reason").max_length or 300
KEPT_PRACTICES = 8


@dataclass(frozen=True, kw_only=True)
class OurPractice:
    """The practice we work by. ``chosen`` differs from the usual; ``unfit`` are kept choices that no longer fit."""

    practice: TrainingPractice
    chosen: Mapping[str, Any] = field(default_factory=dict)
    unfit: tuple[Fault, ...] = ()


def our_practice() -> TrainingPractice:
    """How we train: the form's steps alone, for the species rules care for the side wood. One query."""
    return read_practice_row(kept_practice()).practice


def read_practice_row(row: HousePractice | None) -> OurPractice:
    """What a kept row says."""
    return _read(json.dumps(row.choices if row is not None else {}, sort_keys=True))


@lru_cache(maxsize=KEPT_PRACTICES)
def _read(kept: str) -> OurPractice:
    """The same words give the same practice, so that what was reckoned with it is found again."""
    chosen: dict[str, Any] = json.loads(kept)
    try:
        return OurPractice(practice=practice_of(chosen, FORM_ONLY), chosen=chosen)
    except BadInput as refusal:
        # A newer version may know a choice no longer; the others go on working.
        wrong = {fault.where for fault in refusal.faults}
        fitting = {name: value for name, value in chosen.items() if name not in wrong}
        practice = practice_of(fitting, FORM_ONLY)
        return OurPractice(practice=practice, chosen=fitting, unfit=tuple(refusal.faults))


@transaction.atomic
def keep_practice(*, choices: Mapping[str, Any], by: Staff, reason: str = "", seen: int | None = None) -> HousePractice:
    """Train otherwise from now on. What is not given, or given as None, is as usual.

    Args:
        choices: choice → value, as `gardens.training.practice_of` takes them.
        reason: why we do it so.
        seen: the revision the person had before them; 0 where none was kept. None looks at none.

    Raises:
        NotAllowed: the person is not of the office.
        Stale: somebody changed the practice meanwhile.
        BadInput: choices that cannot be, each named; or nothing was changed.
    """
    _must_be_office(by)
    row = HousePractice.objects.select_for_update().filter(pk=1).first()
    if seen is not None and seen != (row.revision if row is not None else 0):
        raise _stale()
    if len(reason.strip()) > LONGEST_REASON:
        raise BadInput([Fault("reason", f"has {len(reason.strip())} signs", f"use at most {LONGEST_REASON}")])
    chosen = choices_of(practice_of(choices))
    before = row.choices if row is not None else {}
    if chosen == before and reason.strip() == (row.reason if row is not None else ""):
        raise BadInput([Fault("practice", "nothing was changed", "change a choice, or leave it as it is")])
    return _write(row, chosen, reason.strip(), by)


@transaction.atomic
def train_as_usual(*, by: Staff) -> HousePractice:
    """Go back to the usual practice in everything.

    Raises:
        NotAllowed: the person is not of the office.
        AlreadyDone: everything is as usual.
    """
    _must_be_office(by)
    row = HousePractice.objects.select_for_update().filter(pk=1).first()
    if row is None or not row.choices:
        raise AlreadyDone([Fault("practice", "is the usual one already", "look at it again")])
    return _write(row, {}, "", by)


def _write(row: HousePractice | None, chosen: dict[str, Any], reason: str, by: Staff) -> HousePractice:
    before = {**row.choices, "reason": row.reason} if row is not None else {"reason": ""}
    if row is None:
        kept = HousePractice(pk=1, choices=chosen, reason=reason, changed_by=by, changed_at=clock.now())
        try:
            with transaction.atomic():
                kept.save(force_insert=True)
        except IntegrityError as error:
            raise _stale() from error
    else:
        kept = row
        kept.choices, kept.reason, kept.changed_by, kept.changed_at = chosen, reason, by, clock.now()
        kept.revision += 1
        kept.save()
    note("way of training changed", REFERENCE, before=before, after={**chosen, "reason": reason}, by=by)
    return kept


def _must_be_office(by: Staff) -> None:
    if not by.is_office:
        raise NotAllowed([Fault("practice", "is changed by the office", "ask the office")])


def _stale() -> Refusal:
    return Stale([Fault("practice", "was changed by somebody else meanwhile", "look at it again, then change it")])
