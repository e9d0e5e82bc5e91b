"""Gardens, supports and trees are added and changed whole or not at all, and nobody's change is lost."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from business.errors import AlreadyDone, BadInput, Stale
from business.models import ChangeNote
from gardens.models import Site, Tree, WeatherStation
from gardens.services.places import Change, save_site, save_support, save_tree, take_out, version_of
from tests import make, make_garden

pytestmark = pytest.mark.django_db
GARDEN = {
    "name": "Orchard House",
    "latitude_deg": 51.03,
    "longitude_deg": -2.8,
    "elevation_m": 20.0,
    "time_zone": "Europe/London",
    "access_week": "1111100",
}
ROW = {"name": "South wall", "kind": "wall", "length_mm": 8000, "height_mm": 2200, "faces_deg": 180, "gap_mm": 150}
TREE = {
    "label": "Doyenné by the door",
    "species": "pear_european",
    "form": "horizontal_tiers",
    "position_mm": 4000,
    "run_left_mm": None,
    "run_right_mm": None,
    "planted_on": date(2026, 1, 10),
    "start": "whip",
}


def change(usual: dict, **values) -> Change:
    return Change(values={**usual, **values})


def told(caught) -> str:
    return " ".join(map(str, caught.value.faults))


def test_garden_takes_a_free_code_and_the_nearest_station():
    WeatherStation.objects.create(code="far", name="Far", latitude_deg=58, longitude_deg=-4, elevation_m=20)
    near = WeatherStation.objects.create(
        code="near", name="Near", latitude_deg=51.1, longitude_deg=-2.9, elevation_m=25
    )
    client = make.client()
    first, second = (save_site(client=client, change=change(GARDEN)) for _ in range(2))
    assert (first.code, second.code) == ("orchard-house", "orchard-house-2")
    assert first.station == near
    assert ChangeNote.objects.filter(reference=f"site:{first.pk}", act="garden added").exists()


def test_garden_far_from_every_station_takes_none():
    WeatherStation.objects.create(code="far", name="Far", latitude_deg=58, longitude_deg=-4, elevation_m=20)
    assert save_site(client=make.client(), change=change(GARDEN)).station is None


def test_garden_on_no_day_or_off_the_earth_is_refused():
    for wrong in ({"access_week": "0000000"}, {"latitude_deg": 151.0}):
        with pytest.raises(BadInput):
            save_site(client=make.client(), change=change(GARDEN, **wrong))
    assert not Site.objects.exists()


def test_taken_code_is_refused_and_a_kept_one_stays():
    client = make.client()
    first = save_site(client=client, change=change(GARDEN, code="orchard"))
    with pytest.raises(BadInput, match="taken"):
        save_site(client=client, change=change(GARDEN, code="orchard"))
    assert save_site(client=client, site=first, change=change(GARDEN, code="", name="New name")).code == "orchard"


def test_changed_meanwhile_is_refused_for_all_three():
    tree = make_garden.tree()
    rows = (tree.site, tree.support, tree)
    seen = [version_of(row) for row in rows]
    Site.objects.filter(pk=tree.site_id).update(hazards="bees")
    type(tree.support).objects.filter(pk=tree.support_id).update(note="new coping")
    Tree.objects.filter(pk=tree.pk).update(note="canker")
    with pytest.raises(Stale):
        save_site(client=tree.site.client, site=tree.site, change=Change(values={"hazards": ""}, seen=seen[0]))
    with pytest.raises(Stale):
        save_support(site=tree.site, support=tree.support, change=Change(values={"note": ""}, seen=seen[1]))
    with pytest.raises(Stale):
        save_tree(support=tree.support, tree=tree, change=Change(values={"note": ""}, seen=seen[2]))


def test_version_tells_a_restrung_support():
    support = make_garden.support()
    before = version_of(support)
    save_support(site=support.site, support=support, change=Change(values={"wires_mm": (450, 900)}))
    assert version_of(type(support).objects.get(pk=support.pk)) != before


def test_support_is_strung_and_keeps_the_wire_it_had():
    support = save_support(site=make_garden.site(), change=change(ROW, wires_mm=(450, 900, 1350)))
    support.wires.update(diameter_mm=Decimal("2.50"))
    save_support(site=support.site, support=support, change=change(ROW, wires_mm=(450, 1000)))
    assert [(wire.height_mm, wire.diameter_mm) for wire in support.wires.all()] == [
        (450, Decimal("2.50")),
        (1000, Decimal("2.50")),
    ]


def test_support_made_lower_takes_its_wires_down_with_it():
    support = save_support(site=make_garden.site(), change=change(ROW, wires_mm=(450, 2000)))
    with pytest.raises(BadInput, match="lies above the support"):
        save_support(site=support.site, support=support, change=Change(values={"height_mm": 1500}))
    save_support(site=support.site, support=support, change=Change(values={"height_mm": 1500, "wires_mm": (450, 1400)}))
    support.refresh_from_db()
    assert (support.height_mm, support.wire_heights_mm) == (1500, (450, 1400))


@pytest.mark.parametrize(
    ("wires", "words"),
    [((900, 450), "from below"), ((450, 450), "each once"), ((0, 450), "on the ground"), ((450, 2300), "lies above")],
)
def test_wires_out_of_order_or_reach_are_named(wires, words):
    with pytest.raises(BadInput) as caught:
        save_support(site=make_garden.site(), change=change(ROW, wires_mm=wires))
    assert words in told(caught)


def test_support_too_short_for_its_trees_is_refused():
    tree = make_garden.tree(position_mm=6000, run_left_mm=1000, run_right_mm=1900)
    with pytest.raises(BadInput, match="move the tree first"):
        save_support(site=tree.site, support=tree.support, change=Change(values={"length_mm": 5000}))
    tree.support.refresh_from_db()
    assert tree.support.length_mm == 8000


def test_tree_shares_the_open_room_with_its_neighbours():
    support = make_garden.support(length_mm=8000)
    make_garden.tree(support=support, position_mm=1000, run_left_mm=1000, run_right_mm=800)
    made = save_tree(support=support, change=change(TREE, position_mm=5000))
    assert (made.run_left_mm, made.run_right_mm) == (2000, 3000)
    cordon = save_tree(support=support, change=change(TREE, label="Cordon", form="oblique_cordon", position_mm=2200))
    assert cordon.run_left_mm <= 400 >= cordon.run_right_mm


def test_tree_on_top_of_another_or_off_the_support_is_refused():
    support = make_garden.support(length_mm=8000)
    make_garden.tree(support=support, position_mm=2000, run_left_mm=1900, run_right_mm=1900)
    for position, words in ((2000, "overlaps"), (9000, "beyond its support")):
        with pytest.raises(BadInput) as caught:
            save_tree(support=support, change=change(TREE, position_mm=position, run_left_mm=500, run_right_mm=500))
        assert words in told(caught)
        assert all(fault.where.startswith("tree, ") for fault in caught.value.faults)
    assert support.trees.count() == 1


def test_tree_that_left_frees_its_place_and_keeps_its_records():
    tree = make_garden.tree(position_mm=2000)
    make_garden.record(tree=tree)
    gone = take_out(tree=tree, on=date(2026, 2, 1), why="canker")
    assert "canker" in gone.note
    assert gone.records.count() == 1
    assert save_tree(support=tree.support, change=change(TREE, position_mm=2000)).pk != tree.pk
    with pytest.raises(AlreadyDone):
        take_out(tree=tree, on=date(2026, 2, 2), why="again")


def test_tree_cannot_leave_before_it_was_planted():
    tree = make_garden.tree(planted_on=date(2023, 11, 20))
    with pytest.raises(BadInput, match="before it was planted"):
        take_out(tree=tree, on=date(2023, 1, 1), why="error")
    tree.refresh_from_db()
    assert tree.removed_on is None
