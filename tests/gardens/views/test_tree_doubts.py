"""A form that does not suit is never accepted silently: the tree's page says so, once, with the reason and source."""

from __future__ import annotations

import pytest
from django.urls import reverse

from business.models import Staff
from tests import make, make_garden

pytestmark = pytest.mark.django_db


@pytest.fixture
def office(client):
    client.force_login(make.staff(role=Staff.Role.OFFICE))
    return client


def page(client, tree):
    return client.get(reverse("tree", args=[tree.pk])).content.decode()


def test_peach_on_tiers_is_doubted_once_on_its_page(office):
    """Royal Horticultural Society, profile 625: peaches are not for tiers; a fan suits them."""
    shown = page(office, make_garden.tree(species="peach", rootstock="st_julien_a"))

    assert "What speaks against it" in shown
    assert shown.count("Better: fan") == 1
    assert "Royal Horticultural Society" in shown[shown.index("What speaks against it") :]


def test_apple_on_tiers_with_its_room_is_not_doubted(office):
    assert "What speaks against it" not in page(office, make_garden.tree())
