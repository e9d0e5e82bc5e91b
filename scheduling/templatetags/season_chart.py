"""The season's work by week: one bar a week, the placed part filled, the rest hatched by outline."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from django import template
from django.utils.formats import date_format

from scheduling.queries.board import WeekLoad

register = template.Library()

WIDTH, HEIGHT, FOOT, LEFT = 720, 150, 22, 34


@register.inclusion_tag("scheduling/_season_chart.html")
def season_chart(weeks: Sequence[WeekLoad], today: date) -> dict[str, Any]:
    """``{% season_chart figures.weeks today %}``"""
    if not weeks:
        return {"bars": []}
    first, last = weeks[0].monday, weeks[-1].monday + timedelta(days=7)
    days = max(7, (last - first).days)
    tallest_hours = max(week.minutes for week in weeks) / 60
    step = _nice_step(tallest_hours)
    top_hours = step * (int(tallest_hours / step) + 1)

    def x(day: date) -> float:
        return round(LEFT + (day - first).days / days * (WIDTH - LEFT), 1)

    def y(hours: float) -> float:
        return round((HEIGHT - FOOT) * (1 - hours / top_hours) + 6, 1)

    ground = y(0)
    bars = [
        {
            "x": x(week.monday) + 1,
            "width": max(2.0, round(7 / days * (WIDTH - LEFT) - 2, 1)),
            "y": y(week.minutes / 60),
            "height": round(ground - y(week.minutes / 60), 1),
            "placed_y": y(week.placed_minutes / 60),
            "placed_height": round(ground - y(week.placed_minutes / 60), 1),
            "words": f"Week of {date_format(week.monday, 'j M')}: {week.minutes / 60:.0f} h, "
            f"{week.placed_minutes / 60:.0f} h have a day",
        }
        for week in weeks
    ]
    return {
        "bars": bars,
        "ground": ground,
        "width": WIDTH,
        "height": HEIGHT + 8,
        "left": LEFT,
        "lines": [{"y": y(hours), "words": f"{hours:g} h"} for hours in _steps(step, top_hours)],
        "months": [{"x": x(start), "words": date_format(start, "M")} for start in _months(first, last)],
        "today_x": x(today) if first <= today < last else None,
    }


def _nice_step(most: float) -> float:
    return next((step for step in (1, 2, 5, 10, 20, 50, 100, 200, 500) if most / step <= 4), 1000)


def _steps(step: float, top: float) -> list[float]:
    return [step * number for number in range(1, int(top / step) + 1)]


def _months(first: date, last: date) -> list[date]:
    starts, start = [], (first.replace(day=1) + timedelta(days=32)).replace(day=1)
    while start < last:
        starts.append(start)
        start = (start + timedelta(days=32)).replace(day=1)
    return starts
