"""Stage dates: seen before reckoned, weather before usual, north and south, every species."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gardens.climate import (
    NEXT_LEAF_FALL,
    MonthlyNormals,
    Place,
    Season,
    estimated_normals,
    phenology_of,
    season_weather,
    stage_dates,
    stages_in,
    with_warmth,
)
from gardens.climate.stages import ORDERS, TOO_LITTLE_CHILL
from gardens.climate.values import STAGES
from tests.gardens.climate.records import ALL_SPECIES, HASTINGS, LONDON, SEATTLE, seattle, seattle_normals

APPLE, PEAR = phenology_of("apple_spur"), phenology_of("pear_european")
PLACES = [
    LONDON,
    SEATTLE,
    HASTINGS,
    Place(latitude_deg=45.0, longitude_deg=-93.0),
    Place(latitude_deg=38.3, longitude_deg=-122.3),
]


def through(day):
    return [other for other in seattle().days if other.on <= day]


def test_all_species_of_the_trade_are_on_record():
    assert set(ALL_SPECIES) == {
        "apple_spur", "apple_part_tip", "apple_tip", "pear_european", "pear_asian", "quince", "medlar", "peach",
        "nectarine", "apricot", "almond", "plum_european", "plum_japanese", "cherry_sweet", "cherry_sour", "fig",
        "grape", "kiwifruit", "persimmon", "pomegranate", "mulberry", "citrus", "olive", "currant_red_white",
        "gooseberry", "raspberry_summer", "raspberry_autumn", "blackberry", "wisteria", "pyracantha", "camellia",
        "forsythia", "ornamental_quince",
    }  # fmt: skip


@pytest.mark.parametrize("place", PLACES, ids=lambda place: f"{place.latitude_deg:g}")
@pytest.mark.parametrize("species", ALL_SPECIES)
def test_stages_of_every_species_are_in_order(species, place):
    phenology = phenology_of(species)
    stages = stage_dates(place, phenology, 2026)
    for order in ORDERS:
        dates = [stages[stage].on for stage in order if stage in stages]
        assert dates == sorted(dates)
    assert set(stages) <= {*STAGES, NEXT_LEAF_FALL}
    assert all(stage.basis == "normals" for stage in stages.values())
    if phenology.is_evergreen:
        assert not {"leaf_fall", "dormant", "leaf_colour", NEXT_LEAF_FALL} & set(stages)
    else:
        assert stages["leaf_fall"].on < stages["dormant"].on
        assert stages["leaf_fall"].on < stages["bud_burst"].on < stages[NEXT_LEAF_FALL].on
        assert stages["leaf_colour"].on < stages[NEXT_LEAF_FALL].on
    season = Season(2026, place.is_southern)
    if "full_bloom" in stages:
        assert season.heat_from <= stages["full_bloom"].on <= season.on(9, 15, autumn=True)


def test_answer_stands_in_order_of_time():
    dates = [stage.on for stage in stage_dates(LONDON, APPLE, 2026).values()]
    assert dates == sorted(dates)


def test_apple_and_pear_have_every_stage():
    wanted = {*STAGES, NEXT_LEAF_FALL}
    assert set(stage_dates(LONDON, APPLE, 2026)) == wanted
    assert set(stage_dates(LONDON, PEAR, 2026)) == wanted


def test_southern_year_is_the_northern_half_a_year_on():
    normals = seattle_normals()
    turned = MonthlyNormals(
        tmin_c=normals.tmin_c[6:] + normals.tmin_c[:6], tmax_c=normals.tmax_c[6:] + normals.tmax_c[:6]
    )
    north = stage_dates(Place(latitude_deg=45.0, longitude_deg=0.0), APPLE, 2025, normals=normals)
    south = stage_dates(Place(latitude_deg=-45.0, longitude_deg=0.0), APPLE, 2025, normals=turned)
    assert set(north) == set(south)
    for stage, dated in north.items():
        assert abs((south[stage].on - dated.on).days - 182) <= 6, stage
    assert south["full_bloom"].on.year == 2025
    assert south["harvest_end"].on.year == 2026


def test_same_question_has_the_same_answer():
    assert stage_dates(LONDON, APPLE, 2027) == stage_dates(LONDON, APPLE, 2027)
    assert stage_dates(LONDON, APPLE, 2027)["full_bloom"].on.year == 2027


def test_weather_to_date_moves_the_coming_stages():
    warm = [replace(day, tmin_c=day.tmin_c + 3, tmax_c=day.tmax_c + 3) for day in through(date(2014, 3, 31))]
    usual = stage_dates(SEATTLE, PEAR, 2014, normals=seattle_normals(), as_of=date(2014, 3, 31))
    known = stage_dates(SEATTLE, PEAR, 2014, warm, seattle_normals(), as_of=date(2014, 3, 31))
    assert (usual["full_bloom"].basis, known["full_bloom"].basis) == ("normals", "weather")
    assert known["full_bloom"].on < usual["full_bloom"].on
    assert known["leaf_fall"].basis == "weather"
    assert known[NEXT_LEAF_FALL].basis == "normals"


def test_measured_season_rests_on_weather_throughout():
    stages = stage_dates(SEATTLE, APPLE, 2014, seattle().days, seattle_normals())
    assert {stage.basis for stage in stages.values()} == {"weather"}
    assert stages["last_frost"].on == stages["last_frost"].latest == date(2014, 2, 9)
    assert stages["first_frost"].on == date(2014, 11, 12)


def test_few_measured_days_leave_the_usual_date():
    late_start = [day for day in through(date(2014, 2, 10)) if day.on >= date(2014, 1, 20)]
    assert stage_dates(SEATTLE, APPLE, 2014, late_start, seattle_normals())["full_bloom"].basis == "normals"
    spring = [day for day in through(date(2014, 4, 10)) if day.on >= date(2014, 1, 10)]
    assert stage_dates(SEATTLE, APPLE, 2014, spring, seattle_normals())["full_bloom"].basis == "weather"


def test_weather_after_the_day_of_the_question_does_not_count():
    until = date(2014, 3, 15)
    whole = stage_dates(SEATTLE, APPLE, 2014, seattle().days, seattle_normals(), as_of=until)
    cut = stage_dates(SEATTLE, APPLE, 2014, through(until), seattle_normals())
    assert whole == cut


def test_ranges_narrow_as_the_season_goes_on():
    widths = []
    for as_of in (None, date(2014, 2, 1), date(2014, 5, 30)):
        known = () if as_of is None else through(as_of)
        bloom = stage_dates(SEATTLE, APPLE, 2014, known, seattle_normals())["full_bloom"]
        widths.append((bloom.latest - bloom.earliest).days)
    assert widths[0] >= widths[1] >= widths[2] > 0
    assert widths[0] > widths[2]


def test_sighting_wins_over_everything():
    seen = {"full_bloom": date(2014, 4, 2), "leaf_fall": date(2013, 11, 5)}
    stages = stage_dates(SEATTLE, APPLE, 2014, seattle().days, seattle_normals(), seen)
    for stage, on in seen.items():
        dated = stages[stage]
        assert (dated.on, dated.earliest, dated.latest, dated.basis) == (on, on, on, "observed")


@pytest.mark.parametrize("weather", [(), "to date"])
def test_early_bloom_moves_all_that_hangs_on_it(weather):
    known = seattle().days if weather else ()
    plain = stage_dates(SEATTLE, APPLE, 2014, known, seattle_normals())
    early = plain["full_bloom"].on - timedelta(days=9)
    moved = stage_dates(SEATTLE, APPLE, 2014, known, seattle_normals(), {"full_bloom": early})
    assert moved["shoot_ripe"].on == plain["shoot_ripe"].on - timedelta(days=9)
    assert moved["harvest_start"].on == plain["harvest_start"].on - timedelta(days=9)
    assert early < moved["petal_fall"].on < plain["petal_fall"].on
    assert moved["first_bloom"].on <= early
    assert moved[NEXT_LEAF_FALL].on == plain[NEXT_LEAF_FALL].on
    width = moved["petal_fall"].latest - moved["petal_fall"].earliest
    assert width <= plain["petal_fall"].latest - plain["petal_fall"].earliest


def test_early_bud_swell_pulls_bloom_a_little():
    plain = stage_dates(SEATTLE, APPLE, 2014, normals=seattle_normals())
    early = plain["bud_swell"].on - timedelta(days=14)
    moved = stage_dates(SEATTLE, APPLE, 2014, normals=seattle_normals(), observed={"bud_swell": early})
    ahead = (plain["full_bloom"].on - moved["full_bloom"].on).days
    assert 0 < ahead < 14
    assert moved["bud_burst"].on < plain["bud_burst"].on


def test_late_sighting_pushes_what_follows_behind_it():
    plain = stage_dates(LONDON, APPLE, 2026)
    late = plain["petal_fall"].on + timedelta(days=20)
    moved = stage_dates(LONDON, APPLE, 2026, observed={"first_bloom": late})
    assert moved["pink_bud"].on <= late <= moved["full_bloom"].on < moved["petal_fall"].on


@pytest.mark.parametrize(
    ("stage", "on"),
    [
        ("full_bloom", date(2013, 4, 20)),
        ("full_bloom", date(2013, 11, 1)),
        ("full_bloom", date(2014, 11, 1)),
        ("leaf_colour", date(2013, 10, 20)),
        ("first_frost", date(2013, 10, 20)),
        ("harvest_end", date(2013, 10, 20)),
    ],
)
def test_sightings_of_other_seasons_do_not_count(stage, on):
    plain = stage_dates(SEATTLE, APPLE, 2014, normals=seattle_normals())
    assert stage_dates(SEATTLE, APPLE, 2014, normals=seattle_normals(), observed={stage: on}) == plain


def test_sighting_after_the_day_of_the_question_does_not_count():
    seen = {"full_bloom": date(2014, 4, 2)}
    then = stage_dates(SEATTLE, APPLE, 2014, normals=seattle_normals(), observed=seen, as_of=date(2014, 4, 1))
    assert then["full_bloom"].basis == "normals"


def test_leaf_fall_seen_in_autumn_ends_the_season():
    stages = stage_dates(LONDON, APPLE, 2026, observed={"leaf_fall": date(2026, 11, 8)})
    assert stages[NEXT_LEAF_FALL].on == date(2026, 11, 8)
    assert stages["leaf_fall"].basis == "normals"


def test_last_years_oranges_are_not_this_years_harvest():
    seville = Place(latitude_deg=37.4, longitude_deg=-5.9, elevation_m=10)
    citrus = phenology_of("citrus")
    plain = stage_dates(seville, citrus, 2026)
    picked = {"harvest_start": plain["full_bloom"].on - timedelta(days=40)}
    assert stage_dates(seville, citrus, 2026, observed=picked)["harvest_start"].basis == "normals"
    picked = {"harvest_start": plain["full_bloom"].on + timedelta(days=230)}
    assert stage_dates(seville, citrus, 2026, observed=picked)["harvest_start"].basis == "observed"


def test_stage_the_model_lacks_is_kept_when_seen():
    stages = stage_dates(LONDON, phenology_of("fig"), 2026, observed={"fruit_set": date(2026, 6, 1)})
    assert stages["fruit_set"].basis == "observed"


def test_unknown_stage_is_a_mistake():
    with pytest.raises(ValueError, match="full_blom"):
        stage_dates(LONDON, APPLE, 2026, observed={"full_blom": date(2026, 5, 1)})


def test_too_little_chill_is_said():
    warm = MonthlyNormals(tmin_c=(17.0,) * 12, tmax_c=(26.0,) * 12)
    stages = stage_dates(Place(latitude_deg=20.0, longitude_deg=0.0), APPLE, 2026, normals=warm)
    assert stages["full_bloom"].note == TOO_LITTLE_CHILL
    assert stages["bud_swell"].note == TOO_LITTLE_CHILL
    assert "first_frost" not in stages
    assert stage_dates(LONDON, APPLE, 2026)["full_bloom"].note == ""
    peach = stage_dates(Place(latitude_deg=20.0, longitude_deg=0.0), phenology_of("peach"), 2026, normals=warm)
    assert peach["full_bloom"].note == TOO_LITTLE_CHILL


def test_arctic_summer_is_shown_as_too_cold():
    cold = MonthlyNormals(tmin_c=(-20.0,) * 12, tmax_c=(-5.0,) * 12)
    stages = stage_dates(Place(latitude_deg=66.0, longitude_deg=0.0), phenology_of("grape"), 2026, normals=cold)
    assert "warm enough" in stages["bud_burst"].note


def test_cultivars_differ_by_their_warmth():
    early = stage_dates(LONDON, phenology_of("apple_spur", cultivar="Topaz"), 2026)
    late = stage_dates(LONDON, phenology_of("apple_spur", cultivar="COX"), 2026)
    unknown = phenology_of("apple_spur", cultivar="Nobody's Pride")
    assert early["full_bloom"].on < late["full_bloom"].on
    assert unknown == APPLE


@pytest.mark.parametrize("species", ALL_SPECIES)
def test_one_season_serves_many_species(species):
    years = season_weather(LONDON.latitude_deg, Season(2026, is_southern=False), (), estimated_normals(LONDON))
    phenology = phenology_of(species)
    assert stages_in(years, phenology) == stage_dates(LONDON, phenology, 2026)


def test_answers_may_be_changed_without_harm():
    stage_dates(LONDON, APPLE, 2026).clear()
    assert stage_dates(LONDON, APPLE, 2026)


# What must hold for any weather


@given(
    st.floats(0.5, 5.0),
    st.sampled_from(["apple_spur", "pear_european", "cherry_sweet", "plum_european", "peach", "grape"]),
)
@settings(deadline=None, max_examples=25)
def test_warmer_spring_never_blooms_later(warmer, species):
    phenology = phenology_of(species)
    days = seattle().days
    from_march = [
        replace(day, tmin_c=day.tmin_c + warmer, tmax_c=day.tmax_c + warmer) if day.on >= date(2014, 3, 1) else day
        for day in days
    ]
    plain = stage_dates(SEATTLE, phenology, 2014, days, seattle_normals())
    warm = stage_dates(SEATTLE, phenology, 2014, from_march, seattle_normals())
    for stage in ("first_bloom", "full_bloom", "petal_fall"):
        assert warm[stage].on <= plain[stage].on


@given(st.floats(100, 4000))
@settings(deadline=None, max_examples=15)
def test_more_heat_needed_never_blooms_earlier(more):
    plain = stage_dates(LONDON, APPLE, 2026)
    late = stage_dates(LONDON, with_warmth(APPLE, more), 2026)
    assert late["full_bloom"].on >= plain["full_bloom"].on


@given(
    st.dictionaries(
        st.sampled_from(sorted({stage for order in ORDERS for stage in order})), st.integers(0, 360), max_size=5
    )
)
@settings(deadline=None, max_examples=40)
def test_any_sightings_leave_ranges_and_order_sound(offsets):
    seen = {stage: date(2026, 1, 1) + timedelta(days=days) for stage, days in offsets.items()}
    stages = stage_dates(LONDON, APPLE, 2026, observed=seen)
    for dated in stages.values():
        assert dated.earliest <= dated.on <= dated.latest
        assert (dated.basis == "observed") == (seen.get(dated.stage) == dated.on and dated.earliest == dated.latest)
    for order in ORDERS:
        reckoned = [stages[stage] for stage in order if stage in stages]
        for earlier, later in pairwise(reckoned):
            if later.basis != "observed":
                assert earlier.on <= later.on
