"""What is asked about reminders of late invoices and about statements."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from django import forms

from business.forms.days import day_input
from business.models import ReminderHold, ReminderLadder, ReminderStep


class HoldForm(forms.Form):
    kind = forms.ChoiceField(label="How", choices=ReminderHold.Kind.choices)
    reason = forms.CharField(label="Why", max_length=200, error_messages={"required": "Say why no reminder is sent."})
    until = forms.DateField(
        label="Until", widget=day_input(), required=False, help_text="The last day; empty: until it is lifted."
    )


class LadderForm(forms.Form):
    sends_by_itself = forms.BooleanField(
        label="Send each step by itself on its day",
        required=False,
        help_text="On working days only. Off: the page of late invoices shows what is due, and you press the button.",
    )
    from_hour = forms.IntegerField(label="Not before", min_value=0, max_value=23, help_text="Full hour, 0 to 23.")
    until_hour = forms.IntegerField(label="Not from", min_value=1, max_value=24, help_text="Full hour, 1 to 24.")

    @classmethod
    def showing(cls, ladder: ReminderLadder) -> LadderForm:
        return cls(initial={name: getattr(ladder, name) for name in cls.base_fields})


class StepForm(forms.Form):
    name = forms.CharField(label="Name of the step", max_length=60, required=False, help_text="Empty: no such step.")
    days_late = forms.IntegerField(label="Days after the due day", min_value=1, max_value=365, required=False)
    text = forms.CharField(
        label="What it says",
        max_length=4000,
        required=False,
        widget=forms.Textarea({"rows": 3}),
        help_text="{number}, {due}, {open}, {days} and {fee} stand for the invoice’s own.",
    )
    fee = forms.DecimalField(
        label="Fee", min_value=Decimal(0), max_digits=10, decimal_places=3, required=False, help_text="Only if agreed."
    )
    names_interest = forms.BooleanField(label="Names late interest", required=False)
    is_for_a_person = forms.BooleanField(label="Nothing is sent: a person decides", required=False)

    def clean(self) -> dict[str, Any]:
        said = super().clean() or self.cleaned_data
        if said.get("name") and said.get("days_late") is None and "days_late" not in self.errors:
            self.add_error("days_late", "Say how many days after the due day, from 1 to 365.")
        if said.get("name") and not said.get("text") and not said.get("is_for_a_person"):
            self.add_error("text", "Say what the letter says.")
        return said


class StepForms(forms.formset_factory(StepForm, extra=1, max_num=9)):  # type: ignore[misc]  # made while running
    """The steps of the ladder; those without a name are left out."""

    @classmethod
    def showing(cls, steps: Sequence[ReminderStep]) -> StepForms:
        names = StepForm.base_fields
        return cls(prefix="steps", initial=[{name: getattr(step, name) for name in names} for step in steps])

    def steps(self) -> list[dict[str, Any]]:
        return [form.cleaned_data for form in self.forms if form.cleaned_data.get("name")]


class PeriodForm(forms.Form):
    """The period and currency of a statement."""

    since = forms.DateField(label="From", widget=day_input())
    until = forms.DateField(label="Until", widget=day_input())
    currency = forms.ChoiceField(label="In")

    def __init__(self, *args: Any, currencies: Sequence[str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["currency"]
        assert isinstance(field, forms.ChoiceField)  # noqa: S101 - declared so above
        field.choices = [(name, name) for name in currencies]

    def clean(self) -> dict[str, Any]:
        said = super().clean() or self.cleaned_data
        since, until = said.get("since"), said.get("until")
        if isinstance(since, date) and isinstance(until, date) and until < since:
            self.add_error("until", "Choose a day after the first one.")
        return said
