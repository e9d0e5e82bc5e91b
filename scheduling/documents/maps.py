"""The way round as a drawing: yard, stops in order, north up, to scale, no map service needed."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from itertools import combinations, pairwise

from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

from scheduling.models import Round, Visit

Point = tuple[float, float]
Box = tuple[float, float, float, float]
"""Left, top, right, bottom."""

WIDTH, HEIGHT, MARGIN = 400, 330, 44
KM_PER_DEGREE = 111.19
"""Mean length of a degree of latitude: 2π × 6371 km / 360."""
MOST_KM_PER_PX = 1 / 400
SIGN_PX = 25
"""Signs nearer to each other than this would cover each other."""
TURNS = 12
LETTER_PX = 8.2


def round_map(found: Round, visits: Sequence[Visit]) -> SafeString:
    """An SVG of the round. Distances are as the crow flies; the order is that of the stops."""
    crew = found.crew
    yard = (crew.yard_latitude_deg, crew.yard_longitude_deg)
    stops = [(visit.site.latitude_deg, visit.site.longitude_deg) for visit in visits]
    project, km_per_px = _projection([yard, *stops])
    placed = _apart([project(*yard), *(project(*place) for place in stops)])
    points = [*placed, placed[0]]
    parts = [
        f'<svg class="round-map" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" xmlns="http://www.w3.org/2000/svg" '
        f'font-family="Pocket Book, system-ui, sans-serif" font-size="16">',
        f"<title>{escape(f'The round of {crew.name}: {len(stops)} stops')}</title>",
        f'<path d="{_path(points)}" fill="none" stroke="#464D49" stroke-width="2" stroke-linejoin="round"/>',
        *(_arrow(one, two) for one, two in pairwise(points)),
        _yard(points[0]),
        *_labels(placed, visits),
        *(_stop(number, point) for number, point in enumerate(placed[1:], 1)),
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


def _apart(points: Sequence[Point]) -> list[Point]:
    """Signs that would cover each other pushed apart, as little as needed: neighbours' gardens lie metres away.

    The yard, the first, stays; the others give way by half the overlap each, for a few turns.
    """
    found = [list(point) for point in points]
    for _ in range(TURNS):
        for one, other in combinations(range(len(found)), 2):
            across, down = found[other][0] - found[one][0], found[other][1] - found[one][1]
            far = math.hypot(across, down)
            if far >= SIGN_PX:
                continue
            # Two gardens at one place part along a direction of their own.
            turn = math.atan2(down, across) if far else other * 2.4
            push = (SIGN_PX - far) / 2
            for number, sign in ((one, -1), (other, 1)):
                share = 0 if number == 0 else 2 if one == 0 else 1
                found[number][0] += sign * share * push * math.cos(turn)
                found[number][1] += sign * share * push * math.sin(turn)
    return [(round(min(WIDTH - 14, max(14, x)), 1), round(min(HEIGHT - 40, max(14, y)), 1)) for x, y in found]


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


def _stop(number: int, point: Point) -> str:
    x, y = point
    return (
        f'<circle cx="{x}" cy="{y}" r="11" fill="#1A5235" stroke="#fff" stroke-width="2"/>'
        f'<text x="{x}" y="{y + 5}" text-anchor="middle" fill="#fff" font-weight="700">{number}</text>'
    )


def _labels(points: Sequence[Point], visits: Sequence[Visit]) -> Iterator[str]:
    """The gardens' names, each on the side of its sign where it covers least."""
    taken: list[Box] = [(x - 11, y - 11, x + 11, y + 11) for x, y in points]
    for point, visit in zip(points[1:], visits, strict=True):
        words = visit.site.name + (" – mind!" if visit.site.hazards else "")
        anchor, x, y, box = min(_sides(point, len(words) * LETTER_PX), key=lambda side: _covered(side[3], taken))
        taken.append(box)
        yield (
            f'<text x="{x}" y="{y}" text-anchor="{anchor}" stroke="#fff" stroke-width="4" paint-order="stroke" '
            f'fill="#171C19">{escape(words)}</text>'
        )


def _sides(point: Point, width: float) -> Iterator[tuple[str, float, float, Box]]:
    """Right, left, below, above: where the text begins and the box it fills."""
    x, y = point
    yield "start", x + 15, y + 5, (x + 13, y - 10, x + 15 + width, y + 10)
    yield "end", x - 15, y + 5, (x - 15 - width, y - 10, x - 13, y + 10)
    yield "middle", x, y + 27, (x - width / 2, y + 13, x + width / 2, y + 32)
    yield "middle", x, y - 17, (x - width / 2, y - 32, x + width / 2, y - 13)


def _covered(box: Box, taken: Sequence[Box]) -> float:
    """Square pixels of others under the box, what leaves the map counting double."""
    left, top, right, bottom = box
    inside = max(0.0, min(right, WIDTH - 4) - max(left, 4)) * max(0.0, min(bottom, HEIGHT - 4) - max(top, 4))
    out = (right - left) * (bottom - top) - inside
    return 2 * out + sum(
        max(0.0, min(right, other[2]) - max(left, other[0])) * max(0.0, min(bottom, other[3]) - max(top, other[1]))
        for other in taken
    )


def _scale_bar(km_per_px: float) -> str:
    km = next((size for size in (50, 20, 10, 5, 2, 1, 0.5, 0.2) if size / km_per_px <= 140), 0.1)
    length = km / km_per_px
    return (
        f'<path d="M20 {HEIGHT - 14}v-6m0 3h{length:.1f}m0 -3v6" fill="none" stroke="#171C19" stroke-width="2"/>'
        f'<text x="{28 + length:.1f}" y="{HEIGHT - 12}">{km:g} km</text>'
    )
