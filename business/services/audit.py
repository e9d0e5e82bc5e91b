"""Write down who changed what, beside the change and in its transaction.

Who acts is known at the edge (a page, the client's door, a job) and wanted deep inside; it travels in a context
variable, so that no service needs one more argument for it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from typing import Any

from django.db.models import Model

from business import clock
from business.models import ChangeNote, Staff


@dataclass(frozen=True)
class Actor:
    """Somebody who works here, or in words whoever else acts."""

    words: str = "the program"
    staff: Staff | None = None


Finder = Callable[[], Actor]
_acting: ContextVar[Finder] = ContextVar("who acts", default=Actor)


@contextmanager
def acting_as(find: Finder) -> Iterator[None]:
    """Whoever ``find`` names is behind all that is done inside. It is asked only when something is written down."""
    token = _acting.set(find)
    try:
        yield
    finally:
        _acting.reset(token)


def note(
    act: str,
    reference: str,
    *,
    before: Mapping[str, Any] | None = None,
    after: Mapping[str, Any] | None = None,
    has_money: bool = False,
    by: Staff | None = None,
) -> ChangeNote | None:
    """Keep a note of an act; None where it changed nothing.

    Args:
        reference: what it was done to, like "visit:17".
        before, after: values by name; those that are equal on both sides are left out.
        has_money: the values name prices.
        by: who did it, if the caller knows better than the edge.
    """
    made = unsaved_note(act, reference, before=before, after=after, has_money=has_money, by=by)
    if made is not None:
        made.save()
    return made


def unsaved_note(
    act: str,
    reference: str,
    *,
    before: Mapping[str, Any] | None = None,
    after: Mapping[str, Any] | None = None,
    has_money: bool = False,
    by: Staff | None = None,
) -> ChangeNote | None:
    """The row alone, for acts on many things at once: gather them, then ``keep_notes``."""
    was, now = dict(before or {}), dict(after or {})
    same = {name for name in was.keys() & now.keys() if was[name] == now[name]}
    if (was or now) and same == was.keys() | now.keys():
        return None
    actor = Actor(words=by.name, staff=by) if by is not None else _acting.get()()
    return ChangeNote(
        made_at=clock.now(),
        made_by=actor.staff,
        by_words=actor.words[:120],
        act=act,
        reference=reference,
        before={name: value for name, value in was.items() if name not in same},
        after={name: value for name, value in now.items() if name not in same},
        has_money=has_money,
    )


def keep_notes(notes: list[ChangeNote]) -> None:
    ChangeNote.objects.bulk_create(notes, batch_size=500)


UNTOLD = frozenset({"id", "revision", "changed_at", "created_at", "search_text", "password", "last_login"})
"""Columns that change by themselves, and what must never be written a second time."""


def values_of(row: Model) -> dict[str, Any]:
    """The columns of a row by name, as a note compares them."""
    return {
        field.attname: field.value_from_object(row)
        for field in row._meta.concrete_fields
        if field.attname not in UNTOLD
    }
