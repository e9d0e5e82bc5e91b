"""What is asked about a crew, and about one of its days."""

from __future__ import annotations

import calendar
from collections.abc import Iterable
from typing import Any

from django import forms

from business.models.profile import known_zone
from scheduling.forms.rounds import day_field
from scheduling.models import Crew, Shift

WEEK = [(str(number), name) for number, name in enumerate(calendar.day_name)]


def hour_field(label: str, **options: Any) -> forms.TimeField:
    return forms.TimeField(label=label, widget=forms.TimeInput({"type": "time"}, "%H:%M"), **options)


class CrewForm(forms.Form):
    """A crew with its people, its yard and its usual week."""

    name = forms.CharField(label="Name", max_length=80)
    code = forms.SlugField(label="Code", max_length=20, required=False, help_text="Left empty, made of the name.")
    members = forms.TypedMultipleChoiceField(
        label="People", coerce=int, required=False, widget=forms.CheckboxSelectMultiple
    )
    lead = forms.TypedChoiceField(label="Who leads", coerce=int, required=False, empty_value=None)
    size = forms.IntegerField(
        label="How many go out together",
        min_value=1,
        max_value=12,
        initial=2,
        help_text="Work that needs two is given to a crew of two or more.",
    )
    skills = forms.CharField(
        label="Skills and licences",
        required=False,
        max_length=200,
        help_text="Separated by commas: ladder, spraying, chainsaw.",
    )
    yard_latitude_deg = forms.FloatField(label="Latitude of the yard", min_value=-90, max_value=90)
    yard_longitude_deg = forms.FloatField(label="Longitude of the yard", min_value=-180, max_value=180)
    time_zone = forms.CharField(
        label="Time zone", max_length=60, validators=[known_zone], help_text="Like Europe/London."
    )
    days = forms.MultipleChoiceField(
        label="Works on",
        choices=WEEK,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one day."},
    )
    starts = hour_field("Starts at")
    ends = hour_field("Ends at")
    break_minutes = forms.IntegerField(label="Break (minutes)", min_value=0, max_value=180, initial=30)
    carries_posts = forms.IntegerField(
        label="Posts", min_value=0, max_value=1000, required=False, help_text="Left empty: no limit."
    )
    carries_wire_m = forms.IntegerField(label="Wire (m)", min_value=0, max_value=100_000, required=False)
    carries_trees = forms.IntegerField(label="Trees", min_value=0, max_value=1000, required=False)
    is_active = forms.BooleanField(label="Goes out", required=False, initial=True)
    seen = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, people: Iterable[tuple[int, str]] = (), **options: Any) -> None:
        super().__init__(*args, **options)
        rows = list(people)
        self.fields["members"].choices = rows  # type: ignore[attr-defined] # a choice field has choices
        self.fields["lead"].choices = [("", "nobody yet"), *rows]  # type: ignore[attr-defined]

    @staticmethod
    def initial_of(crew: Crew, seen: str) -> dict[str, Any]:
        columns = [name for name in CrewForm.base_fields if name not in ("seen", "days", "members", "lead", "skills")]
        places = list(crew.members.all())
        return {
            **{name: getattr(crew, name) for name in columns},
            "days": [str(number) for number, digit in enumerate(crew.working_week) if digit == "1"],
            "skills": ", ".join(crew.skills),
            "members": [place.staff_id for place in places],
            "lead": next((place.staff_id for place in places if place.is_lead), None),
            "seen": seen,
        }

    GROUPS = (
        ("Who", ("name", "lead", "size", "skills")),
        ("People", ("members",)),
        ("Their yard", ("yard_latitude_deg", "yard_longitude_deg", "time_zone", "code")),
        ("Their day", ("starts", "ends", "break_minutes")),
        ("What their van takes", ("carries_posts", "carries_wire_m", "carries_trees")),
        ("Their week", ("days",)),
        ("", ("is_active",)),
    )

    def groups(self) -> list[tuple[str, list[forms.BoundField]]]:
        """The boxes under headings, in the order one fills them in."""
        return [(legend, [self[name] for name in names]) for legend, names in self.GROUPS]

    def clean_skills(self) -> list[str]:
        said = str(self.cleaned_data["skills"]).replace(";", ",").split(",")
        return sorted({word.strip().lower() for word in said if word.strip()})

    def clean(self) -> dict[str, Any]:
        said = self.cleaned_data
        starts, ends = said.get("starts"), said.get("ends")
        if starts and ends and ends <= starts:
            self.add_error("ends", f"Lies before the start at {starts:%H:%M}: write a later hour.")
        lead, members = said.get("lead"), said.get("members")
        if lead and members is not None and lead not in members:
            self.add_error("lead", "Is not among the people: tick the name there too.")
        return said

    def values(self) -> dict[str, Any]:
        """The columns of the crew."""
        left_out = ("seen", "days", "members", "lead")
        values = {name: value for name, value in self.cleaned_data.items() if name not in left_out}
        days = self.cleaned_data["days"]
        return {**values, "working_week": "".join("1" if str(number) in days else "0" for number in range(7))}


class LayDaysForm(forms.Form):
    """The usual days of a crew, for a span."""

    first_day = day_field("From")
    last_day = day_field("Until")

    def clean(self) -> dict[str, Any]:
        said = self.cleaned_data
        first, last = said.get("first_day"), said.get("last_day")
        if first and last and last < first:
            self.add_error("last_day", "This is before the first day; put the later day here.")
        elif first and last and (last - first).days > 800:
            self.add_error("last_day", "That is more than two years; lay fewer days at once.")
        return said


class CrewDayForm(forms.Form):
    """One working day of a crew."""

    is_off = forms.BooleanField(label="Nobody goes out", required=False)
    starts = hour_field("Starts at")
    ends = hour_field("Ends at")
    break_minutes = forms.IntegerField(label="Break (minutes)", min_value=0, max_value=180)
    is_wet = forms.BooleanField(
        label="A wet day", required=False, help_text="Work that needs dry weather is kept off this day."
    )
    reason = forms.CharField(label="Why", required=False, max_length=120, help_text="Course, van at the garage, rain.")

    @staticmethod
    def initial_of(shift: Shift) -> dict[str, Any]:
        return {name: getattr(shift, name) for name in CrewDayForm.base_fields}

    def clean(self) -> dict[str, Any]:
        said = self.cleaned_data
        starts, ends = said.get("starts"), said.get("ends")
        if starts and ends and ends <= starts:
            self.add_error("ends", f"Lies before the start at {starts:%H:%M}: write a later hour.")
        return said
