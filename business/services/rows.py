"""Check a row before it is written, and say what is wrong in words of the page."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.db import IntegrityError, transaction
from django.db.models import Model

from business.errors import BadInput, Fault


def save_checked(row: Model, *, where: str = "", only: Iterable[str] | None = None) -> None:
    """Save a row that keeps every law of its table.

    The table itself judges its laws when the row is written. Asking it law by law beforehand (``full_clean``) costs a
    query for each and is done only to find the words once something is wrong.

    Args:
        where: how the faults name the place; the model's own name if empty.
        only: the columns changed; all if None.

    Raises:
        BadInput: a law is broken; nothing was written.
    """
    try:
        row.clean_fields()
        row.clean()
    except ValidationError as error:
        raise BadInput(_all_faults(row, where) or faults_of(row, error, where=where)) from error
    try:
        with transaction.atomic():
            row.save(update_fields=None if only is None else list(only))
    except IntegrityError as error:
        if faults := _all_faults(row, where):
            raise BadInput(faults) from error
        raise


def _all_faults(row: Model, where: str) -> list[Fault]:
    try:
        row.full_clean()
    except ValidationError as error:
        return faults_of(row, error, where=where)
    return []


def faults_of(row: Model, error: ValidationError, *, where: str = "") -> list[Fault]:
    """Validation errors as faults: one for each sentence, named after the field's label."""
    place = where or str(row._meta.verbose_name)
    found: Mapping[str, Iterable[str]] = (
        error.message_dict if hasattr(error, "error_dict") else {NON_FIELD_ERRORS: error.messages}
    )
    return [
        Fault(_place(row, place, column), _in_words(sentence), _remedy(row, column))
        for column, sentences in found.items()
        for sentence in sentences
    ]


def put_values(row: Model, values: Mapping[str, Any]) -> list[str]:
    """Set the columns that differ; their names come back."""
    changed = [name for name, value in values.items() if row.pk is None or getattr(row, name) != value]
    for name in changed:
        setattr(row, name, values[name])
    return changed


def _in_words(sentence: str) -> str:
    """A law of the table speaks by its name: agreement_ends_after_it_begins."""
    law = re.fullmatch(r"Constraint .(\w+). is violated\.", sentence)
    return f"breaks the rule “{law[1].replace('_', ' ')}”" if law else sentence.rstrip(".")


def _place(row: Model, place: str, column: str) -> str:
    return place if column == NON_FIELD_ERRORS else f"{place}, {_label(row, column)}"


def _label(row: Model, column: str) -> str:
    return str(getattr(row._meta.get_field(column), "verbose_name", column))


def _remedy(row: Model, column: str) -> str:
    return "change one of the values" if column == NON_FIELD_ERRORS else f"correct the {_label(row, column)}"
