"""Several rows in a support document: read, reckoned, or refused with every fault."""

from __future__ import annotations

import json
from copy import deepcopy
from math import radians, sin, tan

import pytest

from business.errors import BadInput
from gardens.supports import EXAMPLES, bill_of_materials, check_support, layout_of, read_support, report_as_dict
from gardens.supports.report import report_as_text
from gardens.supports.rows import limiting_ray, shade_reaches_mm
from tests.gardens.supports.stands import there


def document(**rows):
    return deepcopy(EXAMPLES["row"]) | {"rows": {"count": 3, "latitude": 51.5, **rows}}


def faults(**rows):
    with pytest.raises(BadInput) as refusal:
        read_support(document(**rows))
    return {fault.where: fault for fault in refusal.value.faults}


def test_what_is_not_said_is_assumed_and_told():
    support = read_support(document())
    rows = there(support.rows).rows

    assert (rows.height_mm, rows.lit_from_mm, rows.runs_deg) == (1800, 500, 0)
    assert any("rows run 0°" in what for what in support.surroundings.assumed)
    assert any("22 September" in what for what in support.surroundings.assumed)


def test_southern_rows_count_by_their_own_equinox():
    assert there(read_support(document(latitude=-38)).rows).rows.day.month == 3


@pytest.mark.parametrize(
    ("changes", "where", "word"),
    [
        ({"runs": 400}, "support, rows, runs", "400°"),
        ({"latitude": 89}, "support, rows, latitude", "out of range"),
        ({"latitude": None}, "support, rows, latitude", "is missing"),
        ({"count": 1}, "support, rows, count", "1 rows"),
        ({"day": "soon"}, "support, rows, day", "no day"),
        ({"rises_percent": 200}, "support, rows, rises", "200 %"),
        ({"lit_from": "3 m"}, "support, rows, lit_from", "3000 mm"),
        ({"colour": 1}, "support, rows, colour", "not a key"),
    ],
)
def test_a_wrong_value_is_named_with_what_would_be_right(changes, where, word):
    found = faults(**changes)

    assert word in found[where].wrong
    assert found[where].remedy


def test_the_report_says_distance_and_deciding_sun():
    support = read_support(document(rises_percent=-5))
    report = check_support(support)
    told = report_as_dict(report, bill_of_materials(support), layout_of(support))["rows"]

    assert told["depth_mm"] == 2 * told["spacing_mm"]
    assert 0 < told["ray"]["altitude_deg"] < 90
    assert json.dumps(told)
    assert "ROWS, 3 one behind the other" in report_as_text(report, bill_of_materials(support))


def test_one_row_alone_says_nothing_of_rows():
    support = read_support(deepcopy(EXAMPLES["row"]))

    assert report_as_dict(check_support(support), bill_of_materials(support), layout_of(support))["rows"] is None


@pytest.mark.parametrize("runs", [0, 40, 90])
@pytest.mark.parametrize("rises", [-10, 0, 10])
def test_the_deciding_ray_grazes_and_just_lights(runs, rises):
    rows = there(read_support(document(runs=runs, rises_percent=rises)).rows).rows
    ray = there(limiting_ray(rows, 2500))

    assert shade_reaches_mm(rows, 2500, ray.sun) <= rows.lit_from_mm
    # The profile angle of a shadow, tan(profile) = tan(altitude) / |sin(bearing − row)|: textbook geometry of sun shading.
    across = abs(sin(radians(ray.sun.bearing_deg - runs)))
    assert tan(radians(ray.profile_deg)) == pytest.approx(tan(radians(ray.sun.altitude_deg)) / across)
