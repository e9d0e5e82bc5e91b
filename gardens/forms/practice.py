"""How we train: a box or a set of ways for each choice, why we do it so, and what the person had before them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from django import forms

from business.errors import Refusal
from gardens.knowledge.practice_schema import ChoiceOption
from gardens.services.practice import LONGEST_REASON
from gardens.services.practice_page import ChoiceLine, PracticePage, as_written, read_choice, span_words
from gardens.units import Units


@dataclass(frozen=True, kw_only=True)
class Asked:
    """One choice with its box, or with its ways and what speaks for each."""

    line: ChoiceLine
    field: forms.BoundField
    ways: list[tuple[Any, ChoiceOption]]


class PracticeForm(forms.Form):
    """Boxes named after the choices. An empty box means: as usual."""

    reason = forms.CharField(
        label="Why we do it so",
        required=False,
        max_length=LONGEST_REASON,
        widget=forms.Textarea({"rows": 2}),
        help_text="Whoever reads this page after you will ask.",
    )
    seen = forms.IntegerField(required=False, widget=forms.HiddenInput)

    def __init__(self, page: PracticePage, units: Units, *args: Any, **kwargs: Any) -> None:
        self._page, self._units = page, units
        reason = page.row.reason if page.row is not None else ""
        initial: dict[str, Any] = {"reason": reason, "seen": page.revision}
        fields: dict[str, forms.Field] = {}
        for name, line in page.lines.items():
            now = getattr(page.ours.practice, name)
            if line.choice.manner == "option":
                initial[name] = str(now)
                fields[name] = self._ways(line)
            else:
                initial[name] = as_written(line.choice, now, units) if line.is_ours else ""
                fields[name] = self._box(line)
        super().__init__(*args, **{"initial": initial, **kwargs})
        self.fields.update(fields)

    def _ways(self, line: ChoiceLine) -> forms.Field:
        choices = [(str(option.value), option.words) for option in line.choice.options]
        return forms.ChoiceField(
            label=line.choice.label,
            choices=choices,
            widget=forms.RadioSelect,
            error_messages={
                "required": "Choose one of the ways.",
                "invalid_choice": "This is none of the ways: choose one of them.",
            },
        )

    def _box(self, line: ChoiceLine) -> forms.Field:
        return forms.CharField(
            label=line.choice.label,
            required=False,
            max_length=40,
            widget=forms.TextInput({"autocomplete": "off"}),
            help_text=f"Empty: {line.usual}. Possible: {span_words(line.choice, self._units)}.",
        )

    def groups(self) -> Iterator[tuple[str, list[Asked]]]:
        """The choices under their headings, in the order of the trade's book."""
        for group, lines in groupby(self._page.lines.values(), key=lambda line: line.choice.group):
            yield group, [self._asked(line) for line in lines]

    def _asked(self, line: ChoiceLine) -> Asked:
        field = self[line.choice.id]
        ways = list(zip(field.subwidgets, line.choice.options, strict=True)) if line.choice.options else []
        return Asked(line=line, field=field, ways=ways)

    def clean(self) -> dict[str, Any]:
        """Texts become values; each that cannot be read is told beside its box."""
        cleaned = super().clean() or {}
        for name, line in self._page.lines.items():
            if name not in cleaned:
                continue
            try:
                cleaned[name] = read_choice(line.choice, cleaned[name], self._units)
            except ValueError as error:
                self.add_error(name, f"{str(error)[:1].upper()}{str(error)[1:]}.")
        return cleaned

    def choices(self) -> dict[str, Any]:
        """Choice → value; None for as usual."""
        return {name: self.cleaned_data[name] for name in self._page.lines}

    def take(self, refusal: Refusal) -> None:
        """Each fault beside its box, with the bounds in the user's units."""
        for fault in refusal.faults:
            line = self._page.lines.get(fault.where)
            if line is None or line.choice.manner == "option":
                self.add_error(fault.where if line else None, f"{fault}.")
                continue
            wrong = "This is out of range" if "range" in fault.wrong else f"This {fault.wrong}"
            self.add_error(fault.where, f"{wrong}: give {span_words(line.choice, self._units)}.")
