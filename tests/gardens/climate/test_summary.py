"""The figures of a span: missing days, gaps, frosts, the southern half."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from business.errors import BadInput
from gardens.climate import DailyWeather, Place, Readings, remarks, summarize, summary_as_dict
from gardens.climate.report import read_question, summary_as_text
from tests.gardens.climate.records import HASTINGS, SEATTLE, readings_of, seattle, there

YEAR = (date(2013, 1, 1), date(2013, 12, 31))


def without(readings, *days):
    return Readings(readings=tuple(reading for reading in readings.readings if reading.on not in days))


def test_short_gap_is_bridged_and_counted():
    holes = [date(2013, 2, 10) + timedelta(days=step) for step in range(5)]
    whole, patched = summarize(seattle(), SEATTLE, *YEAR), summarize(without(seattle(), *holes), SEATTLE, *YEAR)
    assert (patched.missing, patched.days) == (5, 365)
    assert patched.chill_portions == pytest.approx(whole.chill_portions, abs=3)
    assert "5 missing days were bridged" in remarks(patched, without(seattle(), *holes))[0]


def test_long_gap_leaves_the_sums_unknown():
    holes = [date(2013, 2, 10) + timedelta(days=step) for step in range(6)]
    summary = summarize(without(seattle(), *holes), SEATTLE, *YEAR)
    assert summary.missing == 6
    assert (summary.chill_hours, summary.chill_portions, summary.gdd, summary.gdh) == (None, None, None, None)
    assert summary.first_frost == date(2013, 11, 21)
    assert "2013-02-10 to 2013-02-15: 6 days are missing" in remarks(summary, seattle())[0]


def test_gap_outside_the_span_does_no_harm():
    holes = [date(2014, 2, 10) + timedelta(days=step) for step in range(30)]
    assert summarize(without(seattle(), *holes), SEATTLE, *YEAR) == summarize(seattle(), SEATTLE, *YEAR)


def test_one_missing_element_is_bridged_alone():
    readings = Readings(
        readings=tuple(
            replace(reading, tmax_c=None) if reading.on == date(2013, 5, 5) else reading
            for reading in seattle().readings
        )
    )
    summary = summarize(readings, SEATTLE, *YEAR)
    assert summary.missing == 1
    assert summary.gdd == pytest.approx(summarize(seattle(), SEATTLE, *YEAR).gdd, abs=5)


def test_span_beyond_the_file_gives_no_sum():
    summary = summarize(seattle(), SEATTLE, date(2011, 12, 30), date(2012, 1, 31))
    assert (summary.missing, summary.chill_hours) == (2, None)
    assert "does not hold the first or the last day" in remarks(summary, seattle())[0]


def test_backward_span_and_empty_file_are_refused():
    with pytest.raises(BadInput, match="lies before"):
        summarize(seattle(), SEATTLE, date(2013, 2, 1), date(2013, 1, 1))
    with pytest.raises(BadInput, match="no readings"):
        summarize(Readings(readings=()), SEATTLE, *YEAR)


def test_southern_frosts_part_in_january():
    days = [DailyWeather(on=date(2025, 7, 1) + timedelta(days=step), tmin_c=5.0, tmax_c=15.0) for step in range(365)]
    frosty = {date(2025, 9, 20), date(2025, 10, 3), date(2026, 4, 28), date(2026, 6, 2)}
    days = [replace(day, tmin_c=-1.0) if day.on in frosty else day for day in days]
    summary = summarize(readings_of(*days), HASTINGS, days[0].on, days[-1].on)
    assert (summary.last_frost, summary.first_frost) == (date(2025, 10, 3), date(2026, 4, 28))


def test_span_without_midsummer_has_no_first_frost():
    summary = summarize(seattle(), SEATTLE, date(2012, 11, 1), date(2013, 2, 28))
    assert summary.first_frost is None
    later = [
        r.on for r in seattle().readings if date(2012, 11, 1) <= r.on <= date(2013, 2, 28) and there(r.tmin_c) <= 0
    ]
    assert summary.last_frost == max(later)


def test_polar_summer_has_no_times_but_a_length():
    tromso = Place(latitude_deg=69.65, longitude_deg=18.96, timezone="Europe/Oslo")
    answer = summary_as_dict(summarize(seattle(), tromso, date(2013, 6, 1), date(2013, 6, 20)))
    assert (answer["sunrise"], answer["sunset"], answer["day_length_h"]) == (None, None, 24.0)


def test_question_names_every_fault_at_once():
    words = {
        "latitude": "91",
        "longitude": "",
        "timezone": "Mars/Base",
        "from": "2024-02-30",
        "until": "x",
        "base": "hot",
    }
    with pytest.raises(BadInput) as refusal:
        read_question(words)
    assert [fault.where for fault in refusal.value.faults] == [
        "--latitude",
        "--longitude",
        "--base",
        "--timezone",
        "--from",
        "--until",
    ]


def test_table_shows_unknown_sums_in_words():
    question = read_question(
        {"latitude": "47.45", "longitude": "-122.31", "timezone": "UTC", "from": "2011-12-01", "until": "2012-01-31"}
    )
    text = summary_as_text(summarize(seattle(), question.place, question.first, question.last), question)
    assert "Chill portions               not known" in text
    assert "Days lacking a temperature   31" in text
