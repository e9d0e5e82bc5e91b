"""The way round as a drawing: yard, stops in order, north up, to scale, no map service needed."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise

from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

from scheduling.models import Round, Visit

Point = tuple[float, float]

WIDTH, HEIGHT, MARGIN = 480, 360, 46
KM_PER_DEGREE = 111.19
"""Mean length of a degree of latitude: 2π × 6371 km / 360."""
MOST_KM_PER_PX = 1 / 400


def round_map(found: Round, visits: Sequence[Visit]) -> SafeString:
    """An SVG of the round. Distances are as the crow flies; the order is that of the stops."""
    crew = found.crew
    yard = (crew.yard_latitude_deg, crew.yard_longitude_deg)
    stops = [(visit.site.latitude_deg, visit.site.longitude_deg) for visit in visits]
    project, km_per_px = _projection([yard, *stops])
    points = [project(*place) for place in (yard, *stops, yard)]
    parts = [
        f'<svg class="round-map" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" xmlns="http://www.w3.org/2000/svg" '
        f'font-family="Pocket Book, system-ui, sans-serif" font-size="13">',
        f"<title>{escape(f'The round of {crew.name}: {len(stops)} stops')}</title>",
        f'<path d="{_path(points)}" fill="none" stroke="#464D49" stroke-width="2" stroke-linejoin="round"/>',
        *(_arrow(one, two) for one, two in pairwise(points)),
        _yard(points[0]),
        *(
            _stop(number, point, visit)
            for number, (point, visit) in enumerate(zip(points[1:], visits, strict=False), 1)
        ),
        _scale_bar(km_per_px),
        f'<path d="M{WIDTH - 24} 40V18m-6 9 6-9 6 9" fill="none" stroke="#171C19" stroke-width="2"/>'
        f'<text x="{WIDTH - 24}" y="56" text-anchor="middle">N</text>',
        "</svg>",
    ]
    return mark_safe("".join(parts))  # noqa: S308 - every text is escaped above


def _projection(places: Sequence[Point]) -> tuple[Callable[[float, float], Point], float]:
    """From degrees to pixels: an equirectangular map about the middle of the round, good to 0.1 % over 50 km."""
    latitudes, longitudes = zip(*places, strict=True)
    middle = math.radians((min(latitudes) + max(latitudes)) / 2)
    wide = (max(longitudes) - min(longitudes)) * KM_PER_DEGREE * math.cos(middle)
    high = (max(latitudes) - min(latitudes)) * KM_PER_DEGREE
    km_per_px = max(wide / (WIDTH - 2 * MARGIN), high / (HEIGHT - 2 * MARGIN - 20), MOST_KM_PER_PX)
    left = (WIDTH - wide / km_per_px) / 2
    top = (HEIGHT - 20 - high / km_per_px) / 2

    def project(latitude: float, longitude: float) -> tuple[float, float]:
        x = left + (longitude - min(longitudes)) * KM_PER_DEGREE * math.cos(middle) / km_per_px
        y = top + (max(latitudes) - latitude) * KM_PER_DEGREE / km_per_px
        return round(x, 1), round(y, 1)

    return project, km_per_px


def _path(points: Sequence[tuple[float, float]]) -> str:
    return "M" + "L".join(f"{x} {y}" for x, y in points)


def _arrow(one: tuple[float, float], two: tuple[float, float]) -> str:
    """A small head in the middle of a leg, so that the direction reads without colour."""
    length = math.dist(one, two)
    if length < 40:
        return ""
    x, y = (one[0] + two[0]) / 2, (one[1] + two[1]) / 2
    turn = math.degrees(math.atan2(two[1] - one[1], two[0] - one[0]))
    return f'<path transform="translate({x:.1f} {y:.1f}) rotate({turn:.0f})" d="M-5 -5L5 0L-5 5Z" fill="#464D49"/>'


def _yard(point: tuple[float, float]) -> str:
    x, y = point
    return (
        f'<path d="M{x - 9} {y + 8}V{y - 3}L{x} {y - 11}L{x + 9} {y - 3}V{y + 8}Z" fill="#fff" stroke="#171C19" '
        f'stroke-width="2"/><text x="{x}" y="{y + 24}" text-anchor="middle">Yard</text>'
    )


def _stop(number: int, point: tuple[float, float], visit: Visit) -> str:
    x, y = point
    mind = " !" if visit.site.hazards else ""
    anchor, shift = ("end", -15) if x > WIDTH * 0.68 else ("start", 15)
    return (
        f'<circle cx="{x}" cy="{y}" r="11" fill="#1A5235" stroke="#fff" stroke-width="2"/>'
        f'<text x="{x}" y="{y + 5}" text-anchor="middle" fill="#fff" font-weight="700">{number}</text>'
        f'<text x="{x + shift}" y="{y + 5}" text-anchor="{anchor}" stroke="#fff" stroke-width="4" paint-order="stroke" '
        f'fill="#171C19">{escape(visit.site.name + mind)}</text>'
    )


def _scale_bar(km_per_px: float) -> str:
    km = next((size for size in (50, 20, 10, 5, 2, 1, 0.5, 0.2) if size / km_per_px <= 140), 0.1)
    length = km / km_per_px
    return (
        f'<path d="M20 {HEIGHT - 14}v-6m0 3h{length:.1f}m0 -3v6" fill="none" stroke="#171C19" stroke-width="2"/>'
        f'<text x="{28 + length:.1f}" y="{HEIGHT - 12}">{km:g} km</text>'
    )
