"""Rules and the year at a site in a real browser: in order for readers by ear, within a phone's width."""

from __future__ import annotations

from datetime import date

import pytest
from django.urls import reverse

from gardens.services.rules import override_rule
from gardens.services.weather import store_days
from tests import make, make_garden
from tests.browser.windows import accessibility_faults, is_wider_than_the_screen
from tests.gardens.services.stations import mild_days, station


@pytest.mark.parametrize("width", [360, 1440])
def test_pages_of_rules_and_weather_are_in_order(open_page, office, width):
    make.profile(climate_profile="")
    garden = make_garden.site(station=station(), climate_profile="")
    store_days(station=garden.station, days=mild_days(date(2026, 1, 1), 60))
    tree = make_garden.tree(support=make_garden.support(site=garden), species="plum_european", form="fan", rootstock="")
    override_rule(rule="stone/silver_leaf", changes={"to": "month:05-15"}, reason="Dry springs.", by=office)

    for address in (
        reverse("rule", args=["stone", "silver_leaf"]),
        reverse("rules-species", args=[tree.species]),
        reverse("rules-form", args=[tree.form]),
        reverse("site-year", args=[garden.pk]) + "?year=2026",
        reverse("station", args=[garden.station_id]),
    ):
        page = open_page(address, office, width=width)
        assert accessibility_faults(page) == []
        assert not is_wider_than_the_screen(page)
