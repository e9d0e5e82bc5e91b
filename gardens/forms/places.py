"""What is asked about a garden, a support in it, and a tree on a support."""

from __future__ import annotations

import calendar
from typing import Any

from django import forms

from business.forms.days import day_input
from business.models.profile import known_zone
from gardens.forms.lengths import LengthField, LengthsField, read_in
from gardens.models import Site, Support, Tree
from gardens.services.words import FORM_WORDS, species_choices, stock_choices
from gardens.training.state import STARTS
from gardens.units import Units

WEEK = [(str(number), name) for number, name in enumerate(calendar.day_name)]


def on_the_compass(bearing: int) -> None:
    if not 0 <= bearing < 360:
        raise forms.ValidationError(f"{bearing}° is no bearing: write 0 to 359, 180 is south.")


class PlaceForm(forms.Form):
    """Common to all three: a code of its own, and what was seen when the form was shown."""

    code = forms.SlugField(
        label="Code",
        max_length=40,
        required=False,
        help_text="Short and lasting, import files name it. Left empty, one is made of the name.",
    )
    seen = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, units: Units = "metric", **more: Any) -> None:
        super().__init__(*args, **more)
        read_in(self, units)

    GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = ()

    def groups(self) -> list[tuple[str, list[forms.BoundField]]]:
        """The boxes under headings, in the order one fills them in."""
        return [(legend, [self[name] for name in names]) for legend, names in self.GROUPS]

    def values(self) -> dict[str, Any]:
        return {name: value for name, value in self.cleaned_data.items() if name != "seen"}


class SiteForm(PlaceForm):
    GROUPS = (
        ("Where it is", ("name", "address", "latitude_deg", "longitude_deg", "elevation_m")),
        ("Getting in", ("access_notes", "hazards", "phone", "access_from", "access_until")),
        ("Days they let us in", ("days",)),
        ("Its year", ("climate_profile", "time_zone", "code")),
        ("", ("is_active",)),
    )

    name = forms.CharField(label="Name", max_length=120)
    address = forms.CharField(label="Address", required=False, widget=forms.Textarea({"rows": 3}))
    latitude_deg = forms.FloatField(
        label="Latitude", min_value=-90, max_value=90, help_text="In degrees, south is negative: 51.0312."
    )
    longitude_deg = forms.FloatField(
        label="Longitude", min_value=-180, max_value=180, help_text="In degrees, west is negative: -2.8045."
    )
    elevation_m = forms.FloatField(label="Height above the sea (m)", min_value=-420, max_value=6000)
    time_zone = forms.CharField(
        label="Time zone", max_length=60, validators=[known_zone], help_text="Like Europe/London."
    )
    climate_profile = forms.ChoiceField(
        label="Climate", choices=[("", "derived from the weather"), *Site.Profile.choices], required=False
    )
    access_notes = forms.CharField(
        label="Access",
        required=False,
        widget=forms.Textarea({"rows": 3}),
        help_text="Gate, code, parking, dog, where the water is.",
    )
    hazards = forms.CharField(
        label="What the crew must mind",
        required=False,
        widget=forms.Textarea({"rows": 3}),
        help_text="Slope, glass, bees, overhead line.",
    )
    phone = forms.CharField(label="Whom to ring at the gate", max_length=40, required=False)
    days = forms.MultipleChoiceField(
        label="They open on",
        choices=WEEK,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one day."},
    )
    access_from = forms.TimeField(label="Not before", required=False, widget=forms.TimeInput({"type": "time"}, "%H:%M"))
    access_until = forms.TimeField(label="Not after", required=False, widget=forms.TimeInput({"type": "time"}, "%H:%M"))
    is_active = forms.BooleanField(label="We look after it", required=False, initial=True)

    @staticmethod
    def initial_of(site: Site, seen: str) -> dict[str, Any]:
        columns = [name for name in SiteForm.base_fields if name not in ("seen", "days")]
        days = [str(number) for number, digit in enumerate(site.access_week) if digit == "1"]
        return {**{name: getattr(site, name) for name in columns}, "days": days, "seen": seen}

    def clean(self) -> dict[str, Any]:
        said = self.cleaned_data
        first, last = said.get("access_from"), said.get("access_until")
        if first and last and first >= last:
            self.add_error("access_until", f"Lies before {first:%H:%M}: write a later hour, or leave one empty.")
        return said

    def values(self) -> dict[str, Any]:
        values = super().values()
        days = values.pop("days")
        return {**values, "access_week": "".join("1" if str(number) in days else "0" for number in range(7))}


