"""Writing a fact down on the page."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms

from business.errors import Refusal
from gardens.climate.values import STAGES
from gardens.services.record_words import LENGTHS, MEASURED_WORDS, SEEN_WORDS
from gardens.services.records import WORDS, Fact
from gardens.services.words import limb_words
from gardens.services.work_words import WORK_WORDS
from gardens.units import parse_length_mm

CHOICES = [
    ("Measured", [(f"measured:{what}", MEASURED_WORDS[what]) for what in WORDS["measured"]]),
    ("Seen", [(f"seen:{what}", SEEN_WORDS[what]) for what in WORDS["seen"]]),
    ("Done", [(f"done:{what}", WORK_WORDS[what]) for what in WORDS["done"]]),
]


class RecordForm(forms.Form):
    on = forms.DateField(label="Day", widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"))
    what = forms.ChoiceField(label="What", choices=CHOICES)
    limb = forms.ChoiceField(label="Limb", required=False, help_text="Or tap it in the drawing.")
    value = forms.CharField(
        label="Value", required=False, max_length=20, help_text="95 cm, 3 ft 1, a count, degrees or kg"
    )
    text = forms.CharField(
        label="Words", required=False, max_length=500, help_text=f"A note; for a stage one of {', '.join(STAGES)}"
    )

    def __init__(self, *args: Any, limbs: Sequence[str] = (), **kwargs: Any) -> None:
        """``limbs`` are the keys of the tree's own limbs; the whole tree, its trunk and its leader are always there."""
        super().__init__(*args, **kwargs)
        field = self.fields["limb"]
        if isinstance(field, forms.ChoiceField):
            keys = dict.fromkeys(["whole", "trunk", "leader", *limbs])
            field.choices = [(key, limb_words(key)) for key in keys]

    def clean_value(self) -> float | None:
        raw = str(self.cleaned_data.get("value") or "").strip()
        if not raw:
            return None
        what = str(self.data.get("what", "")).partition(":")[2]
        try:
            if what in LENGTHS:
                return float(parse_length_mm(raw, default_unit="cm"))
            return float(raw.replace(",", "."))
        except ValueError as error:
            wanted = str(error) if what in LENGTHS else f"{raw!r} is not a number; write it as 12 or 12.5"
            raise forms.ValidationError(wanted) from error

    def fact(self) -> Fact:
        said: dict[str, Any] = self.cleaned_data
        kind, _, what = said["what"].partition(":")
        return Fact(
            on=said["on"], kind=kind, what=what, limb=said["limb"] or "whole", value=said["value"], text=said["text"]
        )

    def take(self, refusal: Refusal) -> None:
        """Show what a service refused beside its field."""
        fields = {"date": "on", "value": "value", "text": "text", "limb": "limb", "what": "what", "kind": "what"}
        for fault in refusal.faults:
            self.add_error(fields.get(fault.where), f"{fault.wrong}: {fault.remedy}.")
