"""GHCN-Daily samples in both layouts, against the rows they must give (NOAA NCEI layout, quality flags)."""

from __future__ import annotations

from datetime import date

import pytest

from gardens.climate import FileChoices, read_weather
from tests.gardens.climate.records import DATA, load, there

EXPECTED = load("ghcn_expected.json")


@pytest.mark.parametrize("name", ["ghcn_sample.csv", "ghcn_sample.dly"])
def test_both_layouts_give_the_same_days(name):
    readings = read_weather((DATA / name).read_bytes(), FileChoices(file=name))
    found = [(reading.on, reading.tmax_c, reading.tmin_c) for reading in readings.readings]
    assert found == [(date.fromisoformat(row["date"]), row["tmax"], row["tmin"]) for row in EXPECTED["rows"]]
    assert readings.missing() == EXPECTED["days_missing_a_temperature"]
    assert there(readings.station).key == "USW00024233"
    assert "1 × I, 1 × X" in readings.notes[0]
    assert all(reading.rain_mm == 0.0 for reading in readings.readings)


def test_station_csv_brings_the_place():
    station = there(read_weather((DATA / "ghcn_sample.csv").read_bytes()).station)
    assert (station.latitude_deg, station.longitude_deg, station.elevation_m) == (47.4444, -122.3138, 112.8)
