"""The year at a site against the usual one: chill, warmth, stages, and what the weather does to its trees."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import cos, radians

from business.queries.profile import our_profile
from gardens.climate import (
    DailyWeather,
    Learned,
    SeasonChart,
    StageDate,
    ThirstyTree,
    WatchedTree,
    WeatherWarning,
    season_chart,
    weather_warnings,
)
from gardens.knowledge.words import HARD_CUTS
from gardens.models import Site, Support, Tree
from gardens.pruning.alerts import TreeAlert, tree_alerts
from gardens.queries.trees import trees_on_site
from gardens.services.due import DueBook, TreeWork
from gardens.services.site_season import SiteProfile, site_profile
from gardens.services.words import species_name
from gardens.training import TreeState

LOOK_BACK_DAYS = 90
"""The soil's store is reckoned from sixty days of weather; nothing older warns of anything."""
LEAST_SPREAD_MM = 300
"""A newly planted whip is not thinner than this to the sun."""


@dataclass(frozen=True, kw_only=True)
class StageRow:
    """One stage: this year's day, the usual one, and how many days early (positive) this year is."""

    this: StageDate
    usual: StageDate | None

    @property
    def days_early(self) -> int | None:
        return (self.usual.on - self.this.on).days if self.usual else None


@dataclass(frozen=True, kw_only=True)
class WarningRow:
    """A warning and the trees it is about."""

    warning: WeatherWarning | TreeAlert
    trees: tuple[Tree, ...]


@dataclass(frozen=True, kw_only=True)
class SiteYear:
    """Everything the page of a site's year shows."""

    year: int
    is_current: bool
    profile: SiteProfile
    chart: SeasonChart
    species: tuple[tuple[str, str, int], ...]
    """Species at the site: id, name, how many trees; the most first."""
    chosen: str
    stages: tuple[StageRow, ...]
    learned: Learned | None
    warnings: tuple[WarningRow, ...]
    measured_until: date | None
    forecast_until: date | None


def site_year(site: Site, on: date, year: int | None = None, species: str = "") -> SiteYear:
    """The year of a site on a day. An unknown species is answered with the site's most common one."""
    book = DueBook(on)
    trees = list(trees_on_site(site.pk).filter(is_planned=False))
    this_year = book.year_of(site)
    wanted = year or this_year
    counted = Counter(tree.species for tree in trees)
    listed = tuple((key, species_name(key), count) for key, count in counted.most_common())
    chosen = species if species in counted else (listed[0][0] if listed else "")
    weather = book.seasons.weather(site, wanted)
    return SiteYear(
        year=wanted,
        is_current=wanted == this_year,
        profile=site_profile(site, our_profile().climate_profile),
        chart=season_chart(site.place, wanted, weather.days, book.seasons.normals(site), on),
        species=listed,
        chosen=chosen,
        stages=_stages(book, site, chosen, wanted) if chosen else (),
        learned=book.seasons.learned(site, chosen, wanted) if chosen else None,
        warnings=warnings_at(site, trees, book) if wanted == this_year else (),
        measured_until=max((day.on for day in weather.days if day.on < on), default=None),
        forecast_until=max((day.on for day in weather.days if day.on >= on), default=None),
    )


def _stages(book: DueBook, site: Site, species: str, year: int) -> tuple[StageRow, ...]:
    usual = book.seasons.usual_stages(site, species, year)
    this = book.seasons.stages(site, species, year)
    rows = [StageRow(this=stage, usual=usual.get(key)) for key, stage in this.items()]
    return tuple(sorted(rows, key=lambda row: row.this.on))


def warnings_at(site: Site, trees: Sequence[Tree], book: DueBook) -> tuple[WarningRow, ...]:
    """What weather, ties and crop mean for the trees of a site; alike warnings are told once."""
    year = book.year_of(site)
    days = _recent(book.seasons.weather(site, year).days, book.as_of)
    found: dict[tuple[str, date, date, str], WarningRow] = {}
    for work in book.work_at(site, trees, year):
        stages = book.seasons.stages(site, work.tree.species, year, work.tree.cultivar)
        species = book.years.knowledge.species[work.tree.species]
        told: list[WeatherWarning | TreeAlert] = [*tree_alerts(work.state, work.wood, species, book.as_of)]
        if days:
            told += weather_warnings(_watched(work, site, stages, book), days, book.as_of)
        for warning in told:
            key = (warning.kind, warning.first, warning.last, warning.text)
            before = found[key].trees if key in found else ()
            found[key] = WarningRow(warning=warning, trees=(*before, work.tree))
    return tuple(sorted(found.values(), key=lambda row: (row.warning.first, row.warning.kind)))


def _recent(days: Iterable[DailyWeather], as_of: date) -> tuple[DailyWeather, ...]:
    first = as_of - timedelta(days=LOOK_BACK_DAYS)
    return tuple(day for day in days if day.on >= first)


def _watched(work: TreeWork, site: Site, stages: Mapping[str, StageDate], book: DueBook) -> WatchedTree:
    at_wall = work.tree.support.kind == Support.Kind.WALL
    return WatchedTree(
        place=site.place,
        species=work.tree.species,
        stages=stages,
        is_at_wall=at_wall,
        cutting=_dry_spans(work, book),
        thirst=ThirstyTree(
            planted_on=work.tree.planted_on,
            height_mm=max(work.state.leader_height_mm, LEAST_SPREAD_MM),
            width_mm=_spread_mm(work.state),
            gap_to_wall_mm=work.tree.support.gap_mm if at_wall else None,
        ),
    )


def _dry_spans(work: TreeWork, book: DueBook) -> tuple[tuple[date, date], ...]:
    """When stone fruit is cut: the cuts whose rule asks for dry days."""
    species = book.years.knowledge.species[work.tree.species]
    if "stone" not in species.lineage:
        return ()
    return tuple(
        (need.window.opens, need.window.closes)
        for need in work.work.needs
        if need.kind in HARD_CUTS and need.weather_rule
    )


def _spread_mm(state: TreeState) -> int:
    """How far the tree reaches along its support."""
    reach = {-1: 0.0, 1: 0.0}
    for limb in state.limbs:
        if limb.side and limb.status in ("tied", "set", "chosen"):
            out = abs(limb.origin_x_mm) + limb.length_mm * cos(radians(limb.angle_deg))
            reach[limb.side] = max(reach[limb.side], out)
    return max(LEAST_SPREAD_MM, round(sum(reach.values())))
