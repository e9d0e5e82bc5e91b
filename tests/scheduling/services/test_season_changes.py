"""What moved when a season is worked out again: the pure account, and on rows after a sighting and new weather."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from django.urls import reverse

from gardens.climate import DailyWeather
from gardens.services.rules import override_rule
from gardens.services.weather import store_days
from scheduling.models import Need, Season, SiteStages, Visit
from scheduling.services.season_changes import DatedTask, NeedMove, StageMove, account_of
from scheduling.services.seasons import plan_season
from tests import make, make_garden
from tests.gardens.services.stations import mild_days, station

WINDOW = (date(2027, 4, 20), date(2027, 4, 25), date(2027, 5, 5), date(2027, 5, 10))


def stage(name="full_bloom", days=-9, site="Mill House", species="apple_spur"):
    before = date(2027, 4, 28)
    return StageMove(site=site, species=species, stage=name, before=before, after=before + timedelta(days=days))


def need(number=1, days=-9):
    after = tuple(day + timedelta(days=days) for day in WINDOW)
    return NeedMove(
        need=number, tree=number, label=f"Apple {number}", site="Mill House", kind="thin_fruit", before=WINDOW,
        after=after,
    )  # fmt: skip


def task(number=1, on=date(2027, 5, 8), days=-9, visit=7):
    return DatedTask(
        visit=visit, on=on, site="Mill House", need=number, kind="thin_fruit",
        opens=WINDOW[0] + timedelta(days=days), closes=WINDOW[3] + timedelta(days=days),
    )  # fmt: skip


def test_the_headline_tells_stage_needs_and_visits():
    account = account_of([stage()], [need(1), need(2)], [task(1), task(2)])

    assert account is not None
    assert account.headline == (
        "Full bloom 9 days earlier at Mill House: 2 needs moved, 1 visit now outside their window"
    )
    (outside,) = account.visits
    assert (outside.visit, outside.on, outside.kinds) == (7, date(2027, 5, 8), ("thin_fruit",))


@pytest.mark.parametrize(
    ("stages", "begin"),
    [
        ([], "1 need moved"),
        ([stage(days=1)], "Full bloom 1 day later at Mill House: "),
        ([stage(), stage(days=-4, site="Garth")], "Full bloom up to 9 days earlier at 2 sites: "),
        ([stage("bud_burst", -20), stage(days=-3)], "Full bloom 3 days earlier at Mill House: "),
        ([stage("bud_burst", -2), stage("harvest_start", 6)], "Harvest start 6 days later at Mill House: "),
        ([stage(days=0)], "1 need moved"),
    ],
)
def test_full_bloom_leads_else_what_moved_furthest(stages, begin):
    account = account_of(stages, [need()], [])

    assert account is not None
    assert account.headline.startswith(begin)
    assert account.headline.endswith("1 need moved")


def test_nothing_moved_needs_no_account():
    assert account_of([stage()], [], [task()]) is None
    assert account_of([], [need(days=0)], [task(days=0)]) is None


@pytest.mark.parametrize(
    ("on", "is_outside"),
    [
        (date(2027, 5, 1), False),  # the last day of the new window
        (date(2027, 5, 2), True),
        (date(2027, 5, 10), True),  # the last day of the old one
        (date(2027, 5, 11), False),  # was outside before: no news
        (date(2027, 4, 12), False),  # inside the new window only
    ],
)
def test_a_visit_is_news_if_its_day_fitted_before(on, is_outside):
    account = account_of([], [need()], [task(on=on)])

    assert account is not None
    assert bool(account.visits) is is_outside


def test_the_kept_account_is_bounded():
    account = account_of([stage()], [need(number, days=number) for number in range(1, 200)], [])
    assert account is not None

    kept = account.kept(datetime(2027, 4, 1, tzinfo=UTC))

    assert kept["need_count"] == 199
    assert len(kept["needs"]) == 60
    assert kept["needs"][0]["days"] == 199


@pytest.fixture
def garden(db, time_machine):
    time_machine.move_to("2027-04-10 09:00:00+00:00", tick=False)
    make.profile(climate_profile="maritime")
    where = make_garden.site(name="Mill House", station=station(), elevation_m=20)
    store_days(station=where.station, days=mild_days(date(2026, 8, 1), 240))
    row = make_garden.support(site=where)
    for number in range(2):
        make_garden.tree(support=row, position_mm=2000 + 3900 * number, planted_on=date(2018, 11, 20))
    make_garden.crew()
    return where


def test_the_first_plan_has_nothing_to_compare(garden):
    outcome = plan_season(2027)

    assert outcome.moved == ""
    assert Season.objects.get().changes == []
    stages = SiteStages.objects.get()
    assert date.fromisoformat(stages.days["apple_spur"]["full_bloom"]).year == 2027


def test_an_early_sighting_tells_what_moved_and_which_visit(garden, client):
    plan_season(2027)
    predicted = date.fromisoformat(SiteStages.objects.get().days["apple_spur"]["full_bloom"])
    tree = garden.trees.first()
    late = (
        Need.objects.filter(tree=tree, opens__gt=predicted, closes__gt=date(2027, 5, 1), state="open")
        .order_by("closes", "pk")
        .first()
    )
    assert late is not None
    late.tasks.all().delete()  # off the suggested visit and onto one with a day: the last of its window
    visit = make_garden.visit(needs=(late,), season=late.season, on=late.closes, crew=make_garden.crew())
    make_garden.record(
        tree=tree, on=date(2027, 4, 8), kind="seen", what="stage", limb="whole", value=None, text="full_bloom"
    )

    outcome = plan_season(2027)

    early = (predicted - date(2027, 4, 8)).days
    assert early > 3
    assert outcome.moved.startswith(f"Full bloom {early} days earlier at Mill House: ")
    assert "1 visit now outside their window" in outcome.moved
    account = Season.objects.get().changes[0]
    assert account["visits"][0]["visit"] == visit.pk
    assert account["need_count"] > 1
    assert Visit.objects.get(pk=visit.pk).on == late.closes  # told, not moved

    client.force_login(make.staff(role="office"))
    page = client.get(reverse("season-year", args=[2027])).content.decode()
    assert outcome.moved in page
    assert reverse("visit", args=[visit.pk]) in page.split('id="moved"')[1].split("</section>")[0]


def test_new_weather_tells_what_moved_once(garden):
    plan_season(2027)
    cold = [
        DailyWeather(on=date(2027, 3, 29) + timedelta(days=step), tmin_c=-6, tmax_c=1, rain_mm=0) for step in range(12)
    ]
    store_days(station=garden.station, days=cold)

    first, again = plan_season(2027), plan_season(2027)

    assert "Full bloom" in first.moved
    assert "later" in first.moved
    assert again.moved == ""
    assert len(Season.objects.get().changes) == 1


def test_a_house_rule_moves_needs_without_a_stage(garden):
    plan_season(2027)
    override_rule(
        rule="apple_spur/summer_prune",
        changes={"closes": "later(shoot_ripe+21d, terminal_bud+21d)"},
        reason="Our valley is cold.",
        by=make.staff(),
    )

    outcome = plan_season(2027)

    assert outcome.moved.endswith("needs moved")
    assert outcome.moved[0].isdecimal()


def test_only_the_last_twelve_accounts_are_kept(garden):
    season = Season.objects.create(year=2027, changes=[{"headline": f"old {number}"} for number in range(12)])
    plan_season(2027)
    store_days(station=garden.station, days=mild_days(date(2027, 1, 1), 99, warmer=5.0))

    plan_season(2027)

    season.refresh_from_db()
    assert len(season.changes) == 12
    assert "moved" in season.changes[0]["headline"]
