"""What is asked about an offer."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from django import forms

from business.forms.days import day_input
from business.models import Quote, QuoteLine
from business.models.prices import TaxTreatment, Unit
from business.services.quotes import DAYS_VALID, Offered


class OfferForm(forms.Form):
    title = forms.CharField(
        label="What it is about", max_length=160, help_text="Like: Espalier of six pears on the south wall."
    )
    place = forms.CharField(label="Where", max_length=160, required=False)
    valid_until = forms.DateField(label="Valid until", widget=day_input())
    words = forms.CharField(label="What we would do", required=False, widget=forms.Textarea({"rows": 5}))
    not_included = forms.CharField(label="What is not included", required=False, widget=forms.Textarea({"rows": 3}))

    @staticmethod
    def beginning(today: date) -> dict[str, Any]:
        return {"valid_until": today + timedelta(days=DAYS_VALID)}

    @classmethod
    def showing(cls, quote: Quote) -> OfferForm:
        return cls(initial={name: getattr(quote, name) for name in cls.base_fields})


class OfferLineForm(forms.Form):
    text = forms.CharField(label="What", max_length=300, required=False)
    quantity = forms.DecimalField(
        label="How much", min_value=Decimal("0.00001"), max_digits=13, decimal_places=5, required=False
    )
    unit = forms.ChoiceField(label="Of", choices=Unit.choices, initial=Unit.LUMP, required=False)
    unit_price = forms.DecimalField(label="Price each", max_digits=12, decimal_places=3, required=False)
    tax_treatment = forms.ChoiceField(
        label="Tax", choices=TaxTreatment.choices, initial=TaxTreatment.STANDARD, required=False
    )

    def clean(self) -> dict[str, Any]:
        said = super().clean() or self.cleaned_data
        if said.get("text") and said.get("unit_price") is None and "unit_price" not in self.errors:
            self.add_error("unit_price", "Give the price.")
        if said.get("unit_price") is not None and not said.get("text"):
            self.add_error("text", "Say what it is for.")
        return said


class OfferLines(forms.formset_factory(OfferLineForm, extra=3, max_num=60)):  # type: ignore[misc]  # made while running
    """The lines of an offer; empty ones are left out."""

    @classmethod
    def showing(cls, quote: Quote) -> OfferLines:
        return cls(prefix="lines", initial=[_asked_again(line) for line in quote.lines.all()])

    def offered(self) -> list[Offered]:
        said = [form.cleaned_data for form in self.forms if form.cleaned_data.get("text")]
        return [
            Offered(
                text=row["text"],
                unit_price=row["unit_price"],
                quantity=row["quantity"] or Decimal(1),
                unit=row["unit"] or "lump",
                tax_treatment=row["tax_treatment"] or "standard",
            )
            for row in said
        ]


def _asked_again(line: QuoteLine) -> dict[str, Any]:
    """A line as it is shown to be changed; a price nobody knows is asked for, not shown as nothing."""
    values = {name: getattr(line, name) for name in OfferLineForm.base_fields}
    values["quantity"] = f"{line.quantity.normalize():f}"
    return values | ({"unit_price": None} if line.is_unpriced else {})


class AnswerForm(forms.Form):
    accepts = forms.TypedChoiceField(
        label="Answer",
        choices=[("yes", "Yes, please do it"), ("no", "No, thank you")],
        coerce=lambda value: value == "yes",
        widget=forms.RadioSelect,
    )
    name = forms.CharField(label="Name of whoever answers", max_length=120)
    words = forms.CharField(
        label="Anything to add", max_length=2000, required=False, widget=forms.Textarea({"rows": 3})
    )


class DoneForm(forms.Form):
    done_on = forms.DateField(label="Done on", widget=day_input())
