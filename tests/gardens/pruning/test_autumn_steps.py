"""Work on shoots that are still to grow comes after they have grown."""

from __future__ import annotations

from datetime import date

from gardens.climate import Place, phenology_of, stage_dates
from gardens.knowledge import load_knowledge
from gardens.pruning.book import Traits, YearBook
from gardens.pruning.needs import needs_for_season
from gardens.pruning.seasons import Season
from gardens.training import Record, TrainingPractice, fold, steps_for_season
from gardens.training.state import TreeFacts

PLACE = Place(latitude_deg=51.0, longitude_deg=-2.8, timezone="Europe/London")
WHIP = TreeFacts(
    species="apple_spur",
    form="horizontal_tiers",
    rootstock="mm106",
    planted_on=date(2025, 12, 1),
    wire_heights_mm=(450, 900, 1350),
    run_left_mm=1900,
    run_right_mm=1900,
    height_mm=1900,
    tiers=3,
)


def needs_of(year: int, on: date, *records: Record):
    season = Season(
        place=PLACE, profile="maritime", year=year, stages=stage_dates(PLACE, phenology_of("apple_spur"), year)
    )
    species_year = YearBook(load_knowledge()).year("apple_spur", season, Traits(form=WHIP.form))
    state = fold(WHIP, records, on)
    steps = steps_for_season(state, year, practice=TrainingPractice(asks_for_upkeep=False))
    return needs_for_season(state, species_year, steps)


def test_arms_are_lowered_after_the_summer_they_grew_in():
    # Common practice: the new shoots grow a whole season on slanted canes before they are brought to the wire.
    lowering = next(need for need in needs_of(2026, date(2025, 12, 10)) if need.kind == "lower_arms")

    assert date(2026, 9, 1) <= lowering.window.best_from
    assert lowering.window.closes <= date(2027, 4, 1)


def test_the_cut_and_the_choice_come_before_them_in_the_season():
    needs = {need.kind: need.window for need in needs_of(2026, date(2025, 12, 10))}

    assert needs["head_back"].closes < needs["lower_arms"].opens
    assert needs["select_shoots"].opens < needs["lower_arms"].opens


def test_arms_that_stand_tied_since_summer_are_lowered_now():
    tied = [
        Record(on=date(2026, 1, 20), kind="done", what="head_back", limb="leader", value=500, key="1"),
        Record(on=date(2026, 5, 12), kind="done", what="select_shoots", limb="tier:1", key="2"),
        Record(on=date(2026, 7, 6), kind="done", what="tie_in", limb="tier:1", value=45, text="soft string", key="3"),
    ]
    found = [need for need in needs_of(2027, date(2026, 11, 25), *tied) if need.kind == "lower_arms"]
    ones = [need for need in found if need.limb in ("tier:1", "arm:1:left", "arm:1:right")]

    assert ones
    assert all(need.window.closes <= date(2027, 4, 1) for need in ones)
