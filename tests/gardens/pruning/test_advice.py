"""The whole answer: stages, due work, verdicts, warnings, forecast; and how a wrong question is refused."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date

import pytest

from business.errors import BadInput
from gardens.climate import MonthlyNormals, Place
from gardens.pruning import AdviceRequest, Situation, advice_as_dict, advice_as_text, advise, site_marks
from gardens.training.state import Record

ASKED = AdviceRequest(
    species="apple",
    form="horizontal_tiers",
    planted_on=date(2022, 12, 1),
    on=date(2026, 1, 15),
    place=Place(latitude_deg=52.0, longitude_deg=-1.0),
    tiers=3,
    rootstock="M26",
)
SACRAMENTO = MonthlyNormals(  # rounded, from memory: winter rain, dry summer
    tmin_c=(4, 6, 7, 8, 11, 14, 15, 15, 14, 10, 6, 4),
    tmax_c=(13, 16, 19, 22, 27, 31, 34, 33, 31, 26, 18, 13),
    rain_mm=(95, 95, 75, 30, 20, 5, 0, 0, 5, 25, 45, 90),
)


@pytest.fixture(scope="module")
def advice():
    return advise(ASKED)


def test_answer_holds_the_next_twelve_months(advice):
    for need in advice.due:
        assert need.window.closes >= ASKED.on
        assert need.window.opens <= date(2027, 1, 15)
    assert {"renew_ties", "inspect"} <= {need.kind for need in advice.due if ASKED.on in need.window}


def test_answer_speaks_of_every_kind_once(advice):
    allowed, forbidden = {v.kind for v in advice.allowed}, {v.kind for v in advice.forbidden}

    assert not allowed & forbidden
    assert "winter_prune" in allowed
    assert "summer_prune" in forbidden


def test_name_that_hides_a_choice_is_told(advice):
    assert advice.species == "apple_spur"
    assert any("tip bearers are apple_tip" in warning.text for warning in advice.warnings)


def test_forecast_runs_in_order(advice):
    full = advice.forecast

    assert full.full_p10 <= full.full_p50 <= full.full_p90


def test_answer_turns_into_json_and_text(advice):
    told = json.loads(json.dumps(advice_as_dict(advice)))

    assert {"stage", "stages", "due", "allowed", "forbidden", "forecast", "warnings"} <= set(told)
    assert set(told["due"][0]) >= {
        *("kind", "limb", "instruction", "opens", "best_from", "best_until", "closes", "why", "source", "minutes")
    }
    assert set(told["stages"]["leaf_fall"]) == {"date", "basis"}
    assert "Due in the next twelve months" in advice_as_text(advice, ASKED.on)


def test_seen_bloom_moves_the_summer_cut_by_as_many_days():
    usual = advise(replace(ASKED, on=date(2026, 5, 20)))
    seen_on = usual.stages["full_bloom"].on.replace(day=15, month=4)
    seen = advise(replace(ASKED, on=date(2026, 5, 20), observed={"full_bloom": seen_on}))
    earlier = (usual.stages["full_bloom"].on - seen_on).days

    def opens(advice):
        return next(need.window.opens for need in advice.due if need.rule == "apple_spur/summer_prune")

    assert abs((opens(usual) - opens(seen)).days - earlier) <= 1
    assert seen.stages["full_bloom"].basis == "observed"


def test_measured_leader_is_taken_into_the_state():
    tall = advise(replace(ASKED, planted_on=date(2025, 12, 1), leader_mm=1800))
    short = advise(replace(ASKED, planted_on=date(2025, 12, 1), leader_mm=500))

    assert (tall.state.leader_height_mm, short.state.leader_height_mm) == (1800, 500)


def test_recorded_disease_changes_what_is_asked_of_the_day():
    blight = Record(on=date(2025, 6, 1), kind="seen", what="disease", text="fire blight", key="1")
    advice = advise(replace(ASKED, records=(blight,), situation=Situation(rain_in_h=30)))

    assert next(v for v in advice.verdicts if v.kind == "winter_prune").code == "FIRE_BLIGHT"


@pytest.mark.parametrize("latitude", [-45.0, -37.0, 38.0, 45.0, 52.0, 60.0])
def test_any_latitude_is_answered(latitude):
    advice = advise(replace(ASKED, place=Place(latitude_deg=latitude, longitude_deg=0.0)))

    assert advice.due
    assert advice.verdicts


def test_every_fault_of_a_question_is_told_at_once():
    wrong = replace(
        ASKED, species="appel", form="trellis", planted_on=date(2027, 1, 1), tiers=40, leader_mm=-5, profile="alpine"
    )
    with pytest.raises(BadInput) as refusal:
        advise(wrong)

    assert {fault.where for fault in refusal.value.faults} == {
        "species",
        "form",
        "planted",
        "tiers",
        "leader",
        "profile",
    }
    assert all(fault.remedy for fault in refusal.value.faults)


@pytest.mark.parametrize(
    ("species", "form", "stock", "said"),
    [
        ("apple_spur", "fan", "M27", "too weak"),
        ("apple_spur", "oblique_cordon", "M25", "too strong"),
        ("apple_spur", "horizontal_tiers", "Z99", "is not known"),
        ("peach", "horizontal_tiers", None, "fan"),
        ("fig", "fan", None, "Fig sap"),
        ("gooseberry", "oblique_cordon", None, "thorny"),
    ],
)
def test_warnings_speak_of_form_stock_sap_and_thorns(species, form, stock, said):
    advice = advise(replace(ASKED, species=species, form=form, rootstock=stock, on=date(2026, 6, 20)))

    assert any(said in warning.text for warning in advice.warnings)
    assert all(warning.source for warning in advice.warnings)


def test_every_answer_defers_to_local_law_and_licence(advice):
    assert any(
        "Follow local law and codes" in warning.text and "licensed" in warning.text for warning in advice.warnings
    )


def test_marks_of_a_dry_summer_place_bound_its_dry_season():
    marks = site_marks(SACRAMENTO, Place(latitude_deg=38.6, longitude_deg=-121.5), 2026)

    assert date(2026, 4, 1) <= marks["spring_dry"].on <= date(2026, 5, 20)
    assert date(2026, 9, 25) <= marks["autumn_rain"].on <= date(2026, 11, 1)
    assert date(2026, 1, 5) <= marks["coldest_end"].on <= date(2026, 2, 10)


def test_marks_in_the_south_lie_half_a_year_on():
    turned = MonthlyNormals(
        tmin_c=SACRAMENTO.tmin_c[6:] + SACRAMENTO.tmin_c[:6],
        tmax_c=SACRAMENTO.tmax_c[6:] + SACRAMENTO.tmax_c[:6],
        rain_mm=SACRAMENTO.rain_mm[6:] + SACRAMENTO.rain_mm[:6],
    )
    north = site_marks(SACRAMENTO, Place(latitude_deg=38.6, longitude_deg=0.0), 2026)
    south = site_marks(turned, Place(latitude_deg=-38.6, longitude_deg=0.0), 2026)

    for name, mark in north.items():
        assert 176 <= (south[name].on - mark.on).days <= 188


def test_place_without_a_dry_season_has_no_marks_of_one():
    wet = replace(SACRAMENTO, rain_mm=(60,) * 12)

    assert set(site_marks(wet, Place(latitude_deg=52.0, longitude_deg=0.0), 2026)) == {"coldest_end"}
