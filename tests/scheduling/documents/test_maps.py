"""The map of a round: to scale, north up, signs and names apart, hazards told."""

from __future__ import annotations

import re
from datetime import date
from itertools import combinations
from math import cos, dist, radians
from xml.etree import ElementTree

import pytest

from scheduling.documents.maps import HEIGHT, SIGN_PX, WIDTH, round_map
from scheduling.models import Visit
from tests import make_garden

pytestmark = pytest.mark.django_db
DAY = date(2027, 1, 12)
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def crew():
    return make_garden.crew(name="North", yard_latitude_deg=51.0, yard_longitude_deg=-2.8)


def drawn(crew, *places: tuple[float, float], **more) -> ElementTree.Element:
    visits = [
        make_garden.visit(
            site=make_garden.site(latitude_deg=latitude, longitude_deg=longitude, **more),
            on=DAY,
            crew=crew,
            position=number,
        )
        for number, (latitude, longitude) in enumerate(places, 1)
    ]
    rows = list(
        Visit.objects.select_related("site", "round__crew")
        .filter(pk__in=[visit.pk for visit in visits])
        .order_by("position")
    )
    return ElementTree.fromstring(round_map(rows[0].round, rows))  # noqa: S314 - our own drawing


def signs(tree: ElementTree.Element) -> list[tuple[float, float]]:
    return [(float(each.get("cx")), float(each.get("cy"))) for each in tree.iter(f"{SVG}circle")]


def test_distances_on_the_map_are_to_its_bar(crew):
    # One degree of latitude is 111.19 km on the mean sphere; ten hundredths are 11.1 km north and south.
    tree = drawn(crew, (51.1, -2.8), (51.05, -2.6))
    stops = signs(tree)
    path = next(each.get("d") for each in tree.iter(f"{SVG}path") if "h" in (each.get("d") or ""))
    length = float(re.search(r"h([\d.]+)m", path).group(1))
    km = float(next(each.text for each in tree.iter(f"{SVG}text") if (each.text or "").endswith(" km")).split()[0])

    wanted = dist((0.05 * 111.19, 0), (0, 0.2 * 111.19 * cos(radians(51.05))))
    assert dist(*stops) * km / length == pytest.approx(wanted, rel=0.02)
    assert stops[0][1] < stops[1][1], "north is up"


def test_neighbours_gardens_do_not_cover_each_other(crew):
    tree = drawn(crew, (51.1, -2.8), (51.1001, -2.8001), (51.1, -2.8), (51.0999, -2.8))

    for one, other in combinations(signs(tree), 2):
        assert dist(one, other) > 0.7 * SIGN_PX
    assert all(0 <= x <= WIDTH and 0 <= y <= HEIGHT for x, y in signs(tree))


def test_a_garden_at_the_yard_leaves_the_yard_in_its_place(crew):
    tree = drawn(crew, (51.0, -2.8), (51.1, -2.7))

    assert len(signs(tree)) == 2
    house = next(each for each in tree.iter(f"{SVG}path") if each.get("fill") == "#fff")
    x, y = (float(word) for word in re.match(r"M([\d.]+) ([\d.]+)", house.get("d")).groups())
    assert dist((x + 9, y - 8), signs(tree)[0]) > 0.7 * SIGN_PX


def test_hazards_and_markup_in_names_are_told_as_text(crew):
    tree = drawn(crew, (51.1, -2.8), name="<b>Bee & Co</b>", hazards="Bees by the shed")

    assert "<b>Bee & Co</b> – mind!" in [each.text for each in tree.iter(f"{SVG}text")]
