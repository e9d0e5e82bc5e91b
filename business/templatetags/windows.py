"""The timeline of windows: bar from first to last day, best part hatched, today as a line."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django import template
from django.utils.formats import date_format

register = template.Library()

WIDTH = 720
BAR_TOP, BAR_HEIGHT = 5, 16
HATCH_STEP = 7


@dataclass(frozen=True)
class Scale:
    """Days laid along the width of the picture, in its own units."""

    first: date
    last: date

    def x(self, day: date) -> float:
        days = (self.last - self.first).days
        return round(min(max((day - self.first).days / days, 0), 1) * WIDTH, 1)

    def months(self, today_x: float | None) -> list[dict[str, Any]]:
        """The months that begin inside, with a word wherever there is room for one beside "Today"."""
        starts = [start for start in _month_starts(self.first, self.last) if start > self.first]
        room = WIDTH / (len(starts) + 1)
        letters = 3 if room >= 40 else 1
        ends = [*starts[1:], self.last]
        return [
            {
                "x": self.x(start),
                "text_x": self.x(start) + 4,
                "word": date_format(start, "M")[:letters]
                if (end - start).days > 13 and not _is_near(self.x(start), today_x)
                else "",
            }
            for start, end in zip(starts, ends, strict=True)
        ]


def _is_near(month_x: float, today_x: float | None) -> bool:
    """Would the word of the month, 50 wide, run into the word "Today", 66 wide and centred?"""
    return today_x is not None and month_x - 33 < today_x < month_x + 84


def _month_starts(first: date, last: date) -> Iterable[date]:
    start = first.replace(day=1)
    while start <= last:
        yield start
        start = (start + timedelta(days=32)).replace(day=1)


def _hatch(left: float, right: float) -> str:
    """Slanted lines that fill the best part; drawn one by one, so no pattern id is needed on the page."""
    top, bottom = BAR_TOP, BAR_TOP + BAR_HEIGHT
    strokes = []
    start = left - BAR_HEIGHT + HATCH_STEP
    while start < right:
        x1, x2 = max(start, left), min(start + BAR_HEIGHT, right)
        strokes.append(f"M{x1:.1f} {bottom - (x1 - start):.1f}L{x2:.1f} {max(top, bottom - (x2 - start)):.1f}")
        start += HATCH_STEP
    return "".join(strokes)


def _bar(window: Any, scale: Scale) -> dict[str, Any]:
    def dated(name: str) -> date:
        value = window[name] if isinstance(window, dict) else getattr(window, name)
        return value  # type: ignore[no-any-return]

    opens, closes = dated("opens"), dated("closes")
    best_from, best_until = dated("best_from"), dated("best_until")
    left, right = scale.x(opens), scale.x(closes + timedelta(days=1))
    best_left, best_right = scale.x(best_from), scale.x(best_until + timedelta(days=1))
    return {
        "window": window,
        "opens": opens,
        "closes": closes,
        "best_from": best_from,
        "best_until": best_until,
        "x": left,
        "width": max(round(right - left, 1), 3),
        "best_x": best_left,
        "best_width": max(round(best_right - best_left, 1), 2),
        "hatch": _hatch(best_left, best_right),
        "is_inside": opens <= scale.last and closes >= scale.first,
    }


@register.inclusion_tag("business/_windows.html")
def windows(items: Iterable[Any], first: date, last: date, today: date | None = None) -> dict[str, Any]:
    """``{% windows needs first last today %}``.

    Each item has opens, best_from, best_until and closes (days), ``label`` (words) and, if it has a page,
    ``get_absolute_url``. Dictionaries serve as well.
    """
    scale = Scale(first, max(last, first + timedelta(days=1)))
    today_x = scale.x(today) if today is not None and first <= today <= last else None
    return {
        "rows": [_bar(item, scale) for item in items],
        "months": scale.months(today_x),
        "first": first,
        "last": last,
        "today": today,
        "today_x": today_x,
        "today_is_late": today_x is not None and today_x > WIDTH - 40,
        "width": WIDTH,
    }
