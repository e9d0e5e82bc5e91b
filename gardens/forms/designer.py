"""What is asked before a planting is designed."""

from __future__ import annotations

from typing import Any

from django import forms

from business.errors import Refusal
from gardens.services.designer import Wish
from gardens.services.words import FORM_WORDS, species_choices, stock_choices
from gardens.training.state import STARTS
from gardens.units import parse_length_mm


class DesignForm(forms.Form):
    species = forms.ChoiceField(label="Species", choices=species_choices)
    form = forms.ChoiceField(label="Form", choices=sorted(FORM_WORDS.items()))
    rootstock = forms.ChoiceField(label="Rootstock", choices=stock_choices, required=False)
    cultivar = forms.CharField(label="Cultivar", required=False, max_length=80)
    start = forms.ChoiceField(label="Planted as", choices=[(start, start.replace("_", " ")) for start in STARTS])
    planted_on = forms.DateField(label="Planted on", widget=forms.DateInput({"type": "date"}, "%Y-%m-%d"))
    begins = forms.CharField(
        label="From the left end", required=False, max_length=20, help_text="Empty: from the very end."
    )
    run = forms.CharField(label="Along", required=False, max_length=20, help_text="Empty: all the rest.")

    with_support = forms.BooleanField(label="Price the support as well", required=False)

    def _length(self, name: str) -> int:
        raw = str(self.cleaned_data.get(name) or "").strip()
        if not raw:
            return 0
        try:
            return parse_length_mm(raw, default_unit="cm")
        except ValueError as error:
            raise forms.ValidationError(str(error)) from error

    def clean_begins(self) -> int:
        return self._length("begins")

    def clean_run(self) -> int:
        return self._length("run")

    def wish(self) -> Wish:
        said: dict[str, Any] = self.cleaned_data
        return Wish(
            species=said["species"],
            form=said["form"],
            rootstock=said["rootstock"],
            planted_on=said["planted_on"],
            start=said["start"],
            from_mm=said["begins"],
            run_mm=said["run"],
            cultivar=said["cultivar"],
        )

    def take(self, refusal: Refusal) -> None:
        """Show what the designer refused, beside its field where it has one."""
        fields = {"from": "begins", "run": "run", "form": "form", "tree_gap": "run"}
        for fault in refusal.faults:
            self.add_error(fields.get(fault.where.rsplit(", ", 1)[-1]), f"{fault}.")
