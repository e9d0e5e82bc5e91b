"""One tree-year at one site, and the days that rules name in it.

A day comes from the stage dates that were handed in, else from the species' own calendar; it carries the weakest basis
of the stages it hangs on.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cached_property

from gardens.climate.stages import NEXT_LEAF_FALL
from gardens.climate.values import Basis, Place, StageDate
from gardens.knowledge.schema import Species
from gardens.knowledge.when import Frame, When

WEAKEST_LAST: tuple[Basis, ...] = ("observed", "weather", "normals")


@dataclass(frozen=True, kw_only=True)
class Season:
    """The year of one species at one site, named after the calendar year of its bloom.

    ``stages`` are its stage dates by key ("next_leaf_fall" ends it), as `gardens.climate.stage_dates` gives them, and
    the site's marks (`site_marks`). ``before`` and ``after`` are those of the neighbouring seasons where they are
    known; else the same days a year away stand in for them.
    """

    place: Place
    profile: str
    year: int
    stages: Mapping[str, StageDate] = field(default_factory=dict)
    before: Mapping[str, StageDate] = field(default_factory=dict)
    after: Mapping[str, StageDate] = field(default_factory=dict)

    @cached_property
    def frame(self) -> Frame:
        """The tree-year that rules reckon in."""
        return Frame(self.year, self.place.is_southern)

    @cached_property
    def key(self) -> tuple[object, ...]:
        """What windows depend on; equal for two sites with the same year."""
        dates = tuple(tuple(sorted(known.items())) for known in (self.stages, self.before, self.after))
        return (self.profile, self.year, self.place.is_southern, _plain(dates))


def _plain(dates: tuple[tuple[tuple[str, StageDate], ...], ...]) -> tuple[object, ...]:
    return tuple(tuple((key, stage.on, stage.basis) for key, stage in known) for known in dates)


def weakest(bases: Sequence[Basis]) -> Basis:
    """The weakest of several bases; the usual date where there is none."""
    for basis in reversed(WEAKEST_LAST):
        if basis in bases:
            return basis
    return "normals"


@dataclass(frozen=True)
class Day:
    """A date and where it comes from."""

    on: date
    basis: Basis


class YearDays:
    """The days of one species' year, looked up once each."""

    def __init__(self, species: Species, season: Season) -> None:
        self._calendar = species.calendar[season.profile]
        self._season = season
        self._frames = {away: season.frame.away(away) for away in range(-2, 3)}
        self._seen: dict[tuple[str, int], Day] = {}
        self._days: dict[tuple[str, int], Day] = {}

    def day(self, when: When, away: int = 0) -> Day:
        """The day of an expression, so many seasons from the one meant."""
        key = (when.text, away)
        found = self._days.get(key)
        if found is None:
            found = self._days[key] = self._reckoned(when, away)
        return found

    def _reckoned(self, when: When, away: int) -> Day:
        bases: list[Basis] = []

        def stage_day(anchor: str, further: int) -> date:
            found = self._stage(anchor, away + further)
            bases.append(found.basis)
            return found.on

        frame = self._frames.get(away) or self._season.frame.away(away)
        on = when.on(frame, stage_day)
        return Day(on, bases[0] if len(bases) == 1 else weakest(bases))

    def whole_year(self, away: int = 0) -> tuple[date, date]:
        """First and last day of a tree-year."""
        frame = self._season.frame.away(away)
        return frame.opens, frame.away(1).opens - timedelta(days=1)

    def _stage(self, anchor: str, away: int) -> Day:
        key = (anchor, away)
        found = self._seen.get(key)
        if found is None:
            found = self._seen[key] = self._known(anchor, away) or self._usual(anchor, away)
        return found

    def _known(self, anchor: str, away: int) -> Day | None:
        season = self._season
        if away == 0:
            stage = season.stages.get(anchor)
            return _day_of(stage) if stage is not None else None
        if anchor == "leaf_fall" and away == 1 and NEXT_LEAF_FALL in season.stages:
            return _day_of(season.stages[NEXT_LEAF_FALL])
        exact = season.before if away == -1 else season.after if away == 1 else {}
        if anchor in exact:
            return _day_of(exact[anchor])
        if anchor in season.stages:
            return Day(_years_on(season.stages[anchor].on, away), "normals")
        return None

    def _usual(self, anchor: str, away: int) -> Day:
        """From the calendar; a usual distance from a sighting is no sighting any more."""
        found = self.day(self._calendar[anchor], away)
        return Day(found.on, "weather" if found.basis == "observed" else found.basis)


def _day_of(stage: StageDate) -> Day:
    return Day(stage.on, stage.basis)


def _years_on(on: date, years: int) -> date:
    if not years:
        return on
    try:
        return on.replace(year=on.year + years)
    except ValueError:  # 29 February
        return on.replace(year=on.year + years, day=28)
