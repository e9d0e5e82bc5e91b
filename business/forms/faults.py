"""Show what a service refused beside the field it is about, with everything typed kept."""

from __future__ import annotations

from django.forms.forms import BaseForm

from business.errors import Refusal


def take(form: BaseForm, refusal: Refusal) -> None:
    """Each fault goes to the field its place names last ("client, email"); the others to the top of the form."""
    fields = {_folded(str(bound.label)): bound.name for bound in form} | {_folded(name): name for name in form.fields}
    for fault in refusal.faults:
        place = fault.where.rpartition(",")[2]
        name = fields.get(_folded(place))
        words = f"{fault.wrong}: {fault.remedy}." if name else f"{fault}."
        form.add_error(name, words[:1].upper() + words[1:])


def _folded(words: str) -> str:
    return " ".join(words.replace("_", " ").split()).casefold()
