"""Rows one behind the other: the section with the sun's ray, the plan from above."""

from __future__ import annotations

import re
from datetime import date
from math import atan2, degrees, hypot, radians, sin, tan

import pytest

from gardens.drawing import Options, RowsPicture, draw_rows_plan, draw_rows_section
from gardens.drawing.rows import _plan
from gardens.supports import Rows, row_spacing

from .reading import description_of, shapes_of, texts_of
from .test_tree_picture import outside

ROWS = Rows(height_mm=1800, latitude_deg=51.0, runs_deg=0, day=date(2026, 9, 21))


def picture(count=3, **changes):
    rows = Rows(**({name: getattr(ROWS, name) for name in ROWS.__dataclass_fields__} | changes))
    return RowsPicture(
        rows=rows, spacing=row_spacing(rows), count=count, run_mm=12_000, wire_heights_mm=(450, 900, 1350)
    )


def numbers(shape):
    found = [float(part) for part in re.findall(r"-?[0-9.]+", shape.attributes["d"])]
    return list(zip(found[::2], found[1::2], strict=True))


def test_the_ray_falls_as_steeply_as_the_sun_stands():
    shown = picture()
    (ray,) = [numbers(shape) for shape in shapes_of(draw_rows_section(shown)) if "ray" in shape.classes]
    (x1, y1), (x2, y2) = ray

    # Seen along the rows the sun stands at atan(tan α / |sin(bearing − row)|): textbook geometry of a shadow profile.
    sun = shown.spacing.ray.sun
    across = abs(tan(radians(sun.altitude_deg))) / abs(sin(radians(sun.bearing_deg)))
    assert abs(y2 - y1) / abs(x2 - x1) == pytest.approx(across, rel=0.01)


def test_the_ray_meets_the_next_row_where_it_wants_light():
    shown = picture(rises_percent=8)
    words = texts_of(draw_rows_section(shown, Options(width_px=1080)))

    hit = shown.spacing.ray
    reach = 1800 - shown.spacing.spacing_mm * (tan(radians(hit.profile_deg)) + (-0.08 if hit.from_right else 0.08))
    assert 0 <= reach <= ROWS.lit_from_mm
    assert f"{round(reach / 10)} cm" in words


def test_every_row_has_its_post_and_wires():
    shapes = shapes_of(draw_rows_section(picture(count=4)))

    assert sum("post" in shape.classes for shape in shapes) == 4
    assert sum("wire" in shape.classes for shape in shapes) == 12


@pytest.mark.parametrize("runs", [0, 30, 90, 135])
def test_the_plan_shows_rows_in_their_bearing(runs):
    shown = picture(runs_deg=runs)
    lines = [numbers(shape) for shape in shapes_of(draw_rows_plan(shown)) if "row" in shape.classes]

    assert len(lines) == 3
    for (x1, y1), (x2, y2) in lines:
        bearing = degrees(atan2(x2 - x1, y1 - y2)) % 360
        assert bearing == pytest.approx(runs, abs=0.5)


def test_rows_of_the_plan_stand_the_distance_apart():
    shown = picture(runs_deg=30)
    (x1, y1), (x2, y2) = _plan(shown, 0, 0), _plan(shown, 1, 0)

    assert hypot(x2 - x1, y2 - y1) == pytest.approx(shown.spacing.spacing_mm)


@pytest.mark.parametrize("runs", [0, 45, 90, 160])
@pytest.mark.parametrize("rises", [-20, 0, 20])
@pytest.mark.parametrize("latitude", [-38.0, 51.0])
def test_both_pictures_stay_on_their_sheet(runs, rises, latitude):
    shown = picture(runs_deg=runs, rises_percent=rises, latitude_deg=latitude)

    for draw in (draw_rows_section, draw_rows_plan):
        for options in (Options(width_px=360), Options(width_px=1080), Options(width_mm=170, black_and_white=True)):
            assert outside(draw(shown, options)) == []


def test_the_picture_tells_what_it_shows():
    told = description_of(draw_rows_section(picture(rises_percent=8)))

    assert "3 rows" in told
    assert "sun on 21 September" in told
    assert "ground rises 8 %" in told


def test_one_row_is_no_picture_of_rows():
    with pytest.raises(ValueError, match="at least two"):
        picture(count=1)