class SupportForm(PlaceForm):
    GROUPS = (
        ("What it is", ("name", "kind", "length_mm", "height_mm")),
        ("Where it looks, what is strung", ("faces_deg", "gap_mm", "wires_mm", "post_spacing_mm")),
        ("In the garden", ("walk_order", "note", "code")),
    )

    name = forms.CharField(label="Name", max_length=120, help_text="As people call it: South wall, Long fence.")
    kind = forms.ChoiceField(label="Kind", choices=Support.Kind.choices)
    length_mm = LengthField(label="Length", help_text="12 m, 40 ft")
    height_mm = LengthField(label="Height", help_text="Of the wall or the posts: 1.9 m, 6 ft")
    faces_deg = forms.IntegerField(
        label="The trained side faces (°)",
        initial=180,
        help_text="A bearing: 0 north, 90 east, 180 south, 270 west.",
        validators=[on_the_compass],
    )
    gap_mm = LengthField(
        label="From wall to wires",
        required=False,
        help_text="10 to 15 cm is usual at a wall or fence; nothing for posts.",
    )
    wires_mm = LengthsField(
        label="Wires, from below",
        required=False,
        help_text="45 cm, 90 cm, 135 cm. Left empty: no wires are strung yet.",
    )
    post_spacing_mm = LengthField(label="Posts or eyes apart", required=False)
    walk_order = forms.IntegerField(
        label="Order on the walk through the garden", min_value=0, max_value=999, initial=0, required=False
    )
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea({"rows": 2}))

    @staticmethod
    def initial_of(support: Support, seen: str) -> dict[str, Any]:
        columns = [name for name in SupportForm.base_fields if name not in ("seen", "wires_mm")]
        return {**{name: getattr(support, name) for name in columns}, "wires_mm": support.wire_heights_mm, "seen": seen}

    def values(self) -> dict[str, Any]:
        values = super().values()
        return {**values, "gap_mm": values["gap_mm"] or 0, "walk_order": values["walk_order"] or 0}


class TreeForm(PlaceForm):
    GROUPS = (
        ("What it is", ("label", "species", "cultivar", "rootstock")),
        ("How it is trained", ("form", "tiers", "start", "tiers_at_start")),
        ("Where it stands", ("position_mm", "run_left_mm", "run_right_mm")),
        ("When it came", ("planted_on", "note", "code")),
        ("", ("is_planned",)),
    )

    label = forms.CharField(label="Name", max_length=120, help_text="As people call it: Pear by the greenhouse door.")
    species = forms.ChoiceField(label="Species", choices=species_choices)
    cultivar = forms.CharField(label="Cultivar", max_length=80, required=False)
    rootstock = forms.ChoiceField(label="Rootstock", choices=stock_choices, required=False)
    form = forms.ChoiceField(label="Form", choices=sorted(FORM_WORDS.items()))
    tiers = forms.IntegerField(
        label="Tiers", min_value=0, max_value=12, required=False, help_text="Left empty: as many as there are wires."
    )
    position_mm = LengthField(label="Trunk, from the left end of the support")
    run_left_mm = LengthField(
        label="Room to the left", required=False, help_text="Left empty, the gap to its neighbour is shared evenly."
    )
    run_right_mm = LengthField(label="Room to the right", required=False)
    planted_on = forms.DateField(label="Planted on", widget=day_input())
    start = forms.ChoiceField(label="Planted as", choices=[(start, start.replace("_", " ")) for start in STARTS])
    tiers_at_start = forms.IntegerField(
        label="Tiers it had when planted",
        min_value=0,
        max_value=12,
        required=False,
        help_text="Of a ready-trained tree.",
    )
    is_planned = forms.BooleanField(label="Only planned, not in the ground yet", required=False)
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea({"rows": 2}))

    @staticmethod
    def initial_of(tree: Tree, seen: str) -> dict[str, Any]:
        columns = [name for name in TreeForm.base_fields if name != "seen"]
        return {**{name: getattr(tree, name) for name in columns}, "seen": seen}

    def values(self) -> dict[str, Any]:
        values = super().values()
        return {**values, "tiers": values["tiers"] or 0, "tiers_at_start": values["tiers_at_start"] or 0}


class TakenOutForm(forms.Form):
    """A tree that left the garden."""

    removed_on = forms.DateField(label="Taken out on", widget=day_input())
    why = forms.CharField(label="Why", max_length=200, help_text="Died of canker, replaced, wall pulled down.")
