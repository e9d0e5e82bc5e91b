"""When the things to look for show themselves."""

from __future__ import annotations

import calendar

from gardens.knowledge.rule_schema import Watch
from gardens.knowledge.when import month_day
from gardens.pruning.book import SpeciesYear
from gardens.pruning.values import Window


def watch_window(watch: Watch, year: SpeciesYear) -> Window | None:
    """The days of one tree-year on which a watch is kept; None where its stages fall the wrong way round."""
    if watch.opens is not None and watch.closes is not None:
        opens, closes = year.days.day(watch.opens), year.days.day(watch.closes)
        if opens.on > closes.on:
            return None
        return Window(opens=opens.on, best_from=opens.on, best_until=closes.on, closes=closes.on, basis=opens.basis)
    frame = year.season.frame
    first, last = watch.months[0], watch.months[-1]
    opens_on = month_day(frame, first, 1)
    closes_on = month_day(frame, last, calendar.monthrange(2001, last)[1])
    if closes_on < opens_on:  # over the end of the tree-year, such as October and November
        closes_on = month_day(frame.away(1), last, calendar.monthrange(2001, last)[1])
    return Window(opens=opens_on, best_from=opens_on, best_until=closes_on, closes=closes_on, basis="normals")
