"""What is asked of people who sign in, about themselves."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth.forms import AuthenticationForm

from business.models import Staff


class SignInForm(AuthenticationForm):
    """Sign-in name or mail address, and password."""

    username = forms.CharField(
        label="Sign-in name or mail address",
        max_length=254,
        widget=forms.TextInput({"autocomplete": "username", "autofocus": True}),
    )
    password = forms.CharField(
        label="Password", strip=False, widget=forms.PasswordInput({"autocomplete": "current-password"})
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.error_messages = {
            "invalid_login": "Name and password do not belong together. Check both; capitals count in the password.",
            "inactive": "This person may not sign in any more. Ask the owner.",
        }

    def clean_username(self) -> str:
        typed = str(self.cleaned_data["username"]).strip()
        found = Staff.objects.filter(email__iexact=typed).first() if "@" in typed else None
        found = found or Staff.objects.filter(username__iexact=typed).first()
        return found.username if found else typed


class CodeForm(forms.Form):
    """A code of the app, or one from the sheet of recovery codes."""

    code = forms.CharField(
        label="Code",
        max_length=40,
        error_messages={"required": "Type the code."},
        widget=forms.TextInput(
            {"autocomplete": "one-time-code", "autocapitalize": "characters", "spellcheck": "false", "autofocus": True}
        ),
    )


class FirstCodeForm(CodeForm):
    code = forms.CharField(
        label="Code the app shows now",
        max_length=12,
        error_messages={"required": "Type the six digits the app shows."},
        widget=forms.TextInput({"autocomplete": "one-time-code", "inputmode": "numeric"}),
    )


class ProofForm(forms.Form):
    """The password once more."""

    password = forms.CharField(
        label="Your password",
        strip=False,
        error_messages={"required": "Type your password."},
        widget=forms.PasswordInput({"autocomplete": "current-password", "autofocus": True}),
    )


class NewPasswordForm(forms.Form):
    present_password = forms.CharField(
        label="Present password",
        strip=False,
        error_messages={"required": "Type the password you sign in with."},
        widget=forms.PasswordInput({"autocomplete": "current-password"}),
    )
    new_password = forms.CharField(
        label="New password",
        strip=False,
        max_length=200,
        error_messages={"required": "Type a new password."},
        widget=forms.PasswordInput({"autocomplete": "new-password"}),
        help_text="At least 15 characters; three or four words in a row do well.",
    )
    again = forms.CharField(
        label="New password again",
        strip=False,
        max_length=200,
        error_messages={"required": "Type the new password a second time."},
        widget=forms.PasswordInput({"autocomplete": "new-password"}),
    )

    def clean(self) -> dict[str, Any]:
        said = dict(super().clean() or {})
        if said.get("new_password") and said.get("again") and said["new_password"] != said["again"]:
            self.add_error("again", "Is not the same as above. Type it once more.")
        return said
