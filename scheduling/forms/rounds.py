"""What is asked before rounds are laid, mended, or a visit is moved."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms


def day_field(label: str, **options: Any) -> forms.DateField:
    """A day, chosen or typed."""
    return forms.DateField(label=label, widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"), **options)


class PlanRoundsForm(forms.Form):
    first_day = day_field("From")
    last_day = day_field("Until")
    seconds = forms.IntegerField(
        label="Seconds to look",
        min_value=2,
        max_value=300,
        initial=20,
        help_text="Longer finds shorter rounds; you may stop it.",
    )

    def clean(self) -> dict[str, Any]:
        wanted: dict[str, Any] = super().clean() or {}
        first, last = wanted.get("first_day"), wanted.get("last_day")
        if first and last and last < first:
            self.add_error("last_day", "This is before the first day; put the later day here.")
        return wanted


class RainDayForm(forms.Form):
    day = day_field("It rains on")


class CrewAwayForm(forms.Form):
    crew = forms.TypedChoiceField(label="Crew away", coerce=int)
    first_day = day_field("From")
    last_day = day_field("Until")
    reason = forms.CharField(label="Why", required=False, max_length=120)

    def __init__(self, *args: Any, crews: Iterable[tuple[int, str]] = (), **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["crew"].choices = list(crews)  # type: ignore[attr-defined] # a choice field has choices


class UrgentForm(forms.Form):
    until = day_field("At the latest", required=False, help_text="Empty: while its window is open.")


class RanOverForm(forms.Form):
    until = forms.TimeField(label="The crew leaves at", widget=forms.TimeInput({"type": "time"}, format="%H:%M"))


class MoveForm(forms.Form):
    crew = forms.TypedChoiceField(label="Crew", coerce=int)
    day = day_field("Day")
    position = forms.IntegerField(
        label="Place in the round", required=False, min_value=1, max_value=60, help_text="Empty: where it costs least."
    )

    def __init__(self, *args: Any, crews: Iterable[tuple[int, str]] = (), **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["crew"].choices = list(crews)  # type: ignore[attr-defined] # a choice field has choices


class AddedVisitForm(forms.Form):
    """A visit that is not asked for yet: what would it cost?"""

    site = forms.TypedChoiceField(label="At", coerce=int)
    minutes = forms.IntegerField(label="Minutes on site", min_value=5, max_value=600, initial=90)
    until = day_field("Within the days until")

    def __init__(self, *args: Any, sites: Iterable[tuple[int, str]] = (), **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["site"].choices = list(sites)  # type: ignore[attr-defined] # a choice field has choices
