"""Days, as the browser's own day field takes them."""

from __future__ import annotations

from django import forms


def day_input() -> forms.DateInput:
    """A day field. Browsers read and write ISO 8601 here, whatever the language of the page."""
    return forms.DateInput({"type": "date"}, format="%Y-%m-%d")
