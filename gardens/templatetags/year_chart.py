"""The year at a site as pictures drawn here: running sums against the usual, stages against their usual days."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from django import template
from django.utils.formats import date_format

from gardens.climate import Curve
from gardens.services.site_year import StageRow

register = template.Library()

WIDTH = 720
CURVE_HEIGHT, FOOT, LEFT, TOP = 190, 24, 56, 10
EVERY_DAYS = 4
"""A point in so many days draws the curves as smooth as the screen shows them."""
ROW_HEIGHT, WORDS_WIDTH = 30, 168
WIDEST_ROUND = 6


class _Scale:
    """Days along the width, from ``left`` to the right edge."""

    def __init__(self, first: date, last: date, left: int) -> None:
        self.first, self.last, self.left = first, last, left

    def x(self, day: date) -> float:
        days = max(1, (self.last - self.first).days)
        share = min(1.0, max(0.0, (day - self.first).days / days))
        return round(self.left + share * (WIDTH - self.left - WIDEST_ROUND), 1)

    def months(self) -> list[dict[str, Any]]:
        """The months that begin inside; every second one has its word where there are many."""
        starts, start = [], (self.first.replace(day=1) + timedelta(days=32)).replace(day=1)
        while start < self.last:
            starts.append(start)
            start = (start + timedelta(days=32)).replace(day=1)
        step = 2 if len(starts) > 8 else 1
        return [
            {"x": self.x(start), "word": date_format(start, "M") if number % step == 0 else ""}
            for number, start in enumerate(starts)
        ]

    def today_x(self, today: date) -> float | None:
        return self.x(today) if self.first <= today <= self.last else None


@register.inclusion_tag("gardens/_curve.html")
def curve_chart(curve: Curve, today: date) -> dict[str, Any]:
    """``{% curve_chart page.chart.chill today %}``: the usual middle and outer tenths, and this year over them."""
    scale = _Scale(curve.days[0], curve.days[-1], LEFT)
    top = max((*curve.high, *curve.this_year, 1.0))
    step = _nice_step(top)
    ceiling = step * (int(top / step) + 1)
    ground = TOP + CURVE_HEIGHT

    def y(value: float) -> float:
        return round(ground - value / ceiling * CURVE_HEIGHT, 1)

    def points(values: Sequence[float]) -> list[str]:
        numbers = list(range(0, len(values), EVERY_DAYS))
        if values and numbers[-1] != len(values) - 1:
            numbers.append(len(values) - 1)
        return [f"{scale.x(curve.days[number])} {y(values[number])}" for number in numbers]

    return {
        "words": _curve_words(curve),
        "unit": curve.unit,
        "band": f"M{'L'.join([*points(curve.high), *reversed(points(curve.low))])}Z",
        "usual": f"M{'L'.join(points(curve.usual))}",
        "this_year": f"M{'L'.join(points(curve.this_year))}" if len(curve.this_year) > 1 else "",
        "lines": [{"y": y(value), "words": f"{value:g}"} for value in _steps(step, ceiling)],
        "months": scale.months(),
        "today_x": scale.today_x(today),
        "ground": ground,
        "left": LEFT,
        "width": WIDTH,
        "height": ground + FOOT,
    }


def _curve_words(curve: Curve) -> str:
    if not curve.this_year:
        return f"{curve.name.capitalize()} of a usual year, up to {curve.usual[-1]:.0f} {curve.unit}; no weather yet"
    number = len(curve.this_year) - 1
    return (
        f"{curve.name.capitalize()}: {curve.this_year[-1]:.0f} {curve.unit} by "
        f"{date_format(curve.days[number], 'j F')}, {curve.usual[number]:.0f} in a usual year"
    )


@register.inclusion_tag("gardens/_stages.html")
def stage_chart(rows: Sequence[StageRow], today: date) -> dict[str, Any]:
    """``{% stage_chart page.stages today %}``: a row for each stage, this year's day over its usual span."""
    if not rows:
        return {"rows": []}
    days = [day for row in rows for stage in (row.this, row.usual) if stage for day in (stage.earliest, stage.latest)]
    scale = _Scale(min(days) - timedelta(days=7), max(days) + timedelta(days=7), WORDS_WIDTH)
    ground = TOP + ROW_HEIGHT * len(rows)
    drawn = [
        {
            "stage": row.this.stage,
            "y": TOP + ROW_HEIGHT * number + ROW_HEIGHT / 2,
            "usual": _span(scale, row.usual) if row.usual else None,
            "this": _span(scale, row.this),
            "basis": row.this.basis,
            "words": _stage_words(row),
        }
        for number, row in enumerate(rows)
    ]
    return {
        "rows": drawn,
        "months": scale.months(),
        "today_x": scale.today_x(today),
        "top": TOP,
        "ground": ground,
        "left": WORDS_WIDTH,
        "width": WIDTH,
        "height": ground + FOOT,
    }


def _span(scale: _Scale, stage: Any) -> dict[str, float]:
    first, last = scale.x(stage.earliest), scale.x(stage.latest)
    return {"x": first, "end": last, "width": max(1.0, round(last - first, 1)), "on": scale.x(stage.on)}


def _stage_words(row: StageRow) -> str:
    said = f"{row.this.stage.replace('_', ' ').capitalize()}: {date_format(row.this.on, 'j F')}"
    return f"{said}, usually {date_format(row.usual.on, 'j F')}" if row.usual else said


@register.filter
def early(days: int | None) -> str:
    """9 → 9 days early"""
    if days is None:
        return "–"
    if days == 0:
        return "on its usual day"
    return f"{abs(days)} day{'s' if abs(days) > 1 else ''} {'early' if days > 0 else 'late'}"


def _nice_step(most: float) -> float:
    return next((step for step in (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000) if most / step <= 5), 2000)


def _steps(step: float, top: float) -> list[float]:
    return [step * number for number in range(1, int(top / step) + 1)]


@register.filter
def ahead(curve: Curve) -> str:
    """How far this year's sum runs ahead of the usual: in days, or past all that a usual year brings."""
    days = curve.ahead_days
    if days is None:
        return ""
    if curve.this_year[-1] > curve.usual[-1]:
        return "That is more than a whole usual year brings."
    if days == 0:
        return "As in a usual year on the last measured day."
    way = "ahead of" if days > 0 else "behind"
    return f"{abs(days)} day{'s' if abs(days) > 1 else ''} {way} the usual on the last measured day."


@register.filter
def warmer(shift_gdh: float) -> str:
    """The sign of what was learnt, in words."""
    if round(shift_gdh) == 0:
        return "they bloom when the species does"
    return f"they want {abs(shift_gdh):.0f} growing degree hours {'more' if shift_gdh > 0 else 'fewer'} to bloom"


@register.filter
def warned(kind: str) -> str:
    """frost_on_buds → Frost on buds"""
    return kind.replace("_", " ").capitalize()
