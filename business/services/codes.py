"""Short codes made of names, and versions of rows that carry no revision of their own."""

from __future__ import annotations

import hashlib
from collections.abc import Collection

from django.db.models import Model
from django.utils.text import slugify

from business.errors import BadInput, Fault
from business.services.audit import values_of


def chosen_code(said: str, kept: str, name: str, taken: Collection[str], *, longest: int) -> str:
    """The code that was written, else the one it has, else a free one made of the name.

    Raises:
        BadInput: the code that was written is taken.
    """
    if said:
        if said in taken:
            raise BadInput([Fault("code", f"the code {said} is taken", "choose another, or leave the box empty")])
        return said
    if kept:
        return kept
    stem = slugify(name)[: longest - 4] or "new"
    number, code = 1, stem
    while code in taken:
        number += 1
        code = f"{stem}-{number}"
    return code


def version_of_row(row: Model, *more: object) -> str:
    """Differs after every change of a column, and of whatever else is told with it."""
    told = "|".join(f"{name}={value}" for name, value in sorted(values_of(row).items()))
    return hashlib.sha256(f"{told}|{more}".encode()).hexdigest()[:24]
