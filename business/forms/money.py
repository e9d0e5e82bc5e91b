"""What is asked about prices, invoices and payments."""

from __future__ import annotations

import uuid
from decimal import Decimal
from typing import Any

from django import forms

from business.forms.days import day_input
from business.models import Invoice, Payment
from business.models.prices import LateInterestRate, TaxTreatment, Unit


def new_key() -> str:
    """Made with the form, so that the same form sent twice counts once."""
    return uuid.uuid4().hex


class KeyedForm(forms.Form):
    key = forms.CharField(widget=forms.HiddenInput, initial=new_key, max_length=40)


class GatherForm(forms.Form):
    until = forms.DateField(label="Work done until", widget=day_input())


class WriteOffForm(forms.Form):
    reason = forms.CharField(label="Why it is given up", max_length=200)


class SplitForm(forms.Form):
    first_amount = forms.DecimalField(label="First part", max_digits=12, decimal_places=3)


class IssueForm(forms.Form):
    issued_on = forms.DateField(label="Date on the invoice", widget=day_input())
    mails = forms.BooleanField(label="Mail it at once", required=False)
    uses_advance = forms.BooleanField(
        label="Take off what they paid in advance", required=False, help_text="The paper says so and asks for the rest."
    )


class GiveUpForm(KeyedForm):
    reason = forms.CharField(label="Why it is given up", max_length=200)
    on = forms.DateField(label="Day in the books", widget=day_input())


class LineForm(KeyedForm):
    text = forms.CharField(label="What was done", max_length=300)
    done_on = forms.DateField(label="On", widget=day_input())
    quantity = forms.DecimalField(
        label="How much", min_value=Decimal("0.00001"), max_digits=13, decimal_places=5, initial=1
    )
    unit = forms.ChoiceField(label="Of", choices=Unit.choices, initial=Unit.LUMP)
    unit_price = forms.DecimalField(label="Price each", max_digits=12, decimal_places=3)
    tax_treatment = forms.ChoiceField(label="Tax", choices=TaxTreatment.choices, initial=TaxTreatment.STANDARD)


class MergeForm(forms.Form):
    text = forms.CharField(label="Words of the new line", max_length=300)
    lines = forms.MultipleChoiceField(label="Lines", widget=forms.CheckboxSelectMultiple)

    def __init__(self, *args: Any, draft: Invoice, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["lines"]
        if isinstance(field, forms.MultipleChoiceField):
            field.choices = [(str(line.pk), line.text) for line in draft.lines.all()]


class NoteForm(forms.Form):
    note = forms.CharField(
        label="A sentence to the client", required=False, max_length=2000, widget=forms.Textarea({"rows": 2})
    )


class PaymentForm(KeyedForm):
    received_on = forms.DateField(label="Day", widget=day_input())
    amount = forms.DecimalField(label="Amount", min_value=Decimal("0.001"), max_digits=14, decimal_places=3)
    method = forms.ChoiceField(label="How", choices=Payment.Method.choices)
    reference = forms.CharField(
        label="Reference", max_length=120, required=False, help_text="As on the bank statement."
    )
    note = forms.CharField(label="Note", max_length=200, required=False)


class RefundForm(KeyedForm):
    paid_on = forms.DateField(label="Day", widget=day_input())
    amount = forms.DecimalField(label="Amount", min_value=Decimal("0.001"), max_digits=14, decimal_places=3)
    method = forms.ChoiceField(label="How", choices=Payment.Method.choices)
    note = forms.CharField(label="Note", max_length=200, required=False)


class CreditForm(forms.Form):
    """Why, and how much of each line; all boxes empty takes back all that is left."""

    reason = forms.CharField(label="Reason", max_length=200)
    credited_on = forms.DateField(label="Date on the credit note", widget=day_input())
    charge_again = forms.BooleanField(
        label="Charge it again",
        required=False,
        help_text="The work of lines taken back whole waits for a better invoice.",
    )

    def __init__(self, *args: Any, invoice: Invoice, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.line_ids = []
        for line in invoice.lines.all():
            self.line_ids.append(line.pk)
            self.fields[f"line_{line.pk}"] = forms.DecimalField(
                label=line.text, max_digits=14, decimal_places=3, required=False
            )

    def amounts(self) -> dict[int, Decimal] | None:
        """By line, or None for everything that is left."""
        said = {pk: self.cleaned_data[f"line_{pk}"] for pk in self.line_ids}
        given = {pk: amount for pk, amount in said.items() if amount is not None}
        return given or None

    def line_fields(self) -> list[forms.BoundField]:
        return [self[f"line_{pk}"] for pk in self.line_ids]


class PriceListForm(forms.Form):
    name = forms.CharField(label="Name of the list", max_length=80)
    is_standard = forms.BooleanField(label="The standard list", required=False)


class PriceForm(forms.Form):
    code = forms.SlugField(
        label="Code", max_length=60, help_text="Stays the same over the years. The program looks for hour and travel."
    )
    text = forms.CharField(label="What", max_length=160)
    unit = forms.ChoiceField(label="For each", choices=Unit.choices)
    net_price = forms.DecimalField(label="Net price", min_value=0, max_digits=12, decimal_places=3)
    valid_from = forms.DateField(label="From", widget=day_input())
    tax_treatment = forms.ChoiceField(label="Tax", choices=TaxTreatment.choices, initial=TaxTreatment.STANDARD)
    kind_of_work = forms.CharField(
        label="Only for the work", max_length=24, required=False, help_text="Like winter_prune; empty: for any."
    )


class TaxRateForm(forms.Form):
    treatment = forms.ChoiceField(
        label="Rate", choices=[(t.value, t.label) for t in (TaxTreatment.STANDARD, TaxTreatment.REDUCED)]
    )
    percent = forms.DecimalField(label="Percent", min_value=0, max_value=100, decimal_places=3)
    valid_from = forms.DateField(label="From", widget=day_input())
    source = forms.CharField(label="Where it is published", max_length=160, required=False)


class LateRateForm(forms.Form):
    regime = forms.ChoiceField(label="By the law of", choices=LateInterestRate.Regime.choices)
    percent = forms.DecimalField(
        label="Percent a year", min_value=0, max_value=100, decimal_places=3, help_text="With the 8 points on top."
    )
    valid_from = forms.DateField(label="From", widget=day_input(), help_text="1 January or 1 July.")
    source = forms.CharField(label="Where it is published", max_length=160)
