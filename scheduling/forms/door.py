"""What a client may write."""

from __future__ import annotations

from django import forms

from scheduling.services.asks import LONGEST


class MoveForm(forms.Form):
    words = forms.CharField(
        label="Which days would suit you, and which would not?",
        max_length=LONGEST,
        widget=forms.Textarea({"rows": 4}),
        error_messages={"required": "Write which days would suit you"},
    )


class ContactForm(forms.Form):
    words = forms.CharField(
        label="What is wrong, and what would be right?",
        max_length=LONGEST,
        widget=forms.Textarea({"rows": 4}),
        error_messages={"required": "Write what is wrong and what would be right"},
    )
