"""The planting designer: what fits, what speaks against it, what is kept."""

from __future__ import annotations

from datetime import date
from itertools import pairwise

import pytest
from django.urls import reverse

from business.errors import BadInput
from business.models import Staff
from gardens.models import Tree, Wire
from gardens.services.designer import Wish, design, keep_design, plant
from tests import make, make_garden

pytestmark = pytest.mark.django_db


def wish(**values) -> Wish:
    defaults = {
        "species": "apple_spur",
        "form": "horizontal_tiers",
        "rootstock": "mm106",
        "planted_on": date(2026, 12, 1),
    }
    return Wish(**{**defaults, **values})


@pytest.fixture
def wall():
    return make_garden.support(kind="wall", length_mm=12_000, height_mm=2200, gap_mm=150, wires=())


def test_trees_fit_the_room_and_do_not_overlap(wall):
    found = design(wall, wish())

    edges = [
        (position - facts.run_left_mm, position + facts.run_right_mm)
        for facts, position in zip(found.trees, found.positions_mm, strict=True)
    ]
    assert edges[0][0] >= 0
    assert edges[-1][1] <= 12_000
    assert all(one[1] <= two[0] + 1 for one, two in pairwise(edges))
    # RHS espalier advice as kept in forms/horizontal_tiers.toml: 3.75 to 6 m from tree to tree.
    assert 3000 <= found.spacing_mm <= 6000


def test_a_design_says_when_it_is_full_and_what_work_it_makes(wall):
    found = design(wall, wish())

    assert found.forecast.full_p10 <= found.forecast.full_p50 <= found.forecast.full_p90
    assert found.minutes_per_year[0][1] > 0
    assert found.drawing.startswith("<svg")
    # Common practice: a trained tree takes about 0.9 to 1.2 m of depth at most.
    assert found.depth_mm <= 1200


def test_peach_on_tiers_is_never_accepted_silently(wall):
    found = design(wall, wish(species="peach", rootstock="st_julien_a"))

    assert any(doubt.about == "form" and doubt.source for doubt in found.doubts)


@pytest.mark.parametrize(
    ("changes", "where"),
    [
        ({"form": "topiary"}, "form"),
        ({"from_mm": 13_000}, "from"),
        ({"from_mm": 2000, "run_mm": 11_000}, "run"),
        ({"run_mm": 100}, "run"),
    ],
)
def test_what_cannot_be_is_named(wall, changes, where):
    with pytest.raises(BadInput) as refusal:
        design(wall, wish(**changes))

    assert refusal.value.faults[0].where == where


def test_a_kept_design_is_planned_trees_and_their_wires(wall):
    kept = keep_design(support=wall, wish=wish())

    assert Tree.objects.filter(is_planned=True).count() == len(kept) >= 2
    assert Wire.objects.filter(support=wall).count() >= 3
    assert len({tree.code for tree in kept}) == len(kept)


def test_a_design_on_top_of_a_tree_is_refused_whole(wall):
    make_garden.tree(support=wall, position_mm=2000)
    before = Tree.objects.count()

    with pytest.raises(BadInput, match="overlaps"):
        keep_design(support=wall, wish=wish())

    assert Tree.objects.count() == before
    assert not Wire.objects.filter(support=wall).exists()


def test_a_planned_tree_is_planted_once(wall):
    tree = keep_design(support=wall, wish=wish())[0]

    assert plant(tree=tree, on=date(2026, 12, 9)).planted_on == date(2026, 12, 9)
    with pytest.raises(BadInput, match="stands already"):
        plant(tree=tree, on=date(2026, 12, 10))


def test_the_designer_page_shows_then_keeps(client, wall):
    make.profile()
    client.force_login(make.staff(role=Staff.Role.OFFICE))
    address = reverse("designer", args=[wall.pk])
    asked = {
        "species": "apple_spur",
        "form": "horizontal_tiers",
        "rootstock": "mm106",
        "start": "whip",
        "planted_on": "2026-12-01",
        "begins": "",
        "run": "",
        "cultivar": "Sunset",
    }

    shown = client.get(address, asked).content.decode()
    assert "Keep as planned trees" in shown
    assert not Tree.objects.exists()

    client.post(address, asked)
    assert Tree.objects.filter(cultivar="Sunset", is_planned=True).exists()


def test_a_crew_cannot_open_the_designer(client, wall):
    client.force_login(make.staff(role=Staff.Role.CREW))

    assert client.get(reverse("designer", args=[wall.pk])).status_code == 404


def test_a_tree_is_shown_over_its_years(client):
    make.profile()
    tree = make_garden.tree()
    client.force_login(make.staff(role=Staff.Role.OFFICE))

    page = client.get(reverse("tree-years", args=[tree.pk])).content.decode()

    assert "<svg" in page
    assert "Plan and reality" in page
    assert "2024" in page
