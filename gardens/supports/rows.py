"""Rows one behind the other: how far apart, so that each leaves the next its sun, on the level and on slopes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from math import atan, degrees, radians, sin, tan

from business.errors import BadInput, Fault
from gardens.knowledge.material_book import Materials, materials
from gardens.supports.sun import Sun, half_day_h, sun_at

STEP_H = 1 / 12
"""The day is walked in steps of five minutes."""

LOWEST_SUN_DEG = 5.0
"""Below this the sun counts for nothing in a garden: trees, houses and haze take it."""

MOST_ROWS = 200

CLOSEST_MM, FURTHEST_MM, STEP_MM = 800, 12_000, 50


@dataclass(frozen=True, kw_only=True)
class Rows:
    """Parallel rows alike. Heights in mm, angles in °.

    ``runs_deg``: bearing along the row (0 north–south, 90 east–west; 180 means the same as 0). ``lit_from_mm``: down to
    this height the row behind wants sun. ``rises_percent``: how much the ground rises from row to row, to the right of
    ``runs_deg`` (to the east of a row that runs to the north); negative where it falls.
    """

    height_mm: int
    latitude_deg: float
    runs_deg: float
    day: date
    lit_from_mm: int = 400
    rises_percent: float = 0.0


@dataclass(frozen=True, kw_only=True)
class RowsWish:
    """Several rows alike, one behind the other: how many, and the hours of sun each shall have (None: the usual)."""

    rows: Rows
    count: int = 2
    sun_hours: float | None = None


@dataclass(frozen=True, kw_only=True)
class SunRay:
    """The sun that decides a distance: of all that reach the lit height, the one whose shade climbs highest.

    ``hours_from_noon`` by the sun; ``profile_deg`` its height as seen along the rows, tan α/|sin(bearing − row)|;
    ``from_right``: it stands on the right of the rows as ``runs_deg`` looks along them. [°]
    """

    sun: Sun
    hours_from_noon: float
    profile_deg: float
    from_right: bool


@dataclass(frozen=True, kw_only=True)
class RowSpacing:
    """How far apart rows should stand, and why.

    ``by_sun_mm`` for the hours of sun asked for, None where that day has not so many; ``by_height_mm`` by the orchard
    rule; ``spacing_mm`` the larger. ``sun_h`` is what the lit height gets at that distance, ``open_h`` without rows.
    ``ray`` is the sun that grazes it there; None where none reaches it.
    """

    spacing_mm: int
    by_sun_mm: int | None
    by_height_mm: int
    sun_h: float
    open_h: float
    why: str
    source: str
    ray: SunRay | None = None


def row_spacing(rows: Rows, *, sun_hours: float | None = None, book: Materials | None = None) -> RowSpacing:
    """Distance from row to row, in steps of 5 cm.

    Args:
        rows: the rows, the place and the day that counts (for fruit: the start of ripening, or the equinox).
        sun_hours: hours of direct sun that the lit height wants on that day; 6 by default.
        book: the materials.

    Raises:
        BadInput: every fault of the rows at once.
    """
    book = book or materials()
    wanted = book.limit("sun_hours") if sun_hours is None else sun_hours
    if faults := _faults(rows, wanted):
        raise BadInput(faults)
    sky = _sky(rows)
    open_h = len(sky) * STEP_H
    by_sun = next(
        (d for d in range(CLOSEST_MM, FURTHEST_MM + 1, STEP_MM) if _lit_h(rows, d, sky) >= wanted - 1e-9), None
    )
    rule = book.limits["row_gap_per_height"]
    by_height = round(rule.value * rows.height_mm / STEP_MM) * STEP_MM
    spacing = max(by_sun or 0, by_height)
    sun_h = _lit_h(rows, spacing, sky)
    return RowSpacing(
        spacing_mm=spacing,
        by_sun_mm=by_sun,
        by_height_mm=by_height,
        sun_h=sun_h,
        open_h=open_h,
        why=_why(rows, wanted, (by_sun, spacing, sun_h), open_h),
        source=(
            "geometry of the sun (Astronomical Almanac, low precision); "
            f"rows as far apart as they are high: {rule.source}; hours of sun: {book.limits['sun_hours'].source}"
        ),
        ray=limiting_ray(rows, spacing),
    )


def limiting_ray(rows: Rows, spacing_mm: float) -> SunRay | None:
    """The sun that grazes the top of a row and meets the next one closest below the height that wants light."""
    lit = [
        sun for sun in _sky(rows) if _shades(rows, sun) and shade_reaches_mm(rows, spacing_mm, sun) <= rows.lit_from_mm
    ]
    if not lit:
        return None
    sun = max(lit, key=lambda sun: shade_reaches_mm(rows, spacing_mm, sun))
    across = sin(radians(sun.bearing_deg - rows.runs_deg))
    half = half_day_h(latitude_deg=rows.latitude_deg, day=rows.day)
    steps = (-half + (step + 0.5) * STEP_H for step in range(int(2 * half / STEP_H)))
    hours = next(h for h in steps if sun_at(latitude_deg=rows.latitude_deg, day=rows.day, hours_from_noon=h) == sun)
    return SunRay(
        sun=sun,
        hours_from_noon=hours,
        profile_deg=degrees(atan(tan(radians(sun.altitude_deg)) / abs(across))),
        from_right=across > 0,
    )


def _shades(rows: Rows, sun: Sun) -> bool:
    """Whether a row throws shade toward the next at all: not where the sun stands in line with it."""
    return abs(sin(radians(sun.bearing_deg - rows.runs_deg))) > 1e-6


def sun_hours_between(rows: Rows, spacing_mm: float) -> float:
    """Hours of direct sun that the lit height of the next row gets on the day, at a distance. [h]

    Raises:
        BadInput: every fault of the rows at once.
    """
    if faults := _faults(rows, 0):
        raise BadInput(faults)
    return _lit_h(rows, spacing_mm, _sky(rows))


def shade_reaches_mm(rows: Rows, spacing_mm: float, sun: Sun) -> float:
    """How high the shade of a row climbs on the next one: h − D·(tan α/|sin(bearing − row)| + rise). [mm]

    0 or less: the next row is lit down to the ground. The sun in line with the row throws no shade on the next.
    """
    across = sin(radians(sun.bearing_deg - rows.runs_deg))
    if abs(across) < 1e-9 or sun.altitude_deg <= 0:
        return 0.0 if sun.altitude_deg > 0 else float(rows.height_mm)
    # Sun on the right of the row throws the shade to the left, where rising ground falls.
    rise = -rows.rises_percent / 100 if across > 0 else rows.rises_percent / 100
    return rows.height_mm - spacing_mm * (tan(radians(sun.altitude_deg)) / abs(across) + rise)


def _sky(rows: Rows) -> list[Sun]:
    half = half_day_h(latitude_deg=rows.latitude_deg, day=rows.day)
    steps = int(2 * half / STEP_H)
    suns = (
        sun_at(latitude_deg=rows.latitude_deg, day=rows.day, hours_from_noon=-half + (step + 0.5) * STEP_H)
        for step in range(steps)
    )
    return [sun for sun in suns if sun.altitude_deg >= LOWEST_SUN_DEG]


def _lit_h(rows: Rows, spacing_mm: float, sky: list[Sun]) -> float:
    return STEP_H * sum(shade_reaches_mm(rows, spacing_mm, sun) <= rows.lit_from_mm for sun in sky)


def _why(rows: Rows, wanted: float, found: tuple[int | None, int, float], open_h: float) -> str:
    by_sun, spacing, sun_h = found
    day = f"{rows.day.day} {rows.day:%B}"
    if by_sun is None:
        return (
            f"No distance gives {wanted:g} h of sun on {day}: the open sky gives {open_h:.1f} h. "
            f"Rows as far apart as they are high get {sun_h:.1f} h."
        )
    if spacing > by_sun:
        return f"{by_sun / 1000:.2f} m would give {wanted:g} h on {day}; rows stand no closer than they are high."
    lit = f"{sun_h:.1f} h of the {open_h:.1f} h of sun on {day} down to {rows.lit_from_mm} mm"
    return f"{spacing / 1000:.2f} m gives {lit}."


def row_faults(wish: RowsWish) -> list[Fault]:
    """Everything that cannot be of several rows, each with what would be right."""
    faults = _faults(wish.rows, 6 if wish.sun_hours is None else wish.sun_hours)
    if not 2 <= wish.count <= MOST_ROWS:
        faults.append(Fault("count", f"{wish.count} rows", f"give 2 to {MOST_ROWS}: one row shades no other"))
    return faults


def _faults(rows: Rows, wanted_h: float) -> list[Fault]:
    faults = []
    if not -66 <= rows.latitude_deg <= 66:
        faults.append(
            Fault("latitude", f"{rows.latitude_deg:g}° is no place for fruit", "give -66 to 66, north positive")
        )
    if not 0 <= rows.runs_deg < 360:
        faults.append(Fault("runs", f"{rows.runs_deg:g}° is no bearing", "give 0 to 359: 0 north–south, 90 east–west"))
    if not 300 <= rows.height_mm <= 5000:
        faults.append(Fault("height", f"{rows.height_mm} mm is no row", "give 300 to 5000 mm"))
    if not 0 <= rows.lit_from_mm < rows.height_mm:
        faults.append(
            Fault(
                "lit_from",
                f"{rows.lit_from_mm} mm is no part of the row",
                f"give 0 to less than the height, {rows.height_mm} mm",
            )
        )
    if not -60 <= rows.rises_percent <= 60:
        faults.append(Fault("rises", f"{rows.rises_percent:g} %", "give -60 to 60 % from row to row"))
    if not 0 <= wanted_h <= 16:
        faults.append(Fault("sun_hours", f"{wanted_h:g} h", "give 0 to 16"))
    return faults
