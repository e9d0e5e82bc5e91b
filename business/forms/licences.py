"""What is asked about a licence."""

from __future__ import annotations

from typing import Any, ClassVar

from django import forms

from business.forms.days import day_input
from business.models import Licence, Staff


class LicenceForm(forms.ModelForm):  # type: ignore[type-arg]  # not a generic class while running
    class Meta:
        model = Licence
        fields = ("name", "staff", "number", "valid_from", "valid_until", "is_dropped")
        labels: ClassVar = {"name": "What", "valid_from": "First day", "is_dropped": "No longer needed"}
        widgets: ClassVar = {"valid_from": day_input(), "valid_until": day_input()}
        error_messages: ClassVar = {
            "name": {"required": "Write what it is, like “Spraying certificate”."},
            "valid_until": {"required": "Write the last day it holds."},
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        whose: Any = self.fields["staff"]
        whose.queryset = Staff.objects.filter(is_active=True).order_by("name")
        whose.empty_label = "The business itself"

    def values(self) -> dict[str, Any]:
        return dict(self.cleaned_data)
