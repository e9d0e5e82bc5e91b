"""The season: which months of which years belong to one bloom.

A season carries the calendar year in which its bloom falls. In the north the season 2026 begins with the leaf fall of
autumn 2025, blooms in spring 2026 and ends with the leaf fall of autumn 2026. In the south it begins with the leaf
fall of May and June 2026, blooms in September and October 2026 and ends with the leaf fall of May and June 2027.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta


@dataclass(frozen=True)
class Season:
    """The fixed days of one season. Southern days lie 181 or 182 days after the northern ones of the same name."""

    year: int
    is_southern: bool

    def on(self, month: int, day: int, *, autumn: bool = False) -> date:
        """The day of this season that has the season of the northern ``month``/``day`` before or after bloom.

        ``autumn`` picks the second half: the autumn that ends the season. Without it, September to December mean the
        autumn that began it.
        """
        northern_year = self.year if autumn or month <= 8 else self.year - 1
        northern = date(northern_year, month, day)
        return _half_a_year_later(northern) if self.is_southern else northern

    @property
    def chill_from(self) -> date:
        """1 September of the year before (north), 1 March (south): chill counts from here."""
        return self.on(9, 1)

    @property
    def heat_from(self) -> date:
        """1 January (north), 1 July (south): heat counts from here."""
        return self.on(1, 1)

    @property
    def midsummer(self) -> date:
        """24 July (north), 24 January (south): spring frosts lie before it, autumn frosts from it on."""
        return self.on(7, 24)

    @property
    def starts(self) -> date:
        """The midsummer before: everything that leads to this bloom lies after it."""
        return Season(self.year - 1, self.is_southern).midsummer

    @property
    def ends(self) -> date:
        """The last day on which the leaf fall that ends the season may lie, and a month more."""
        return self.on(12, 31, autumn=True) + timedelta(days=31)


def season_year(on: date, *, is_southern: bool) -> int:
    """The season whose dormancy or growth a day belongs to.

    The year turns on 1 November in the north and on 1 May in the south, about when the leaves fall.
    """
    turns = 5 if is_southern else 11
    if is_southern:
        return on.year if on.month >= turns else on.year - 1
    return on.year + 1 if on.month >= turns else on.year


def _half_a_year_later(northern: date) -> date:
    """The same day of the season half a year on: first of month to first of month, so month ends stay month ends."""
    month = northern.month + 6
    year = northern.year + (month > 12)
    month = month - 12 if month > 12 else month
    first_of_next = date(year + (month == 12), month % 12 + 1, 1)
    last = (first_of_next - timedelta(days=1)).day
    return date(year, month, min(northern.day, last))
