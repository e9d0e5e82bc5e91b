"""Weather gates: dry spells, cold, heat, wind, and days nobody knows."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from business.errors import BadInput
from gardens.climate import DailyWeather, MonthlyNormals, ask_gate, estimated_normals, shipped_gates
from gardens.climate.gates import read_gates
from gardens.climate.values import Place

DAY = date(2026, 1, 10)
CALIFORNIA = estimated_normals(Place(latitude_deg=38.6, longitude_deg=-121.5))


def days(*values, start=DAY, **fields):
    return [
        DailyWeather(on=start + timedelta(days=step), tmin_c=low, tmax_c=high, rain_mm=rain, **fields)
        for step, (low, high, rain) in enumerate(values)
    ]


@pytest.mark.parametrize(
    ("gate", "rain", "answer"),
    [
        ("D24", (0, 0, 9), "open"),
        ("D24", (0, 1.0, 0), "closed"),
        ("D24", (2.4, 0, 0), "closed"),
        ("D48", (0, 0, 9), "closed"),
        ("D48", (0.4, 0.9, 0), "open"),
        ("D24", (0, None, 0), "unknown"),
        ("D24", (0,), "unknown"),
        ("D48", (None, 5, 0), "closed"),
        ("D5D", (0, 0, 0, 0, 0, 0), "open"),
        ("D5D", (0, 0, 0, 0, 0, 3), "closed"),
    ],
)
def test_dry_gates_look_as_far_as_they_say(gate, rain, answer):
    assert ask_gate(gate, DAY, days(*((2, 8, mm) for mm in rain))).answer == answer


def test_unknown_days_are_named():
    answer = ask_gate("D48", DAY, days((2, 8, 0)))
    assert (answer.answer, answer.missing) == ("unknown", (DAY + timedelta(days=1), DAY + timedelta(days=2)))
    assert not answer.is_open


@pytest.mark.parametrize(
    ("month", "day", "answer"), [(7, 25, "open"), (8, 31, "open"), (9, 20, "closed"), (12, 5, "closed")]
)
def test_six_dry_weeks_come_from_usual_rain(month, day, answer):
    # University of California: apricots by the end of August, on 15 September at the latest.
    found = ask_gate("D6W", date(2026, month, day), [], CALIFORNIA)
    assert (found.answer, found.from_normals) == (answer, True)


def test_six_dry_weeks_close_on_forecast_rain():
    summer = date(2026, 7, 25)
    found = ask_gate("D6W", summer, days((15, 30, 0), (15, 30, 12), start=summer), CALIFORNIA)
    assert (found.answer, found.from_normals) == ("closed", False)


def test_six_dry_weeks_are_unknown_without_usual_rain():
    dry = MonthlyNormals(tmin_c=(5.0,) * 12, tmax_c=(15.0,) * 12)
    assert ask_gate("D6W", DAY, days((5, 15, 0)), dry).answer == "unknown"
    assert ask_gate("D6W", DAY, days((5, 15, 0))).answer == "unknown"


MILD = (-5, 3, 0)


@pytest.mark.parametrize(
    ("before", "after", "answer"),
    [
        ([], [MILD] * 5, "open"),
        ([], [MILD] * 4 + [(-19, -8, 0)], "closed"),
        ([], [MILD] * 5 + [(-19, -8, 0)], "open"),
        ([(-20, -9, 0), MILD], [MILD] * 5, "closed"),
        ([(-20, -9, 0), MILD, MILD], [MILD] * 5, "open"),
        ([(-20, -9, 0), MILD, (-13, -2, 0), MILD], [MILD] * 5, "closed"),
        ([], [MILD] * 3, "unknown"),
    ],
)
def test_cold_stop_waits_before_and_after(before, after, answer):
    known = days(*before, *after, start=DAY - timedelta(days=len(before)))
    assert ask_gate("COLD_STOP", DAY, known).answer == answer


def test_peach_is_not_cut_before_a_cold_spell():
    # Check case: Virginia, 20 January, -12 °C forecast in three days.
    known = days((-1, 8, 0), (-2, 6, 0), (-5, 2, 0), (-12, -1, 0), (-6, 3, 0), (-2, 6, 0))
    assert ask_gate("COLD_PEACH", DAY, known).answer == "closed"
    assert ask_gate("COLD_STOP", DAY, known).answer == "open"


@pytest.mark.parametrize(
    ("low", "high", "answer", "word"),
    [(-8, -1, "closed", "thaw"), (-8, 4, "open", "wait until the wood has thawed"), (2, 9, "open", "no frost")],
)
def test_frozen_wood_waits_for_the_thaw(low, high, answer, word):
    found = ask_gate("NOFROZEN", DAY, days((low, high, 0)))
    assert found.answer == answer
    assert word in found.because


def test_heat_stop_needs_repeated_heat():
    # Check cases: 39 to 41 °C all week stops the work, 34 °C does not.
    july = date(2026, 7, 25)
    assert ask_gate("HEAT_STOP", july, days(*[(20, 40, 0)] * 4, start=july)).answer == "closed"
    assert ask_gate("HEAT_STOP", july, days(*[(18, 34, 0)] * 4, start=july)).answer == "open"
    assert ask_gate("HEAT_STOP", july, days((20, 39, 0), *[(18, 34, 0)] * 3, start=july)).answer == "open"
    assert ask_gate("HEAT_STOP", july, days((20, 39, 0), start=july)).answer == "unknown"


def test_wind_stops_ladders():
    assert ask_gate("LADDER", DAY, days((2, 8, 0), wind_ms=8.5)).answer == "closed"
    assert ask_gate("LADDER", DAY, days((2, 8, 0), wind_ms=5.0)).answer == "open"
    assert ask_gate("LADDER", DAY, days((2, 8, 0))).answer == "unknown"


@pytest.mark.parametrize(
    ("day", "wind", "answer"),
    [
        ((8, 18, 0), 2.0, "open"),
        ((8, 18, 4), 2.0, "closed"),
        ((8, 18, 0), 5.0, "closed"),
        ((18, 31, 0), 2.0, "closed"),
        ((8, 18, None), 2.0, "unknown"),
    ],
)
def test_paint_needs_a_dry_mild_still_day(day, wind, answer):
    assert ask_gate("PAINT", DAY, days(day, wind_ms=wind)).answer == answer


@pytest.mark.parametrize(("day", "answer"), [((-3, 8, 0), "closed"), ((0, 4, 0), "closed"), ((0, 6, 0), "open")])
def test_cold_wood_is_not_bent(day, answer):
    assert ask_gate("BEND", DAY, days(day)).answer == answer


@pytest.mark.parametrize("gate", sorted(shipped_gates()))
def test_every_gate_answers_with_reason_and_source(gate):
    none: list[DailyWeather] = []
    for known in (none, days(*[(2, 8, 0)] * 50, wind_ms=2.0), days(*[(-30, 45, 90)] * 50, wind_ms=30.0)):
        found = ask_gate(gate, DAY, known, CALIFORNIA)
        assert found.answer in ("open", "closed", "unknown")
        assert found.because
        assert found.why
        assert found.source


def test_unknown_gate_lists_the_known():
    with pytest.raises(BadInput, match="COLD_PEACH, COLD_POME, COLD_STOP"):
        ask_gate("D25", DAY, [])


def test_gate_file_reports_every_fault():
    text = """
[[gate]]
id = "A"
kind = "dry"
rain_mm = 1.0
why = "w"
source = "s"
[[gate]]
id = "A"
kind = "calm"
why = "w"
source = "s"
"""
    with pytest.raises(BadInput) as refusal:
        read_gates(text, "mine.toml")
    said = [str(fault) for fault in refusal.value.faults]
    assert said == [
        "mine.toml, A: a dry gate needs days_ahead (add days_ahead = …)",
        "mine.toml, A: a calm gate needs wind_ms (add wind_ms = …)",
        "mine.toml, A: the id is used twice (give every gate its own id)",
    ]
    with pytest.raises(BadInput) as refusal:
        read_gates('[[gate]]\nid = "A"\nkind = "wet"\nwhy = ""\nsorce = "s"\n', "mine.toml")
    assert {fault.where for fault in refusal.value.faults} == {
        "mine.toml, gate.0.kind",
        "mine.toml, gate.0.why",
        "mine.toml, gate.0.source",
        "mine.toml, gate.0.sorce",
    }
