"""Weather files people bring: good ones read, bad ones refused with every fault and its row."""

from __future__ import annotations

from datetime import date

import pytest

from business.errors import BadInput
from gardens.climate import FileChoices, gap_report, read_weather
from tests.gardens.climate.records import seattle, there


def faults_of(data, **choices):
    with pytest.raises(BadInput) as refusal:
        read_weather(data, FileChoices(file="days.csv", **choices))
    return [str(fault) for fault in refusal.value.faults]


def test_columns_may_stand_in_any_order():
    readings = read_weather("tmax,rain,date,tmin\n9.5,1.2,2024-01-01,3\n8,,2024-01-02,2\n")
    first, second = readings.days
    assert (first.on, first.tmin_c, first.tmax_c, first.rain_mm) == (date(2024, 1, 1), 3.0, 9.5, 1.2)
    assert second.rain_mm is None


def test_semicolons_bring_decimal_commas():
    readings = read_weather("\ufeffdate;tmin;tmax\r\n2024-01-01;-1,5;3,25\r\n".encode())
    assert (readings.days[0].tmin_c, readings.days[0].tmax_c) == (-1.5, 3.25)


def test_every_fault_is_named_with_its_row():
    found = faults_of(
        "date,tmin,tmax\n"
        "2024-01-02,5,3\n"
        "2024-01-02,1,2\n"
        "2024-01-01,x,2\n"
        "31.02.2024,1,2\n"
        "2024-01-05,1,2,3\n"
        "2024-01-06,1,61\n"
    )
    assert [fault.split(":")[0] for fault in found] == [
        "days.csv, row 2, tmin",
        "days.csv, row 3, date",
        "days.csv, row 4, tmin",
        "days.csv, row 4, date",
        "days.csv, row 5, date",
        "days.csv, row 6",
        "days.csv, row 7, tmax",
    ]
    assert all(fault.endswith(")") for fault in found)


def test_reversed_days_are_turned_on_request():
    text = "date,tmin,tmax\n2024-01-01,5,3\n2024-01-02,1,2\n"
    readings = read_weather(text, FileChoices(swap_reversed=True))
    assert (readings.days[0].tmin_c, readings.days[0].tmax_c) == (3.0, 5.0)
    assert readings.notes == ("Minimum and maximum turned on 1 days (rows 2).",)


def fahrenheit_file(days=40, low=66.0):
    rows = [f"2024-07-{day:02},{low + day % 7},{low + 20 + day % 5}" for day in range(1, 32)]
    rows += [f"2024-08-{day:02},{low + day % 7},{low + 20 + day % 5}" for day in range(1, days - 30)]
    return "date,tmin,tmax\n" + "\n".join(rows) + "\n"


def test_fahrenheit_is_named_once_not_per_row():
    (fault,) = faults_of(fahrenheit_file())
    assert "look like °F" in fault


def test_winter_in_fahrenheit_is_noticed_too():
    (fault,) = faults_of(fahrenheit_file(low=36.0))  # 36 to 60 °F: no value above 60
    assert "look like °F" in fault


def test_fahrenheit_is_read_when_it_is_said():
    readings = read_weather(fahrenheit_file(low=32.0), FileChoices(units="fahrenheit"))
    assert readings.days[0].tmin_c == pytest.approx(0.56, abs=0.01)


def test_tenths_of_a_degree_are_noticed():
    (fault,) = faults_of("date,tmin,tmax\n2024-07-01,117,256\n2024-07-02,120,260\n")
    assert "tenths" in fault


@pytest.mark.parametrize(
    ("data", "wrong"),
    [
        (b"", "the file is empty"),
        (b"  \n", "the file is empty"),
        (b"date,tmin,tmax\n", "there is no day in it"),
        (b"date,tmin\n2024-01-01,1\n", "there is no column tmax"),
        (b"a,b,c\n1,2,3\n", "there is no column date"),
        (b"date,tmin,tmax,tmax_c\n2024-01-01,1,2,3\n", "more than one column for tmax"),
        (b"date,tmin,tmax\n2024-01-01,1,2\n\xff\xfe9\n", "is not UTF-8"),
        ("date,tmin,tmax\n".encode("utf-16"), "UTF-16"),
        (b"date,tmin,tmax\n2024-01-01,1,\x00\n", "zero bytes"),
        (b"date,tmin,tmax\n2024-01-01,inf,2\n", "is not a number"),
        (b"date,tmin,tmax,rain\n2024-01-01,1,2,-4\n", "-4 mm lies outside"),
        (b"date,tmin,tmax,wind\n2024-01-01,1,2,400\n", "400 m/s lies outside"),
        (b"date,tmin,tmax\n20240101,1,2\n", "is not a date"),
    ],
)
def test_bad_files_say_what_is_wrong(data, wrong):
    assert any(wrong in fault for fault in faults_of(data))


