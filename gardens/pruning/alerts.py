"""What a tree's own records warn of, with dates: ties that will bite, more fruit than the trunk carries."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from gardens.climate.seasons import season_year
from gardens.knowledge.schema import Species
from gardens.knowledge.when import Frame, month_day
from gardens.pruning.crop import crop_limit, trunk_section_cm2
from gardens.pruning.side_wood import SideWood
from gardens.training import girdling_alarm
from gardens.training.state import Tie, TreeState

TIES_AHEAD_DAYS = 42
"""Six weeks: the usual time between two visits in the growing season. House default."""
TIE_SOURCE = "growers' accounts of jute that nearly girdled young arms in one season; days by growth: program default"
TYING = frozenset({"tie_in", "renew_ties", "lower_arms"})
THINNED_UNTIL = (8, 15)
"""Northern day after which thinning does not help the crop of the next year any more. House default."""


@dataclass(frozen=True, kw_only=True)
class TreeAlert:
    """Something to do at a tree from ``first`` to ``last``. ``amount`` is the number of ties, or fruits per cm²."""

    kind: Literal["girdling_ties", "overbearing"]
    first: date
    last: date
    amount: float
    text: str
    source: str


def tree_alerts(state: TreeState, wood: SideWood, species: Species, on: date) -> tuple[TreeAlert, ...]:
    """The alerts of one tree on a day, in order of time.

    Args:
        state: the tree as it stands; its ties carry the day they went on and their material.
        wood: what its records tell; the counts of this season's fruit.
        species: for its crop load.
        on: the day.
    """
    return tuple(sorted([*_ties(state, on), *_crop(state, wood, species, on)], key=lambda alert: alert.first))


def _ties(state: TreeState, on: date) -> Iterator[TreeAlert]:
    """Ties to take off or renew, by the day the first of them bites. Ties that are only guessed warn of nothing."""
    recorded = {day for day, kind, _ in state.done if kind in TYING}
    biting: list[tuple[date, Tie]] = []
    for tie in state.ties:
        if tie.since not in recorded:
            continue
        bites = girdling_alarm(tie, state)
        if bites <= on + timedelta(days=TIES_AHEAD_DAYS):
            biting.append((bites, tie))
    if not biting:
        return
    first, last = min(day for day, _ in biting), max(day for day, _ in biting)
    materials = ", ".join(sorted({tie.material or "of unknown material" for _, tie in biting}))
    many = "ties bite" if len(biting) > 1 else "tie bites"
    when = f"since {first:%-d %B %Y}" if first <= on else f"from {first:%-d %B %Y}"
    yield TreeAlert(
        kind="girdling_ties",
        first=first,
        last=max(last, on),
        amount=float(len(biting)),
        text=f"{len(biting)} {many} into the bark {when} ({materials}). Take off or loosen each, tie anew what still "
        "needs holding.",
        source=TIE_SOURCE,
    )


def _crop(state: TreeState, wood: SideWood, species: Species, on: date) -> Iterator[TreeAlert]:
    """More fruit than the section of the trunk carries, while thinning still helps."""
    if state.girth_mm is None:
        return
    season = season_year(on, is_southern=state.facts.is_southern)
    ends = month_day(Frame(season, state.facts.is_southern), *THINNED_UNTIL)
    fruits = sum(count for year, _, count in wood.fruit_counts if year == season)
    limit = crop_limit(species, state.girth_mm)
    if limit is None or fruits <= limit.high or on > ends:
        return
    each = fruits / trunk_section_cm2(state.girth_mm)
    yield TreeAlert(
        kind="overbearing",
        first=on,
        last=ends,
        amount=round(each, 1),
        text=f"{fruits} fruits on a girth of {state.girth_mm / 10:g} cm are {each:.1f} for each cm² of trunk. Take "
        f"{fruits - limit.high} off, the smallest and the damaged first: {limit.low} to {limit.high} ripen well and "
        "leave buds for next year.",
        source=limit.source,
    )
