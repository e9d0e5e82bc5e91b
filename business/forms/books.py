"""Which days the accountant's tables are about, and the accounts they book on."""

from __future__ import annotations

from typing import Any, ClassVar

from django import forms

from business.forms.days import day_input
from business.models import LedgerAccount


class PeriodForm(forms.Form):
    first = forms.DateField(label="From", widget=day_input())
    last = forms.DateField(label="Until", widget=day_input(), help_text="What is open is as of the end of this day.")

    def clean(self) -> dict[str, Any]:
        said: dict[str, Any] = super().clean() or self.cleaned_data
        if said.get("first") and said.get("last") and said["last"] < said["first"]:
            self.add_error("last", "The last day lies before the first. Choose a later one.")
        return said


class AccountForm(forms.ModelForm):  # type: ignore[type-arg]  # not a generic class while running
    class Meta:
        model = LedgerAccount
        fields = ("role", "treatment", "percent", "method", "number", "name")
        widgets: ClassVar = {"percent": forms.NumberInput({"step": "any"})}
