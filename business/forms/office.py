"""What is asked about the business, its people and its mail."""

from __future__ import annotations

from typing import Any, ClassVar

from django import forms

from business.models import BusinessProfile, Staff

PROFILE_GROUPS = (
    ("Name and place", ("name", "legal_name", "address", "country", "email", "phone", "web", "emergency_number")),
    (
        "Habits",
        ("language", "units", "paper", "zone", "climate_profile", "latitude", "longitude", "reports_show_minutes"),
    ),
    ("Money", ("currency", "tax_label", "tax_number", "tax_rounding", "prices_include_tax", "charges_late_interest")),
    (
        "Invoices",
        ("payment_terms_days", "invoice_prefix", "credit_prefix", "payment_lines", "invoice_footer"),
    ),
    ("Signing in", ("needs_second_factor", "second_factor_grace_days")),
    (
        "Electronic invoices",
        (
            "e_invoice",
            "legal_number",
            "legal_register",
            "electronic_address",
            "electronic_kind",
            "bank_account",
            "bank_account_name",
            "bank_code",
            "exempt_words",
        ),
    ),
)


class ProfileForm(forms.ModelForm):  # type: ignore[type-arg]  # not a generic class while running
    """The business. Validated like the row; the service writes it."""

    web = forms.URLField(label="Web address", max_length=200, required=False, assume_scheme="https")

    class Meta:
        model = BusinessProfile
        exclude = ("id",)  # noqa: DJ006 – every column is the office's to change
        widgets: ClassVar = {
            "address": forms.Textarea({"rows": 4}),
            "payment_lines": forms.Textarea({"rows": 3}),
            "invoice_footer": forms.Textarea({"rows": 2}),
        }

    def values(self) -> dict[str, Any]:
        return dict(self.cleaned_data)

    def groups(self) -> list[tuple[str, list[forms.BoundField]]]:
        """The fields under headings, in the order a new business fills them in."""
        return [(legend, [self[name] for name in names]) for legend, names in PROFILE_GROUPS]


class StaffForm(forms.Form):
    name = forms.CharField(label="Name", max_length=120)
    username = forms.CharField(label="Sign-in name", max_length=80)
    email = forms.EmailField(label="Email", required=False)
    phone = forms.CharField(label="Phone", max_length=32, required=False)
    role = forms.ChoiceField(label="Role", choices=Staff.Role.choices)
    sees_prices = forms.BooleanField(label="Sees prices", required=False)
    is_active = forms.BooleanField(label="May sign in", required=False, initial=True)
    password = forms.CharField(
        label="New password",
        required=False,
        strip=False,
        widget=forms.PasswordInput({"autocomplete": "new-password"}),
        help_text="At least 15 characters. Left empty, the password stays as it is.",
    )

    @classmethod
    def showing(cls, staff: Staff) -> StaffForm:
        return cls(initial={name: getattr(staff, name) for name in cls.base_fields if name != "password"})

    def values(self) -> dict[str, Any]:
        said = dict(self.cleaned_data)
        if not said["password"]:
            del said["password"]
        return said


class ReasonForm(forms.Form):
    reason = forms.CharField(label="Reason", max_length=200)


class SendAgainForm(ReasonForm):
    to = forms.EmailField(label="To", required=False, help_text="Empty: to the same address.")
