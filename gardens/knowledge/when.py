"""A day of the tree's year as a rule names it: "leaf_fall+14d", "month:08-31", "later(month:02-01, coldest_end)".

The tree's year (a season) runs from one leaf fall to the next and carries the number of the calendar year in which
the buds swell. Inside it every stage and every month stands once:

* ``leaf_fall`` and ``dormant`` are those that open the season; the leaf fall that closes it is ``next:leaf_fall``;
* months run from 1 November to 31 October, so ``month:12-15`` lies before ``month:01-10``; the November that follows
  the harvest is ``next:month:11-15``; ``prior:`` goes one season back;
* months are written for the northern half of the world and shift by six months in the southern.

``+3d``, ``-2w`` move a day; ``later(…)`` and ``earlier(…)`` take the last or first of several.
"""

from __future__ import annotations

import calendar
import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from typing import Literal

from gardens.knowledge.words import MARKS, STAGES

SEASON_OPENS_IN_MONTH = 11
ANCHORS: tuple[str, ...] = STAGES + MARKS

_POINT = re.compile(r"^(next:|prior:)?(month:(\d{2})-(\d{2})|[a-z_0-9]+?)(?:([+-])(\d{1,3})([dw]))?$")
_CHOICE = re.compile(r"^(later|earlier)\((.+)\)$")
_SEASONS_AWAY = {None: 0, "next:": 1, "prior:": -1}


class WhenError(ValueError):
    """A day that cannot be read; ``remedy`` says what would be right."""

    def __init__(self, wrong: str, remedy: str) -> None:
        super().__init__(wrong)
        self.wrong = wrong
        self.remedy = remedy


@dataclass(frozen=True)
class Frame:
    """Which tree-year is meant: the calendar year in which its buds swell, and the half of the world."""

    year: int
    is_southern: bool = False

    @property
    def opens(self) -> date:
        """First day of the frame: 1 November of the year before (south: 1 May of the year itself)."""
        return month_day(self, SEASON_OPENS_IN_MONTH, 1)

    def away(self, seasons: int) -> Frame:
        """The frame so many seasons later."""
        return Frame(self.year + seasons, self.is_southern)


@dataclass(frozen=True)
class Point:
    """One anchor with its shift. ``month`` is 0 where the anchor is a stage or mark."""

    anchor: str
    month: int = 0
    day: int = 0
    shift_days: int = 0
    seasons_away: int = 0


@dataclass(frozen=True)
class When:
    """A day of the tree's year. Build it with `When.parse`."""

    text: str
    points: tuple[Point, ...]
    pick: Literal["only", "later", "earlier"] = "only"

    @classmethod
    def parse(cls, text: str) -> When:
        """Read an expression.

        Raises:
            WhenError: with what is wrong and what would be right.
        """
        plain = " ".join(text.split())
        if choice := _CHOICE.match(plain):
            parts = tuple(_parse_point(part.strip()) for part in choice.group(2).split(","))
            if len(parts) < 2:
                raise WhenError(f"{text!r} chooses among one day", f"{choice.group(1)}(month:02-01, coldest_end)")
            return cls(plain, parts, "later" if choice.group(1) == "later" else "earlier")
        return cls(plain, (_parse_point(plain),))

    @property
    def stages(self) -> tuple[str, ...]:
        """The stages and marks this day hangs on."""
        return tuple(point.anchor for point in self.points if not point.month)

    def on(self, frame: Frame, stage_day: Callable[[str, int], date]) -> date:
        """The date in one tree-year.

        Args:
            frame: the tree-year.
            stage_day: gives the date of a stage or mark, so many seasons away from the frame.
        """
        if self.pick == "only":
            return _point_day(self.points[0], frame, stage_day)
        days = [_point_day(point, frame, stage_day) for point in self.points]
        return min(days) if self.pick == "earlier" else max(days)

    def __str__(self) -> str:
        return self.text


@lru_cache(maxsize=16384)
def month_day(frame: Frame, month: int, day: int) -> date:
    """The date of a northern calendar day in a tree-year; six months later in the southern half.

    The last day of a month stays the last day of the shifted month (31 August → 28 or 29 February).
    """
    year = frame.year - 1 if month >= SEASON_OPENS_IN_MONTH else frame.year
    is_last = day >= _days_in_common_year(month)
    if frame.is_southern:
        year, month = (year, month + 6) if month <= 6 else (year + 1, month - 6)
    length = calendar.monthrange(year, month)[1]
    return date(year, month, length if is_last else min(day, length))


def _point_day(point: Point, frame: Frame, stage_day: Callable[[str, int], date]) -> date:
    if point.month:
        day = month_day(frame.away(point.seasons_away), point.month, point.day)
    else:
        day = stage_day(point.anchor, point.seasons_away)
    return day + timedelta(days=point.shift_days) if point.shift_days else day


def _parse_point(text: str) -> Point:
    match = _POINT.match(text)
    if not match:
        raise WhenError(
            f"{text!r} is not a day of the tree's year",
            "write a stage or month:MM-DD, if needed with +14d or -2w: leaf_fall+14d, month:08-31, next:leaf_fall",
        )
    away, anchor, month, day, sign, amount, unit = match.groups()
    shift = 0 if amount is None else int(amount) * (7 if unit == "w" else 1) * (-1 if sign == "-" else 1)
    if month is None:
        if anchor not in ANCHORS:
            raise WhenError(f"{anchor!r} is not a stage", f"use one of {', '.join(ANCHORS)}, or month:MM-DD")
        return Point(anchor, shift_days=shift, seasons_away=_SEASONS_AWAY[away])
    if not (1 <= int(month) <= 12 and 1 <= int(day) <= _days_in_common_year(int(month))):
        raise WhenError(f"{anchor!r} is not a day of a common year", "write month:MM-DD, such as month:02-28")
    return Point(anchor, int(month), int(day), shift, _SEASONS_AWAY[away])


def _days_in_common_year(month: int) -> int:
    return calendar.monthrange(2001, month)[1] if 1 <= month <= 12 else 31
