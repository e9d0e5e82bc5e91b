"""Weather on pages: which station speaks for a site, a new station, a file of daily values."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms

from business.errors import Refusal
from business.forms.faults import take
from gardens.climate import FileChoices, StationChoice
from gardens.climate.values import Place
from gardens.models import WeatherStation
from gardens.services.weather import MOST_BYTES, too_large

CHOICES_SHOWN = 12
MOST_FAULTS = 40
LONGEST_PASTE = 20_000


def fit_words(station: WeatherStation, choice: StationChoice) -> str:
    """Marrow Moor: 3 km away, 8 m lower"""
    step = choice.height_step_m or 0.0
    height = "at the same height" if abs(step) < 1 else f"{abs(step):.0f} m {'higher' if step > 0 else 'lower'}"
    far = "" if choice.is_fit else ", too far to trust"
    return f"{station.name}: {choice.distance_km:.0f} km away, {height}{far}"


class StationForm(forms.Form):
    """Which station speaks for a site."""

    station = forms.ChoiceField(label="Weather from", required=False)

    def __init__(
        self, choices: Sequence[tuple[WeatherStation, StationChoice]], kept: int | None, *args: Any, **kwargs: Any
    ) -> None:
        super().__init__(*args, **{"initial": {"station": kept or ""}, **kwargs})
        shown = [pair for number, pair in enumerate(choices) if number < CHOICES_SHOWN or pair[0].pk == kept]
        self.fields["station"].choices = [  # type: ignore[attr-defined] # a choice field
            ("", "No station: usual values of the place"),
            *((str(station.pk), fit_words(station, choice)) for station, choice in shown),
        ]
        self._stations = {str(station.pk): station for station, _ in shown}

    def station_chosen(self) -> WeatherStation | None:
        return self._stations.get(self.cleaned_data["station"])


class NewStationForm(forms.Form):
    """A station of somebody's own, or a public one."""

    code = forms.SlugField(label="Code", max_length=40, help_text="Short and lasting, like marrow-moor.")
    name = forms.CharField(label="Name", max_length=120)
    latitude_deg = forms.FloatField(label="Latitude", min_value=-90, max_value=90, help_text="Degrees, south negative.")
    longitude_deg = forms.FloatField(
        label="Longitude", min_value=-180, max_value=180, help_text="Degrees, west negative."
    )
    elevation_m = forms.FloatField(label="Height above the sea (m)", min_value=-450, max_value=6000, initial=0)

    def place(self) -> Place:
        said = self.cleaned_data
        return Place(
            latitude_deg=said["latitude_deg"], longitude_deg=said["longitude_deg"], elevation_m=said["elevation_m"]
        )

    def take(self, refusal: Refusal) -> None:
        take(self, refusal)


class WeatherFileForm(forms.Form):
    """A file of daily values, or a few lines of them."""

    file = forms.FileField(
        label="File",
        required=False,
        help_text="date,tmin,tmax[,rain] in °C and mm with a header, or GHCN-Daily (CSV or .dly). At most 8 MB.",
    )
    lines = forms.CharField(
        label="Or lines",
        required=False,
        max_length=LONGEST_PASTE,
        widget=forms.Textarea({"rows": 4, "placeholder": "date,tmin,tmax,rain\n2027-04-12,-1.5,9,0"}),
        help_text="With the header line. Days to come are kept as a forecast until they are measured.",
    )
    units = forms.ChoiceField(
        label="Temperatures in",
        required=False,
        choices=[("", "°C, or as the layout says"), ("fahrenheit", "°F"), ("tenths_celsius", "tenths of a degree C")],
    )
    swap_reversed = forms.BooleanField(label="Turn days whose minimum lies above the maximum", required=False)

    def clean_file(self) -> Any:
        file = self.cleaned_data["file"]
        if file is not None and file.size > MOST_BYTES:
            fault = too_large(file.name)
            raise forms.ValidationError(f"{fault.where} {fault.wrong}: {fault.remedy}.")
        return file

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        if not self.errors and bool(said.get("file")) == bool(str(said.get("lines") or "").strip()):
            raise forms.ValidationError("Choose a file, or write lines: one of the two.")
        return said

    def data_and_choices(self) -> tuple[bytes | str, FileChoices]:
        said = self.cleaned_data
        file = said["file"]
        choices = FileChoices(
            file=file.name if file else "lines",
            units=said["units"] or None,
            swap_reversed=said["swap_reversed"],
        )
        return (file.read() if file else said["lines"].strip() + "\n"), choices

    def take(self, refusal: Refusal) -> None:
        """Faults by row, the first of them; their number is told."""
        for fault in refusal.faults[:MOST_FAULTS]:
            self.add_error(None, f"{fault}.")
        if len(refusal.faults) > MOST_FAULTS:
            self.add_error(None, f"And {len(refusal.faults) - MOST_FAULTS} more faults.")
