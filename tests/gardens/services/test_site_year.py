"""The year at a site: weather brought in, station and climate chosen, stages against the usual, warnings."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from business.errors import BadInput
from gardens.climate import DailyWeather, FileChoices, Place
from gardens.models import DailyWeather as DailyWeatherRow
from gardens.services.due import DueBook
from gardens.services.site_season import SeasonBook, site_profile
from gardens.services.site_year import site_year
from gardens.services.weather import (
    add_station,
    choose_station,
    gaps_of,
    import_weather,
    save_station,
    station_choices,
    store_days,
)
from tests import make, make_garden
from tests.gardens.services.stations import WARM_DRY_SUMMERS, mild_days, station

pytestmark = pytest.mark.django_db
DATA = Path(__file__).resolve().parents[2] / "data" / "climate"
TODAY = date(2027, 4, 10)


def brought(text, *, today=TODAY, **choices):
    return import_weather(station=station(), data=text, choices=FileChoices(file="week.csv", **choices), today=today)


def test_a_file_of_a_real_station_is_stored_once():
    place = station()
    data = (DATA / "seattle_2012_2015.csv").read_bytes()

    first = import_weather(station=place, data=data, choices=FileChoices(file="seattle.csv"), today=TODAY)
    again = import_weather(station=place, data=data, choices=FileChoices(file="seattle.csv"), today=TODAY)

    assert first.stored.added == 1461  # days of 2012 to 2015
    assert (again.stored.added, again.stored.changed, again.stored.same) == (0, 0, 1461)
    assert gaps_of(place) == ["2012-01-01 to 2015-12-31, 1461 days read. No day is missing."]


def test_gaps_of_a_station_are_told():
    place = station()
    days = [day for day in mild_days(date(2027, 1, 1), 60) if not date(2027, 1, 10) <= day.on <= date(2027, 1, 25)]
    store_days(station=place, days=days)

    assert "2027-01-10 to 2027-01-25: 16 days, too long to bridge." in gaps_of(place)


@pytest.mark.parametrize(
    ("text", "where", "wrong"),
    [
        ("date,tmin,tmax\n2027-04-01,9,3\n", "row 2", "lies above the maximum"),
        ("date,tmin,tmax\n2027-04-01,3,9\n2027-04-01,3,9\n", "row 3", "stands in row 2 already"),
        ("date,tmin,tmax\n2027-04-01,3,soon\n", "row 2", "soon"),
        ("date,tmin,tmax\n2027-04-01,55,75\n2027-04-02,57,81\n2027-04-03,50,71\n", "row", "°F"),
        ("date,tmin,tmax\n2028-04-01,3,9\n", "week.csv", "days ahead"),
        ("date,tmin,tmax\n2027-04-01,,\n", "week.csv", "no day has both"),
        ("", "week.csv", "empty"),
        ("name,age\nAnn,40\n", "week.csv", ""),
    ],
)
def test_a_wrong_file_is_refused_by_row(text, where, wrong):
    with pytest.raises(BadInput) as refusal:
        brought(text)

    assert any(where in fault.where and wrong in f"{fault.wrong} {fault.remedy}" for fault in refusal.value.faults)
    assert not DailyWeatherRow.objects.exists()


def test_a_file_without_bounds_is_refused_unread():
    with pytest.raises(BadInput, match="larger than 8 MB"):
        brought("x" * (8 * 1024 * 1024 + 1))


def test_days_to_come_are_a_forecast_until_measured():
    place = station()
    import_weather(
        station=place,
        data="date,tmin,tmax\n2027-04-09,2,9\n2027-04-10,1,8\n2027-04-12,-3,8\n",
        choices=FileChoices(),
        today=TODAY,
    )
    flags = dict(DailyWeatherRow.objects.values_list("on", "is_forecast"))
    assert flags == {date(2027, 4, 9): False, date(2027, 4, 10): True, date(2027, 4, 12): True}

    store_days(station=place, days=[DailyWeather(on=date(2027, 4, 12), tmin_c=-1, tmax_c=8)])

    assert not DailyWeatherRow.objects.get(on=date(2027, 4, 12)).is_forecast
    garden = make_garden.site(station=place, elevation_m=place.elevation_m)
    known = [day.on for day in SeasonBook(date(2027, 4, 20)).weather(garden, 2027).days]
    # The forecast of the 10th was never measured: once its day has passed it does not count.
    assert known == [date(2027, 4, 9), date(2027, 4, 12)]


def test_the_file_of_a_far_station_is_remarked_on():
    data = (DATA / "ghcn_sample.csv").read_bytes()

    report = import_weather(station=station(), data=data, choices=FileChoices(swap_reversed=True), today=TODAY).report

    assert "km from" in report[-1]
    assert "Is it the right file?" in report[-1]


def test_a_station_is_taken_by_distance_and_height():
    garden = make_garden.site(latitude_deg=51.0, longitude_deg=-2.8, elevation_m=20)
    station(code="hill", latitude_deg=51.05, longitude_deg=-2.8, elevation_m=420)
    vale = station(code="vale", latitude_deg=51.2, longitude_deg=-2.8, elevation_m=25)

    ranked = station_choices(garden)

    # 22 km at the same height beat 6 km and 400 m: 100 m of height count as 10 km (gardens.climate.stations).
    assert [place.code for place, _ in ranked] == ["vale", "hill"]
    choose_station(site=garden, station=ranked[0][0])
    garden.refresh_from_db()
    assert garden.station == vale
    choose_station(site=garden, station=None)
    garden.refresh_from_db()
    assert garden.station is None


def test_a_new_station_needs_a_code_of_its_own():
    place = Place(latitude_deg=51, longitude_deg=-2)
    add_station(code="moor", name="Moor", place=place)
    with pytest.raises(BadInput, match="another station"):
        add_station(code="moor", name="Moor again", place=place)
    with pytest.raises(BadInput):
        add_station(code="no good", name="", place=place)


def test_site_then_business_then_weather_decide_the_climate():
    dry = save_station(
        code="dry", name="Dry", place=Place(latitude_deg=38, longitude_deg=-122), normals=WARM_DRY_SUMMERS
    )
    own = make_garden.site(climate_profile="continental_cold")
    plain = make_garden.site(climate_profile="", station=dry)

    assert site_profile(own, "maritime").profile == "continental_cold"
    assert (site_profile(plain, "maritime").profile, site_profile(plain, "maritime").said_by) == (
        "maritime",
        "business",
    )
    found = site_profile(plain, "")
    assert (found.profile, found.said_by) == ("mediterranean", "weather")
    assert "mm in the driest month of summer" in found.why
    assert found.source


def test_the_derived_climate_decides_what_is_due():
    make.profile(climate_profile="")
    wet, dry = (
        make_garden.site(climate_profile="", latitude_deg=51.0, longitude_deg=-2.8),
        make_garden.site(climate_profile="", latitude_deg=38.6, longitude_deg=-121.5, time_zone="America/Los_Angeles"),
    )
    rules = []
    for garden in (wet, dry):
        tree = make_garden.tree(
            support=make_garden.support(site=garden), species="plum_european", form="fan", rootstock="",
            planted_on=date(2015, 12, 1),
        )  # fmt: skip
        needs = DueBook(date(2027, 1, 10)).work_of(garden, tree, 2027).work.needs
        rules.append({need.rule for need in needs})
    assert "plum_european/summer_prune" in rules[0]
    assert "plum_european/winter_prune_dry" in rules[1] - rules[0]


def test_a_warm_spring_is_early_against_the_usual():
    garden = make_garden.site(station=station(), elevation_m=20)
    store_days(station=garden.station, days=mild_days(date(2026, 8, 1), 252, warmer=4.0))
    make_garden.tree(support=make_garden.support(site=garden))

    page = site_year(garden, TODAY)

    bloom = next(row for row in page.stages if row.this.stage == "full_bloom")
    assert bloom.this.basis == "weather"
    assert bloom.days_early is not None
    assert bloom.days_early >= 5
    assert page.chart.heat.ahead_days is not None
    assert page.chart.heat.ahead_days > 5
    assert (page.chosen, page.year) == ("apple_spur", 2027)
    assert page.measured_until == date(2027, 4, 9)


def test_frost_on_open_bloom_is_warned_of_with_its_day():
    garden = make_garden.site(station=station(), elevation_m=20)
    days = list(mild_days(date(2027, 1, 1), 99))
    night = DailyWeather(on=date(2027, 4, 12), tmin_c=-4.5, tmax_c=7, rain_mm=0)
    store_days(station=garden.station, days=[*days, night], forecast_from=TODAY)
    row = make_garden.support(site=garden)
    trees = [make_garden.tree(support=row, position_mm=2000 + 3000 * number) for number in range(2)]
    make_garden.record(
        tree=trees[0], on=date(2027, 4, 9), kind="seen", what="stage", limb="whole", value=None, text="full_bloom"
    )

    (frost,) = [row for row in site_year(garden, TODAY).warnings if row.warning.kind == "frost_on_buds"]

    assert frost.warning.first == date(2027, 4, 12)
    # At full bloom -3.9 °C kill nine in ten apple buds (Washington State University, EB0913).
    assert frost.warning.amount > 0.9
    assert list(frost.trees) == trees


def test_rain_is_warned_of_while_stone_fruit_is_cut():
    garden = make_garden.site(station=station(), elevation_m=20)
    today = date(2027, 7, 1)
    dry = mild_days(date(2027, 4, 1), 91)
    wet = [DailyWeather(on=today + timedelta(days=ahead), tmin_c=12, tmax_c=18, rain_mm=6) for ahead in range(5)]
    store_days(station=garden.station, days=[*dry, *wet], forecast_from=today)
    row = make_garden.support(site=garden)
    plum = make_garden.tree(
        support=row, species="plum_european", form="fan", rootstock="", planted_on=date(2015, 12, 1)
    )
    make_garden.tree(support=row, position_mm=6000, planted_on=date(2015, 12, 1))

    rows = [row for row in site_year(garden, today).warnings if row.warning.kind == "wet_spell"]

    assert rows
    assert all(row.trees == (plum,) for row in rows)
    assert rows[0].warning.amount == 30.0


def test_drought_names_litres_for_young_trees_only():
    garden = make_garden.site(station=station(), elevation_m=20)
    today = date(2027, 7, 20)
    hot = [DailyWeather(on=today - timedelta(days=back), tmin_c=14, tmax_c=29, rain_mm=0) for back in range(70, -1, -1)]
    store_days(station=garden.station, days=hot, forecast_from=today)
    row = make_garden.support(site=garden)
    young = make_garden.tree(support=row, planted_on=date(2026, 12, 1))
    make_garden.tree(support=row, position_mm=6000, planted_on=date(2015, 12, 1))

    (drought,) = [row for row in site_year(garden, today).warnings if row.warning.kind == "drought"]

    assert drought.trees == (young,)
    assert f"Give {drought.warning.amount:g} litres" in drought.warning.text
    assert 1 <= drought.warning.amount <= 200


def test_blooms_seen_in_earlier_years_teach_the_next():
    garden = make_garden.site(station=station(), elevation_m=20)
    store_days(station=garden.station, days=mild_days(date(2024, 8, 1), 2 * 365 + 251))
    tree = make_garden.tree(support=make_garden.support(site=garden))
    before = site_year(garden, TODAY)
    bloom = next(row.this.on for row in before.stages if row.this.stage == "full_bloom")
    for year in (2025, 2026):
        make_garden.record(
            tree=tree, on=bloom.replace(year=year) - timedelta(days=12), kind="seen", what="stage", limb="whole",
            value=None, text="full_bloom",
        )  # fmt: skip

    after = site_year(garden, TODAY)

    assert after.learned is not None
    assert after.learned.used == (2025, 2026)
    assert after.learned.shift_gdh < 0
    learnt = next(row.this.on for row in after.stages if row.this.stage == "full_bloom")
    assert learnt < bloom


def test_a_southern_garden_has_its_own_year():
    garden = make_garden.site(latitude_deg=-41.3, longitude_deg=173.2, time_zone="Pacific/Auckland")
    make_garden.tree(support=make_garden.support(site=garden))

    page = site_year(garden, date(2027, 4, 10))

    assert page.year == 2026
    bloom = next(row for row in page.stages if row.this.stage == "full_bloom")
    assert bloom.this.on.month in (9, 10, 11)
