"""Load against capacity as a drawing: one band a crew, one bar a week; and a crew's day as a line of blocks."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from django import template
from django.utils.formats import date_format

from scheduling.services.day_board import CrewDaySeen
from scheduling.services.placements import minute_of
from scheduling.services.season_board import Cell, SeasonBoard, Week

register = template.Library()

WIDTH, LEFT, BAND, GAP, FOOT = 720, 120, 56, 14, 26
MONTH_WORD = 44


@register.inclusion_tag("scheduling/_load_chart.html")
def load_chart(board: SeasonBoard, today: date) -> dict[str, Any]:
    """``{% load_chart board today %}``"""
    weeks = board.weeks
    if not weeks or not board.crews:
        return {"bands": []}
    step = (WIDTH - LEFT) / len(weeks)
    fullest = max((cell.share for week in weeks for cell in week.cells), default=1.0)
    most = max(1.15, min(2.0, fullest))
    bands = []
    for number, crew in enumerate(board.crews):
        top = number * (BAND + GAP) + 6
        bands.append(
            {
                "name": crew.name,
                "word_y": top + BAND - 4,
                "ground": top + BAND,
                "line": round(top + BAND * (1 - 1 / most), 1),
                "bars": [
                    _bar(week.cells[number], LEFT + column * step + 1, step - 2, top + BAND, most)
                    for column, week in enumerate(weeks)
                ],
            }
        )
    height = len(board.crews) * (BAND + GAP) + FOOT
    first, last = weeks[0].monday, weeks[-1].monday + timedelta(days=7)
    return {
        "bands": bands,
        "width": WIDTH,
        "height": height,
        "left": LEFT,
        "months": _months(weeks, step),
        "month_y": height - 6,
        "today_x": round(LEFT + (today - first).days / 7 * step, 1) if first <= today < last else None,
        "foot": height - FOOT + 4,
    }


def _bar(cell: Cell, x: float, width: float, ground: int, most: float) -> dict[str, Any]:
    high = round(BAND * min(cell.share, most) / most, 1)
    return {
        "x": round(x, 1),
        "width": round(max(2.0, width), 1),
        "y": round(ground - high, 1),
        "height": high,
        "is_over": cell.share > 1,
        "is_off": not cell.capacity,
        "words": f"{cell.crew}, week of {date_format(cell.monday, 'j M')}: {cell.load / 60:.0f} of "
        f"{cell.capacity / 60:.0f} h{', ' + cell.words if cell.words else ''}",
    }


def _months(weeks: Sequence[Week], step: float) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = []
    shown = None
    for column, week in enumerate(weeks):
        # A week belongs to the month of its Thursday.
        month = (week.monday + timedelta(days=3)).replace(day=1)
        if month != shown:
            found.append({"x": round(LEFT + column * step + 1, 1), "words": date_format(month, "M")})
            shown = month
    # The first month may end before its name does.
    return found[1:] if len(found) > 1 and found[1]["x"] - found[0]["x"] < MONTH_WORD else found


DAY_WIDTH, DAY_HEIGHT = 720, 68


@register.inclusion_tag("scheduling/_day_chart.html")
def day_chart(day: CrewDaySeen) -> dict[str, Any]:
    """``{% day_chart day %}``: the shift, the stops as blocks, the drives as a line."""
    times = [minute_of(at) for at in (day.starts, day.ends, day.leaves, day.back) if at]
    times += [minute_of(at) for visit in day.visits for at in (visit.arrives_at, visit.leaves_at) if at]
    if not times:
        return {"blocks": []}
    first, last = min(times) // 60 * 60, -(-max(times) // 60) * 60

    def x(minute: int) -> float:
        return round((minute - first) / max(60, last - first) * (DAY_WIDTH - 2) + 1, 1)

    return {
        "width": DAY_WIDTH,
        "height": DAY_HEIGHT,
        "shift_x": x(minute_of(day.starts)) if day.starts else None,
        "shift_width": round(x(minute_of(day.ends)) - x(minute_of(day.starts)), 1) if day.starts and day.ends else 0,
        "way": [x(minute_of(day.leaves)), x(minute_of(day.back))] if day.leaves and day.back else None,
        "blocks": [
            {
                "number": number,
                "x": x(minute_of(visit.arrives_at)),
                "width": max(3.0, round(x(minute_of(visit.leaves_at)) - x(minute_of(visit.arrives_at)), 1)),
                "middle": round((x(minute_of(visit.leaves_at)) + x(minute_of(visit.arrives_at))) / 2, 1),
                "words": f"{visit.site.name}, {visit.arrives_at:%H:%M} to {visit.leaves_at:%H:%M}",
            }
            for number, visit in enumerate(day.visits, start=1)
            if visit.arrives_at and visit.leaves_at
        ],
        "hours": [{"x": x(minute), "words": f"{minute // 60}"} for minute in range(first, last, 60)],
        "words": f"The day of {day.crew.name}: {len(day.visits)} stops",
    }
