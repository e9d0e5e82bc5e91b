"""A tree over the years: drawn season by season, and beside what was expected when it was planted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.utils.safestring import SafeString, mark_safe

from gardens.drawing import Options, draw_strip
from gardens.models import Tree
from gardens.services.practice import our_practice
from gardens.services.standing import Outlook, facts_of, outlook, records_of
from gardens.services.words import full_words, tree_fact
from gardens.training import SeasonSeen, fold, plan_and_reality
from gardens.units import Units

MOST_PANELS = 9


@dataclass(frozen=True, kw_only=True)
class TreeYears:
    """The strip, the seasons in figures, and the tiers with their expected season."""

    strip: SafeString
    fact: str
    full: str
    seasons: Sequence[SeasonSeen]
    tiers: Sequence[tuple[int, int, int, int]]
    minutes: Sequence[tuple[int, float]]


MOST_ON_PAPER = 5


def years_on_paper(tree: Tree, on: date, found: Outlook, options: Options) -> str:
    """The strip of a tree's years alone, as SVG for a paper, from an outlook that is known already.

    One picture a calendar year, at rest after its growth: the first year, the last ones, and the tree as it stands.
    """
    facts, records, practice = facts_of(tree), records_of(tree), our_practice()
    rest = (6, 1) if facts.is_southern else (12, 1)
    years = [year for year in range(facts.planted_on.year, on.year) if date(year, *rest) > facts.planted_on]
    shown = years if len(years) < MOST_ON_PAPER else [years[0], *years[2 - MOST_ON_PAPER :]]
    states = [fold(facts, records, date(year, *rest), practice=practice) for year in shown]
    states.append(found.state)
    expected = found.forecast if found.state.stage not in ("full", "lost") else None
    return draw_strip(states, expected, options)


def tree_years(tree: Tree, on: date, units: Units = "metric") -> TreeYears:
    """Everything the page of a tree's years shows."""
    facts, records = facts_of(tree), records_of(tree)
    practice = our_practice()
    found = outlook(tree, on, practice)
    seasons = plan_and_reality(facts, records, on, practice=practice)
    days = [season.on for season in seasons][-MOST_PANELS:] or [on]
    states = [fold(facts, records, day, practice=practice) for day in days]
    options = Options(width_px=1080, max_height_mm=150, id_prefix=f"years{tree.pk}", units=units)
    strip = draw_strip(states, found.forecast if found.state.stage not in ("full", "lost") else None, options)
    return TreeYears(
        strip=mark_safe(strip),  # noqa: S308 - our own core, which escapes every text
        fact=tree_fact(tree, found.state),
        full=full_words(found),
        seasons=seasons,
        tiers=found.forecast.tiers,
        minutes=found.forecast.minutes_per_year[:6],
    )
