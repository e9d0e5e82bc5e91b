"""Changing a rule: a box for every key that may be changed, the reason, and what the person had before them."""

from __future__ import annotations

from typing import Any

from django import forms

from business.errors import Refusal
from business.forms.faults import take
from gardens.services.rule_keys import Manner
from gardens.services.rule_pages import RulePage
from gardens.services.rules import LONGEST_REASON, LONGEST_TEXT

TALL: frozenset[Manner] = frozenset({"text", "amounts"})
FIRST_KEYS = 7
"""Keys that stand open: the window and the words. The others lie behind a fold."""


class RuleChangeForm(forms.Form):
    """Boxes named after the keys of the rule's table."""

    reason = forms.CharField(
        label="Why we do it differently",
        max_length=LONGEST_REASON,
        widget=forms.Textarea({"rows": 2}),
        help_text="Stands beside the rule wherever it is printed.",
    )
    seen = forms.CharField(required=False, max_length=400, widget=forms.HiddenInput)

    def __init__(self, page: RulePage, *args: Any, **kwargs: Any) -> None:
        initial = {line.key.name: line.value for line in page.keys}
        super().__init__(*args, **{"initial": {**initial, "seen": page.seen}, **kwargs})
        for line in page.keys:
            widget: forms.Widget = forms.TextInput({"autocomplete": "off"})
            if line.key.manner in TALL:
                widget = forms.Textarea({"rows": max(2, min(8, line.value.count("\n") + 1))})
            elif line.key.manner == "yes_no":
                widget = forms.Select(choices=[("yes", "yes"), ("no", "no")])
            self.fields[line.key.name] = forms.CharField(
                label=line.key.label,
                required=False,
                max_length=LONGEST_TEXT,
                widget=widget,
                help_text=line.key.hint,
            )
        self._keys = [line.key.name for line in page.keys]

    @property
    def open_fields(self) -> list[forms.BoundField]:
        return [self[name] for name in self._keys[:FIRST_KEYS]]

    @property
    def folded_fields(self) -> list[forms.BoundField]:
        return [self[name] for name in self._keys[FIRST_KEYS:]]

    @property
    def is_wrong_in_the_fold(self) -> bool:
        return any(field.errors for field in self.folded_fields)

    def written(self) -> dict[str, str]:
        """What stands in the boxes of the keys."""
        return {name: self.cleaned_data[name] for name in self._keys}

    def seen_rows(self) -> tuple[int, ...]:
        """The house rules the person saw; a made-up value is as good as a stale one."""
        parts = str(self.cleaned_data["seen"]).split("-")
        return tuple(int(part) if part.isdecimal() else -1 for part in parts if part)

    def take(self, refusal: Refusal) -> None:
        take(self, refusal)
