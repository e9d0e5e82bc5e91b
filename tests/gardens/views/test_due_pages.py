"""Pages that tell what is due: the rule behind each need, what a sighting moves, ties and crops to mind."""

from __future__ import annotations

from datetime import date

import pytest
from django.urls import reverse

from gardens.services.rules import override_rule
from gardens.services.weather import store_days
from scheduling.models import Need, Season
from scheduling.services.seasons import plan_season
from tests import make, make_garden
from tests.gardens.services.stations import mild_days, station

TODAY = "2027-04-10 09:00:00+00:00"


@pytest.fixture
def office(db, client, time_machine):
    time_machine.move_to(TODAY, tick=False)
    make.profile(climate_profile="maritime")
    owner = make.staff(role="owner")
    client.force_login(owner)
    client.owner = owner
    return client


@pytest.fixture
def apple(office):
    garden = make_garden.site(name="Mill House", station=station(), elevation_m=20)
    store_days(station=garden.station, days=mild_days(date(2026, 8, 1), 240))
    return make_garden.tree(support=make_garden.support(site=garden), planted_on=date(2018, 11, 20))


def test_a_need_links_to_its_rule_and_tells_house_rules(office, apple):
    address = reverse("rule", args=["apple_spur", "summer_prune"])
    page = office.get(reverse("tree", args=[apple.pk])).content.decode()
    assert f'href="{address}"' in page

    override_rule(
        rule="apple_spur/summer_prune",
        changes={"why": "we cut early here"},
        reason="our soil is rich",
        by=office.owner,
    )
    page = office.get(reverse("tree", args=[apple.pk])).content.decode()
    assert "e cut early here" in page
    assert "our soil is rich" in page
    plan_season(2027)
    assert Need.objects.filter(rule="apple_spur/summer_prune", why__contains="we cut early here").exists()


def test_a_bloom_recorded_on_the_page_moves_the_season(office, apple):
    plan_season(2027)
    answer = office.post(
        reverse("tree-record", args=[apple.pk]),
        {"on": "2027-04-08", "what": "seen:stage", "limb": "whole", "value": "", "text": "full_bloom"},
    )
    assert answer.status_code in (200, 302), answer.content.decode()[:2000]

    plan_season(2027)

    headline = Season.objects.get().changes[0]["headline"]
    assert headline.startswith("Full bloom ")
    assert "earlier at Mill House" in headline
    page = office.get(reverse("season-year", args=[2027])).content.decode()
    assert headline in page


def test_the_year_of_a_site_tells_of_ties_and_crop(office, apple):
    make_garden.record(
        tree=apple, on=date(2026, 11, 10), kind="done", what="tie_in", limb="tier:1", value=None, text="jute"
    )
    make_garden.record(tree=apple, on=date(2027, 4, 1), kind="measured", what="trunk_girth", limb="trunk", value=120)
    make_garden.record(tree=apple, on=date(2027, 4, 9), kind="seen", what="fruit_count", limb="whole", value=300)

    page = office.get(reverse("site-year", args=[apple.site_id])).content.decode()

    assert "Overbearing" in page
    assert "for each cm² of trunk" in page


def test_a_lateral_recorded_on_the_page_is_cut_after_picking(office):
    peach = make_garden.tree(species="peach", form="fan", rootstock="", planted_on=date(2018, 11, 20))
    page = office.get(reverse("tree", args=[peach.pk]))
    keys = [key for key, _ in page.context["form"].fields["limb"].choices if key.startswith("lateral:")]
    assert keys
    answer = office.post(
        reverse("tree-record", args=[peach.pk]),
        {"on": "2027-04-09", "what": "seen:fruit_count", "limb": keys[0], "value": "3", "text": "born:2026"},
    )
    assert answer.status_code == 302
    plan_season(2027)
    needs = Need.objects.filter(tree=peach, kind="renew_wood")
    assert any(f"Cut {keys[0]} back" in need.instruction for need in needs)
