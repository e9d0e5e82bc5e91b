"""What is asked about season reviews."""

from __future__ import annotations

from django import forms


class WordsForm(forms.Form):
    words = forms.CharField(
        label="A few words to the client",
        max_length=3000,
        required=False,
        widget=forms.Textarea({"rows": 6}),
        help_text="They open the letter on the second page. Empty: two plain sentences.",
    )
