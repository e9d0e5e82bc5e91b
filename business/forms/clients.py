"""What is asked about a client."""

from __future__ import annotations

from typing import Any

from django import forms

from business.forms.days import day_input
from business.models import Agreement, Client, Contact, EInvoice, PriceList
from business.models.profile import Paper, Units

OURS = [("", "As the business does")]


class ClientForm(forms.Form):
    """A client. Kept apart from the row so that the service alone writes it."""

    name = forms.CharField(label="Name", max_length=160)
    code = forms.CharField(
        label="Client number", max_length=24, required=False, help_text="Left empty, the next free number is given."
    )
    kind = forms.ChoiceField(label="Kind", choices=Client.Kind.choices, initial="person", required=False)
    greeting = forms.CharField(label="Greeting", max_length=120, required=False, help_text="Like Dear Mrs Hale.")
    address = forms.CharField(
        label="Billing address",
        required=False,
        widget=forms.Textarea({"rows": 4, "autocomplete": "off"}),
        help_text="Line by line, as on an envelope.",
    )
    country = forms.CharField(
        label="Country", max_length=2, required=False, help_text="Two letters like GB. Left empty: our own country."
    )
    email = forms.EmailField(label="Email", required=False)
    phone = forms.CharField(label="Phone", max_length=32, required=False)
    tax_number = forms.CharField(label="Tax number", max_length=32, required=False)
    language = forms.CharField(label="Language", max_length=12, required=False, help_text="Like en, de, fr.")
    units = forms.ChoiceField(label="Lengths", choices=[*OURS, *Units.choices], required=False)
    paper = forms.ChoiceField(label="Size of paper", choices=[*OURS, *Paper.choices], required=False)
    e_invoice = forms.ChoiceField(label="Electronic invoice", choices=[*OURS, *EInvoice.choices], required=False)
    buyer_reference = forms.CharField(
        label="Their reference",
        max_length=80,
        required=False,
        help_text="What they want to read on invoices to route them.",
    )
    legal_number = forms.CharField(
        label="Company number", max_length=40, required=False, help_text="As entered in the register of companies."
    )
    legal_register = forms.CharField(
        label="Code of that register",
        max_length=4,
        required=False,
        help_text="Four digits of ISO/IEC 6523, if it has any.",
    )
    electronic_address = forms.CharField(
        label="Address for e-invoices",
        max_length=120,
        required=False,
        help_text="Left empty, the mail address is given.",
    )
    electronic_kind = forms.CharField(
        label="Kind of that address",
        max_length=4,
        required=False,
        help_text="Code of the EAS list, like 0088 for a GLN, EM for mail.",
    )
    stopped_kinds = forms.MultipleChoiceField(
        label="Does not want",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        choices=[("reminder", "Reminders"), ("season_letter", "Season letters"), ("visit_report", "Visit reports")],
    )
    notes = forms.CharField(label="Notes for the office", required=False, widget=forms.Textarea({"rows": 3}))
    is_active = forms.BooleanField(label="Still a client", required=False, initial=True)
    seen = forms.CharField(required=False, widget=forms.HiddenInput)

    @classmethod
    def showing(cls, client: Client, *, seen: str) -> ClientForm:
        columns = [name for name in cls.base_fields if name != "seen"]
        return cls(initial={**{name: getattr(client, name) for name in columns}, "seen": seen})

    def clean_kind(self) -> str:
        return self.cleaned_data["kind"] or "person"

    def clean_country(self) -> str:
        return str(self.cleaned_data["country"]).upper()

    def values(self) -> dict[str, Any]:
        return {name: value for name, value in self.cleaned_data.items() if name != "seen"}


class ContactForm(forms.Form):
    name = forms.CharField(label="Name", max_length=120, required=False)
    role = forms.CharField(label="Role", max_length=80, required=False)
    email = forms.EmailField(label="Email", required=False)
    phone = forms.CharField(label="Phone", max_length=32, required=False)
    gets_visit_mail = forms.BooleanField(label="Gets mail about visits", required=False)
    gets_invoice_mail = forms.BooleanField(label="Gets invoices", required=False)

    @staticmethod
    def initial_of(contact: Contact) -> dict[str, Any]:
        return {name: getattr(contact, name) for name in ContactForm.base_fields}