def test_bad_byte_is_placed_in_its_row():
    (fault,) = faults_of(b"date,tmin,tmax\n2024-01-01,1,2\n2024-01-02,1,\xe9\n")
    assert fault.startswith("days.csv, row 3:")


def test_missing_marks_leave_a_day_without_temperatures():
    readings = read_weather("date,tmin,tmax\n2024-01-01,NA,5\n2024-01-02,-9999,-9999\n2024-01-03,1,4\n")
    assert [day.on for day in readings.days] == [date(2024, 1, 3)]
    assert readings.missing() == 2


def test_gaps_are_counted_and_long_ones_named():
    rows = [f"2024-03-{day:02},1,5" for day in (1, 2, 5, 6, 20, 21)]
    readings = read_weather("date,tmin,tmax\n" + "\n".join(rows))
    assert [(gap.first.day, gap.days, gap.is_bridged) for gap in readings.gaps()] == [(3, 2, True), (7, 13, False)]
    assert readings.missing() == 15
    report = gap_report(readings)
    assert "15 days lack a temperature, in 2 gaps" in report
    assert "2024-03-07 to 2024-03-19: 13 days, too long to bridge" in report


def test_days_outside_the_file_count_as_missing():
    assert seattle().missing(date(2011, 12, 30), date(2012, 1, 2)) == 2
    assert "No day is missing" in gap_report(seattle())


def test_unread_columns_are_mentioned():
    readings = read_weather("date,tmin,tmax,cloud\n2024-01-01,1,2,8\n")
    assert readings.notes == ("Columns not read: cloud.",)


# GHCN-Daily: layouts as documented by NOAA NCEI

BY_YEAR = (
    "USW00024233,20240101,TMAX,94,,,W,2400\n"
    "USW00024233,20240101,TMIN,28,,,W,2400\n"
    "USW00024233,20240102,TMAX,456,,X,W,2400\n"
    "USW00024233,20240102,TMIN,30,,,W,2400\n"
    "USW00024233,20240102,PRCP,12,P,,W,2400\n"
)


def test_by_year_layout_drops_flagged_values():
    readings = read_weather(BY_YEAR)
    first, second = readings.readings
    assert (first.tmin_c, first.tmax_c) == (2.8, 9.4)
    assert (second.tmin_c, second.tmax_c, second.rain_mm) == (3.0, None, None)
    assert "1 × X" in readings.notes[0]


def test_several_stations_must_be_told_apart():
    other = BY_YEAR.replace("USW00024233", "USC00451234")
    (fault,) = faults_of(BY_YEAR + other)
    assert "pick one of: USC00451234, USW00024233" in fault
    assert there(read_weather(BY_YEAR + other, FileChoices(station="USC00451234")).station).key == "USC00451234"
    (fault,) = faults_of(BY_YEAR, station="XX000000000")
    assert "is not in it" in fault


def test_daily_summaries_without_units_are_not_guessed():
    text = "STATION,NAME,DATE,TMAX,TMIN\nUSW00024233,SEATTLE,2024-01-01,49,37\nUSW00024233,SEATTLE,2024-01-02,50,39\n"
    (fault,) = faults_of(text)
    assert "say the units" in fault
    readings = read_weather(text, FileChoices(units="fahrenheit"))
    assert (readings.days[0].tmin_c, readings.days[0].tmax_c) == (2.78, 9.44)


def test_broken_archive_lines_are_named():
    good = "USW00024233202402TMAX" + "   94  S" * 29 + "-9999   " * 2
    assert len(good) == 269
    bad = good.replace("TMAX   94", "TMAX   9x", 1)
    found = faults_of(good.replace("TMAX", "TMIN").replace("   94", "   10") + "\n" + bad + "\nrubbish\n")
    assert any("row 2" in fault and "'   9x'" in fault for fault in found)
    assert any("row 3" in fault for fault in found)


def test_value_on_a_day_that_does_not_exist_is_a_fault():
    line = "USW00024233202402TMAX" + "   94  S" * 30 + "-9999   "
    assert any("day 30 of 2024-02" in fault for fault in faults_of(line))


def test_file_without_temperatures_is_refused():
    line = "USW00024233202401PRCQ" + "    0  S" * 31
    assert any("neither TMAX nor TMIN" in fault for fault in faults_of(line))
