"""climate: a weather file in, the figures of a span out, exit 2 with every fault."""

from __future__ import annotations

import json
from datetime import date, datetime
from io import StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from gardens.management.commands.climate import Command
from tests.gardens.climate.records import DATA, load

KEYS = [
    "days",
    "missing",
    "chill_hours",
    "utah_units",
    "chill_portions",
    "gdd",
    "gdh",
    "last_frost",
    "first_frost",
    "sunrise",
    "sunset",
    "day_length_h",
]
SEATTLE_FILE = str(DATA / "seattle_2012_2015.csv")


def question(**changes: str) -> list[str]:
    words = {
        "latitude": "47.45",
        "longitude": "-122.31",
        "timezone": "America/Los_Angeles",
        "from": "2012-01-01",
        "until": "2012-12-31",
    } | changes
    return [f"--{name}={value}" for name, value in words.items()]


def said(*arguments: str) -> tuple[str, str]:
    out, err = StringIO(), StringIO()
    call_command(Command(), *arguments, stdout=out, stderr=err)
    return out.getvalue(), err.getvalue()


def refused(*arguments: str) -> list[str]:
    with pytest.raises(CommandError) as refusal:
        said(*arguments)
    assert refusal.value.returncode == 2
    return str(refusal.value).splitlines()


@pytest.mark.parametrize("case", load("vectors.json")["cli_cases"], ids=lambda case: case["from"])
def test_whole_answers_for_seattle_as_json(case):
    words = {name: str(case[name]) for name in ("latitude", "longitude", "timezone", "from", "until", "base")}
    out, err = said(SEATTLE_FILE, *question(**words), "--json")
    answer, expected = json.loads(out), case["expect"]
    assert list(answer) == KEYS
    assert err == ""
    assert (answer["days"], answer["missing"]) == (expected["days"], expected["missing"])
    assert answer["chill_hours"] == pytest.approx(expected["chill_hours"], abs=1)
    assert answer["utah_units"] == pytest.approx(expected["utah_units"], abs=1)
    assert answer["chill_portions"] == pytest.approx(expected["chill_portions"], abs=0.05)
    assert answer["gdd"] == pytest.approx(expected["gdd"], abs=0.01)
    assert answer["gdh"] == pytest.approx(expected["gdh"], rel=0.001)
    for name in ("sunrise", "sunset"):
        ours, theirs = datetime.fromisoformat(answer[name]), datetime.fromisoformat(expected[name])
        assert abs((ours - theirs).total_seconds()) <= 60
    assert answer["day_length_h"] == pytest.approx(expected["day_length_h"], abs=0.034)
    if "last_frost" in expected:
        assert (answer["last_frost"], answer["first_frost"]) == (expected["last_frost"], expected["first_frost"])


def test_table_is_readable_and_without_json():
    out, _ = said(SEATTLE_FILE, *question())
    assert "Chill portions               159.8" in out
    assert "Last frost of spring         2012-03-19" in out
    assert "Sunrise on 2012-12-31        07:5" in out


@pytest.mark.parametrize("name", ["ghcn_sample.csv", "ghcn_sample.dly"])
def test_archive_files_are_read_too(name):
    span = {"from": "2013-02-01", "until": "2013-02-28"}
    out, err = said(str(DATA / name), *question(**span), "--json")
    answer = json.loads(out)
    assert (answer["days"], answer["missing"]) == (28, 3)
    assert answer["chill_portions"] > 15
    assert "3 missing days were bridged" in err
    assert "failed the archive's own checks" in err


def test_long_gap_answers_null_and_says_why(tmp_path):
    path = tmp_path / "gap.csv"
    lines = (DATA / "seattle_2012_2015.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    path.write_text("".join(line for line in lines if not "2012-05-01" <= line[:10] <= "2012-05-20"), encoding="utf-8")
    out, err = said(str(path), *question(), "--json")
    answer = json.loads(out)
    assert (answer["missing"], answer["chill_portions"], answer["gdd"]) == (20, None, None)
    assert answer["last_frost"] == "2012-03-19"
    assert "2012-05-01 to 2012-05-20: 20 days are missing" in err


def test_polar_day_has_null_times(tmp_path):
    path = tmp_path / "tromso.csv"
    rows = [f"{date(2024, 6, day)},6,12" for day in range(1, 31)]
    path.write_text("date,tmin,tmax\n" + "\n".join(rows), encoding="utf-8")
    words = question(
        latitude="69.65", longitude="18.96", timezone="Europe/Oslo", **{"from": "2024-06-01", "until": "2024-06-20"}
    )
    answer = json.loads(said(str(path), *words, "--json")[0])
    assert (answer["sunrise"], answer["sunset"], answer["day_length_h"]) == (None, None, 24.0)


def test_faults_of_question_and_file_come_together(tmp_path):
    path = tmp_path / "bad.csv"
    path.write_text("date,tmin,tmax\n2024-01-01,9,3\n2024-01-01,1,2\n", encoding="utf-8")
    lines = refused(str(path), *question(latitude="99", timezone="Mars/Base"))
    assert [line.split(":")[0] for line in lines] == [
        "--latitude",
        "--timezone",
        "bad.csv, row 2, tmin",
        "bad.csv, row 3, date",
    ]


def test_absent_file_and_backward_span_exit_two(tmp_path):
    lines = refused(str(tmp_path / "none.csv"), *question(until="2011-01-01"))
    assert len(lines) == 2
    assert "lies before 2012-01-01" in lines[0]
    assert "none.csv" in lines[1]


def test_fahrenheit_file_exits_two_or_is_converted(tmp_path):
    path = tmp_path / "f.csv"
    rows = [f"{date(2024, 7, day)},{60 + day % 5},{80 + day % 5}" for day in range(1, 32)]
    path.write_text("date,tmin,tmax\n" + "\n".join(rows), encoding="utf-8")
    span = {"from": "2024-07-01", "until": "2024-07-31"}
    (line,) = refused(str(path), *question(**span))
    assert "look like °F" in line
    answer = json.loads(said(str(path), *question(**span), "--units=fahrenheit", "--json")[0])
    assert answer["gdd"] == pytest.approx(31 * 12.2, rel=0.03)


def test_reversed_days_are_turned_on_request(tmp_path):
    path = tmp_path / "r.csv"
    rows = [f"{date(2024, 7, day)},{20 if day == 3 else 10},{10 if day == 3 else 20}" for day in range(1, 32)]
    path.write_text("date,tmin,tmax\n" + "\n".join(rows), encoding="utf-8")
    span = {"from": "2024-07-01", "until": "2024-07-31"}
    assert len(refused(str(path), *question(**span))) == 1
    out, err = said(str(path), *question(**span), "--turn-reversed", "--json")
    assert json.loads(out)["gdd"] == 155.0
    assert "turned on 1 days (rows 4)" in err
