"""How one kind of reminder is sent."""

from __future__ import annotations

from typing import Any, ClassVar

from django import forms

from scheduling.models import ReminderRule


class RuleForm(forms.ModelForm):  # type: ignore[type-arg]  # not a generic class while running
    class Meta:
        model = ReminderRule
        fields: ClassVar = ["is_on", "days", "from_hour", "until_hour", "weekday"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not self.instance.is_weekly:
            del self.fields["weekday"]
        else:
            self.fields["weekday"].required = True
            self.fields["weekday"].choices = ReminderRule.Weekday.choices  # type: ignore[attr-defined]

    def _post_clean(self) -> None:
        """The service writes the row and asks the table; the form only reads numbers."""

    def values(self) -> dict[str, Any]:
        return dict(self.cleaned_data)
