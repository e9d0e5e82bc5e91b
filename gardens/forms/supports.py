"""What is asked about the build of a support, and a slack wire measured in the garden."""

from __future__ import annotations

from typing import Any

from django import forms

from business.errors import Refusal
from gardens.knowledge.material_book import materials


def _named(rows: Any) -> list[tuple[str, str]]:
    return [("", "not known"), *sorted(((key, row.name) for key, row in rows.items()), key=lambda pair: pair[1])]


class BuildForm(forms.Form):
    """The parts of a support's build that change its verdict most. Empty means: assume the usual."""

    built_on = forms.DateField(label="Put up on", required=False, widget=forms.DateInput({"type": "date"}, "%Y-%m-%d"))
    size = forms.CharField(label="Wire", required=False, max_length=20, help_text="2.5 mm, 12 AWG, 14 SWG")
    grade = forms.ChoiceField(label="Grade of the wire", required=False)
    coating = forms.ChoiceField(label="Coating", required=False)
    tension_n = forms.FloatField(label="Strung to (N)", required=False, min_value=10, max_value=10_000)
    hold_gap = forms.CharField(label="Eyes or posts apart", required=False, max_length=20, help_text="1.8 m")
    wall = forms.ChoiceField(label="Wall", required=False)
    gust_m_s = forms.FloatField(label="Strongest gust (m/s)", required=False, min_value=1, max_value=80)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        book = materials()
        for name, rows in (("grade", book.grades), ("coating", book.coatings), ("wall", book.walls)):
            field = self.fields[name]
            if isinstance(field, forms.ChoiceField):
                field.choices = _named(rows)

    def build(self, kept: dict[str, Any]) -> dict[str, Any]:
        """The build with what was said laid over what was kept."""
        said: dict[str, Any] = {key: value for key, value in self.cleaned_data.items() if value not in (None, "")}
        build = {key: value for key, value in kept.items() if key not in ("wire", "tension_n", "hold_gap", "wall")}
        wire = {key: said[key] for key in ("size", "grade", "coating") if key in said}
        if wire:
            build["wire"] = wire
        for key in ("tension_n", "hold_gap", "wall"):
            if key in said:
                build[key] = said[key]
        place = {key: value for key, value in kept.get("place", {}).items() if not key.startswith("gust")}
        if "gust_m_s" in said:
            place["gust_m_s"] = said["gust_m_s"]
        if place:
            build["place"] = place
        return build

    def take(self, refusal: Refusal) -> None:
        for fault in refusal.faults:
            field = fault.where.rsplit(", ", 1)[-1].rsplit(".", 1)[-1]
            self.add_error(field if field in self.fields else None, f"{fault.wrong}: {fault.remedy}.")


def initial_of(build: dict[str, Any]) -> dict[str, Any]:
    """The form's values from a kept build."""
    place = build.get("place", {})
    return {
        **build.get("wire", {}),
        "tension_n": build.get("tension_n"),
        "hold_gap": build.get("hold_gap"),
        "wall": build.get("wall"),
        "gust_m_s": place.get("gust_m_s"),
    }


class SlackForm(forms.Form):
    """A sag read at mid-span below a tight string."""

    wire = forms.IntegerField(label="Wire, from below", min_value=1, max_value=20)
    sag_mm = forms.FloatField(label="Sag (mm)", min_value=0, max_value=1000)
    on = forms.DateField(label="Day", widget=forms.DateInput({"type": "date"}, "%Y-%m-%d"))
