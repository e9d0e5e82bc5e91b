"""What was measured, seen or done on a support, and rows one behind the other."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms

from business.errors import Refusal
from business.forms.days import day_input
from gardens.services.support_records import SupportFact
from gardens.units import parse_length_mm

G = 9.80665
"""What hangs on a wire is weighed in kg; the core reckons in N."""


class SlackForm(forms.Form):
    """A sag read at mid-span below a tight string."""

    wire = forms.IntegerField(
        label="Wire, from below",
        min_value=1,
        max_value=40,
        error_messages={
            "required": "Say which wire, counted from below.",
            "invalid": "Write the wire's number, counted from below.",
            "min_value": "The lowest wire is number 1.",
            "max_value": "Count the wires from below; there are not so many.",
        },
    )
    sag_mm = forms.FloatField(
        label="Sag in the middle (mm)",
        min_value=0,
        max_value=1000,
        error_messages={
            "required": "Write how far it hangs in the middle, in mm.",
            "invalid": "Write the sag as a plain number of mm.",
            "min_value": "A wire does not hang upward: give 0 or more.",
            "max_value": "More than 1 m: that wire is off. Note it as broken instead.",
        },
    )
    span = forms.CharField(
        label="Over a span of", required=False, max_length=20, help_text="Empty: from eye to eye as built. Like 1.8 m."
    )
    load_kg = forms.FloatField(
        label="What hangs on each metre of it (kg)",
        required=False,
        min_value=0,
        max_value=200,
        help_text="Leaf and crop. Empty: the bare wire.",
        error_messages={
            "invalid": "Write a plain number of kg.",
            "min_value": "Give 0 or more.",
            "max_value": "Give at most 200 kg for a metre.",
        },
    )
    on = forms.DateField(
        label="Day",
        widget=day_input(),
        error_messages={"required": "Say on which day.", "invalid": "Write the day as 2026-11-25."},
    )

    def clean_span(self) -> int | None:
        text = str(self.cleaned_data.get("span") or "").strip()
        if not text:
            return None
        try:
            span = parse_length_mm(text, default_unit="m")
        except ValueError as error:
            raise forms.ValidationError(str(error)) from error
        if span <= 0:
            raise forms.ValidationError("A span of nothing has no sag: give the distance from eye to eye.")
        return span

    def fact(self) -> SupportFact:
        said: dict[str, Any] = self.cleaned_data
        return SupportFact(
            on=said["on"],
            kind="measured",
            what="sag",
            part=f"wire:{said['wire']}",
            value=said["sag_mm"],
            span_mm=said["span"],
            load_n_m=round((said["load_kg"] or 0) * G, 2),
        )

    def take(self, refusal: Refusal) -> None:
        fields = {"wire": "wire", "part": "wire", "value": "sag_mm", "span": "span", "date": "on", "load": "load_kg"}
        for fault in refusal.faults:
            self.add_error(fields.get(fault.where), f"{fault.wrong}: {fault.remedy}.")


ACTS: tuple[tuple[str, tuple[tuple[str, str], ...]], ...] = (
    (
        "Done",
        (
            ("done:tighten_wires", "tightened"),
            ("done:straighten_posts", "set straight"),
            ("done:erect_support", "renewed or replaced"),
            ("done:inspect", "looked over"),
        ),
    ),
    (
        "Seen",
        (
            ("seen:gale", "a gale"),
            ("seen:broken_wire", "a wire is broken"),
            ("seen:loose_fixing", "a fixing is loose"),
            ("seen:lost_tensioner", "a tensioner is missing"),
            ("seen:rotten_post", "a post is rotten"),
        ),
    ),
    ("Measured", (("measured:lean", "lean of a post (°)"), ("measured:pull", "pull on the gauge board (N)"))),
)


class CareForm(forms.Form):
    """Something done, seen or measured on a wire, a post, or the whole support."""

    act = forms.ChoiceField(
        label="What",
        error_messages={"required": "Say what was done or seen.", "invalid_choice": "Choose from the list."},
    )
    part = forms.ChoiceField(
        label="On", error_messages={"required": "Say on which part.", "invalid_choice": "There is no such part here."}
    )
    value = forms.FloatField(
        label="Reading",
        required=False,
        min_value=0,
        max_value=500,
        help_text="Only for what was measured.",
        error_messages={
            "invalid": "Write the reading as a plain number.",
            "min_value": "A reading is not below zero.",
            "max_value": "Give at most 500.",
        },
    )
    text = forms.CharField(label="In words", required=False, max_length=400)
    on = forms.DateField(
        label="Day",
        widget=day_input(),
        error_messages={"required": "Say on which day.", "invalid": "Write the day as 2026-11-25."},
    )

    def __init__(self, *args: Any, parts: Sequence[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, choices in (("act", [("", "choose"), *ACTS]), ("part", parts)):
            field = self.fields[name]
            if isinstance(field, forms.ChoiceField):
                field.choices = choices

    def fact(self) -> SupportFact:
        said: dict[str, Any] = self.cleaned_data
        kind, _, what = said["act"].partition(":")
        value = said["value"] if kind == "measured" else None
        return SupportFact(on=said["on"], kind=kind, what=what, part=said["part"], value=value, text=said["text"])

    def take(self, refusal: Refusal) -> None:
        fields = {"wire": "part", "part": "part", "value": "value", "date": "on", "what": "act", "kind": "act"}
        for fault in refusal.faults:
            self.add_error(fields.get(fault.where), f"{fault.wrong}: {fault.remedy}.")


class RowsForm(forms.Form):
    """Several rows like this one: how many, how they run, how the ground lies across them."""

    count = forms.IntegerField(
        label="Rows",
        min_value=2,
        max_value=200,
        error_messages={
            "required": "Say how many rows.",
            "invalid": "Write a whole number of rows.",
            "min_value": "One row shades no other: give 2 or more.",
            "max_value": "Give at most 200 rows.",
        },
    )
    runs = forms.FloatField(
        label="Bearing along the rows (°)",
        help_text="0 north to south, 90 east to west.",
        error_messages={"required": "Give the bearing.", "invalid": "Write the bearing in degrees, 0 to 359."},
    )
    rises_percent = forms.FloatField(
        label="Ground rises from row to row (%)",
        required=False,
        min_value=-60,
        max_value=60,
        help_text="To the right of that bearing; negative where it falls.",
        error_messages={
            "invalid": "Write the slope as a plain number of %.",
            "min_value": "Give at least −60 %%.",
            "max_value": "Give at most 60 %%.",
        },
    )
    sun_hours = forms.FloatField(
        label="Hours of sun wanted",
        required=False,
        min_value=0,
        max_value=16,
        help_text="Empty: the usual 6.",
        error_messages={
            "invalid": "Write the hours as a plain number.",
            "min_value": "Give 0 or more hours.",
            "max_value": "Give at most 16 hours.",
        },
    )
    day = forms.DateField(
        label="On the day",
        required=False,
        widget=day_input(),
        help_text="Empty: the equinox after harvest begins.",
        error_messages={"invalid": "Write the day as 2026-09-21."},
    )

    def clean_runs(self) -> float:
        runs = float(self.cleaned_data["runs"])
        if not 0 <= runs < 360:
            raise forms.ValidationError(
                f"A bearing of {runs:g}° is none: give 0 to 359, 0 north to south, 90 east to west."
            )
        return runs

    def wanted(self) -> dict[str, Any]:
        """As the supports core reads it."""
        said = self.cleaned_data
        rows = {"count": said["count"], "runs": said["runs"], "rises_percent": said["rises_percent"] or 0}
        if said["sun_hours"] is not None:
            rows["sun_hours"] = said["sun_hours"]
        if said["day"]:
            rows["day"] = said["day"].isoformat()
        return rows

    def take(self, refusal: Refusal) -> None:
        for fault in refusal.faults:
            field = fault.where.rsplit(", ", 1)[-1]
            self.add_error(field if field in self.fields else None, f"{fault.wrong}: {fault.remedy}.")
