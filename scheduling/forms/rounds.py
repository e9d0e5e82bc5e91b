"""What is asked before rounds are laid."""

from __future__ import annotations

from typing import Any

from django import forms


class PlanRoundsForm(forms.Form):
    first_day = forms.DateField(label="From", widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"))
    last_day = forms.DateField(label="Until", widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"))
    seconds = forms.IntegerField(
        label="Seconds to look", min_value=1, max_value=60, initial=8, help_text="Longer finds shorter rounds."
    )

    def clean(self) -> dict[str, Any]:
        wanted: dict[str, Any] = super().clean() or {}
        first, last = wanted.get("first_day"), wanted.get("last_day")
        if first and last and last < first:
            self.add_error("last_day", "This is before the first day; put the later day here.")
        return wanted
