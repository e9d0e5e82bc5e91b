"""Write down on each visit what a plan did to it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from business.models import Staff
from business.services.audit import keep_notes, unsaved_note


def note_moves(
    act: str, before: Mapping[str, Mapping[str, Any]], after: Mapping[str, Mapping[str, Any]], by: Staff | None = None
) -> int:
    """One note for each visit that a plan put elsewhere, all in one statement; how many comes back."""
    notes = [
        made
        for key in after
        if (made := unsaved_note(act, f"visit:{key}", before=before.get(key), after=after[key], by=by)) is not None
    ]
    keep_notes(notes)
    return len(notes)
