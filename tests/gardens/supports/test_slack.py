"""From a sag or a pull in the garden to a tension and a verdict."""

from __future__ import annotations

from math import inf

import pytest

from gardens.supports import (
    Load,
    SagReading,
    Strung,
    judge_pull,
    judge_slack,
    loaded_tension_n,
    tension_from_sag_n,
    wire,
)
from gardens.supports.slack import pull_adds_n, tension_without_load_n
from gardens.supports.statics import sag_under_m

SOFT = wire(2.0)


def judged(sag_mm: float, *, span_mm: float = 1800, load_n_m: float = 0, on_wall: bool = True):
    reading = SagReading(sag_mm=sag_mm, span_mm=span_mm, load_n_m=load_n_m)
    return judge_slack(SOFT, reading, wanted_n=200, on_wall=on_wall)


def test_sag_gives_the_tension_of_the_parabola():
    # w·L²/(8·d): 2 mm wire weighs 0.2418 N/m; 20 mm over 1.8 m → 4.9 N.
    assert tension_from_sag_n(SOFT, SagReading(sag_mm=20, span_mm=1800)) == pytest.approx(4.9, abs=0.05)
    assert tension_from_sag_n(SOFT, SagReading(sag_mm=0, span_mm=1800)) == inf


def test_loaded_sag_leads_back_to_the_tension_strung():
    strung, load = Strung(wire=SOFT, span_m=1.8, tension_n=200), 16.0
    acting = Load(per_metre_n=SOFT.weight_n_m + load)
    sag_mm = sag_under_m(acting, span_m=1.8, tension_n=loaded_tension_n(strung, acting)) * 1000

    reading = SagReading(sag_mm=sag_mm, span_mm=1800, load_n_m=load)

    assert tension_without_load_n(SOFT, reading) == pytest.approx(200, abs=0.5)
    assert judged(sag_mm, load_n_m=load).verdict == "fine"


@pytest.mark.parametrize(
    ("sag_mm", "verdict"),
    [(0, "not_proved"), (2, "not_proved"), (5, "near_its_limit"), (10, "not_enough"), (35, "not_enough")],
)
def test_more_sag_never_makes_a_better_verdict(sag_mm, verdict):
    assert judged(sag_mm).verdict == verdict


def test_limit_of_the_wall_is_stricter_than_that_of_the_row():
    on_wall = judged(35, span_mm=2500, load_n_m=30)
    in_row = judged(35, span_mm=2500, load_n_m=30, on_wall=False)

    assert "at most 30 mm" in on_wall.text
    assert in_row.verdict != "not_enough"


def test_instruction_begins_with_the_act():
    assert judged(35).text.startswith("Tighten to 200 N:")
    assert judged(1).text.startswith("This reading cannot tell")


def test_reading_error_is_carried_to_the_tension():
    slack = judged(10)

    assert slack.low_n < slack.tension_n < slack.high_n


def test_pull_gauge_reads_too_high_on_a_short_wire():
    # The pull draws the wire 0.31 mm longer: 628 kN·0.3125 mm/1.8 m = 109 N too much on one held span.
    assert pull_adds_n(SOFT, free_run_mm=1800) == pytest.approx(109, abs=0.5)
    assert pull_adds_n(SOFT, free_run_mm=40_000) < 5
    assert judge_pull(SOFT, pull_n=10, free_run_mm=1800, wanted_n=200).verdict == "near_its_limit"
    assert judge_pull(SOFT, pull_n=10, free_run_mm=40_000, wanted_n=200).verdict == "fine"


@pytest.mark.parametrize("facts", [{"sag_mm": 5, "span_mm": 0}, {"sag_mm": -1, "span_mm": 1000}])
def test_impossible_readings_are_refused(facts):
    with pytest.raises(ValueError, match="span must be above zero"):
        SagReading(**facts)