ContactForms = forms.formset_factory(ContactForm, extra=2, max_num=20)


# What an empty box stands for in a column that always holds a value.
EMPTY_IS = {
    "instalments": 1,
    "rounding_minutes": 15,
    "minimum_charge": 0,
    "travel_price": 0,
    "materials_markup_percent": 0,
    "discount_percent": 0,
}


class AgreementForm(forms.Form):
    """How a client is charged. Amounts in the business's currency."""

    basis = forms.ChoiceField(label="Charged", choices=Agreement.Basis.choices)
    valid_from = forms.DateField(label="From", widget=day_input())
    valid_until = forms.DateField(
        label="Last day",
        required=False,
        widget=day_input(),
        help_text="Empty: until further notice.",
    )
    hour_price = forms.DecimalField(
        label="Hour price",
        min_value=0,
        max_digits=10,
        decimal_places=3,
        required=False,
        help_text="Empty: as in the prices.",
    )
    visit_price = forms.DecimalField(label="Visit price", min_value=0, max_digits=10, decimal_places=3, required=False)
    tree_price = forms.DecimalField(label="Tree price", min_value=0, max_digits=10, decimal_places=3, required=False)
    season_price = forms.DecimalField(
        label="Season price", min_value=0, max_digits=10, decimal_places=3, required=False
    )
    instalments = forms.IntegerField(
        label="Instalments",
        min_value=1,
        max_value=12,
        initial=1,
        required=False,
        help_text="Of the season price, monthly.",
    )
    visits_a_year = forms.IntegerField(label="Most visits a year", min_value=0, max_value=366, required=False)
    price_list = forms.ModelChoiceField(
        label="Price list", queryset=PriceList.objects.none(), required=False, empty_label="The standard one"
    )
    rounding_minutes = forms.IntegerField(
        label="Hours are rounded up to", min_value=1, max_value=60, initial=15, required=False, help_text="Minutes."
    )
    minimum_charge = forms.DecimalField(
        label="Minimum charge", min_value=0, initial=0, decimal_places=3, required=False
    )
    travel_price = forms.DecimalField(
        label="Travel, each visit", min_value=0, initial=0, decimal_places=3, required=False
    )
    materials_markup_percent = forms.DecimalField(
        label="On top of materials",
        min_value=0,
        max_value=500,
        initial=0,
        decimal_places=2,
        required=False,
        help_text="Percent.",
    )
    discount_percent = forms.DecimalField(
        label="Discount", min_value=0, max_value=100, initial=0, decimal_places=2, required=False, help_text="Percent."
    )
    tax_treatment = forms.ChoiceField(label="Tax", choices=Agreement._meta.get_field("tax_treatment").choices or [])
    payment_terms_days = forms.IntegerField(
        label="Days to pay", min_value=0, max_value=365, required=False, help_text="Empty: as the business does."
    )
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea({"rows": 2}))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        lists = self.fields["price_list"]
        if isinstance(lists, forms.ModelChoiceField):
            lists.queryset = PriceList.objects.all()

    @classmethod
    def showing(cls, agreement: Agreement) -> AgreementForm:
        return cls(initial={name: getattr(agreement, name) for name in cls.base_fields})

    def values(self) -> dict[str, Any]:
        said = dict(self.cleaned_data)
        for name, value in EMPTY_IS.items():
            if said[name] is None:
                said[name] = value
        return said


class NewLinkForm(forms.Form):
    """What a client types whose link has ended."""

    email = forms.EmailField(
        label="Your mail address",
        max_length=254,
        error_messages={
            "required": "Write your mail address.",
            "invalid": "That is no mail address; write it like name@example.com.",
        },
        widget=forms.EmailInput({"autocomplete": "email"}),
    )
