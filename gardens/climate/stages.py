"""The dates of a tree's stages in one season: seen, reckoned from this year's weather, or usual.

For each stage the program follows the years that could be (`season_weather`): in each of them chill and warmth add up
to a date; the middle one is the answer and the outer tenths, widened by the error of the method, are its range.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gardens.climate.daylight import day_length_hours
from gardens.climate.estimate import estimated_normals
from gardens.climate.heat import degree_days_average, degree_days_capped, degree_days_triangle
from gardens.climate.phenology import (
    OverlapBloom,
    SequenceBloom,
    SpeciesPhenology,
    ThermalSum,
    VineGrowth,
)
from gardens.climate.season_weather import SeasonWeather, season_weather
from gardens.climate.seasons import Season
from gardens.climate.values import Basis, DailyWeather, MonthlyNormals, Place, StageDate

Floats = NDArray[np.floating[Any]]

NEXT_LEAF_FALL = "next_leaf_fall"
"""The leaf fall that ends the season; ``leaf_fall`` is the one that begins its dormancy."""

ORDERS = (
    ("bud_swell", "bud_burst", "first_leaves", "shoots_90", "shoot_ripe", "terminal_bud"),
    ("bud_swell", "pink_bud", "first_bloom", "full_bloom", "petal_fall", "fruit_set", "second_drop"),
    ("fruit_set", "harvest_start", "harvest_end"),
)
"""Stages that cannot come before one another. Leaves and flowers of stone fruit overtake each other freely."""

LEAVES_FALL_BELOW_C = 7.0
LEAVES_FALL_MEAN_DAYS = 7
SHORT_DAYS_K_PER_DAY = 0.1
WINTER_WITHOUT_COLD = 30
"""Days before the latest day of leaf fall from which short days count."""
DORMANT_AFTER_DAYS = 14
COLOUR_BELOW_C, COLOUR_BELOW_H, COLOUR_SUM = 28.5, 14.5, 8268.0
LEAST_CHILL_AT_SWELL = 40.0
FROST_C = 0.0

METHOD_SD_DAYS: Mapping[str, float] = {
    "leaf_fall": 7.0,
    "leaf_colour": 8.0,
    "bud_swell": 8.0,
    "bud_burst": 6.5,
    "first_leaves": 6.0,
    "pink_bud": 6.0,
    "first_bloom": 6.0,
    "full_bloom": 6.0,
    "petal_fall": 6.5,
    "fruit_set": 7.0,
    "last_frost": 0.0,
    "first_frost": 0.0,
}
"""Standard error of the method itself where the weather is known: root mean square errors of the tests on record."""

LATE_STAGE_SD_DAYS = 10.0
"""For stages without a figure of their own, such as the ripeness of grapes."""

LEAST_HALF_WIDTH_NORMALS = 12.0
"""Days. Real years differ by more than weather noise without slow swings can show."""
TENTH = 1.2816
"""Standard deviations from the middle to the outer tenth."""
SHARE_LEFT_AFTER_SIGHTING = 0.5
"""Part of the method's error that remains for stages that follow an observed one of the same growth."""

TOO_LITTLE_CHILL = "chill below the need of the species' modest sorts: expect a late, uneven break"
NEVER_WARM_ENOUGH = "warmth hardly suffices here; the last possible day is shown"


def stage_dates(  # noqa: PLR0913 - the agreed question: whose tree, where, which season, and what is known
    place: Place,
    species_phenology: SpeciesPhenology,
    season_year: int,
    weather: Sequence[DailyWeather] = (),
    normals: MonthlyNormals | None = None,
    observed: Mapping[str, date] | None = None,
    as_of: date | None = None,
) -> dict[str, StageDate]:
    """Every stage of a tree in one season, by stage key, in order of time.

    The season carries the calendar year of its bloom; it runs from the leaf fall before (key "leaf_fall") to the leaf
    fall that ends it ("next_leaf_fall"). South of the equator the season 2026 begins with the leaf fall of May and
    June 2026, blooms in September and October 2026 and ends with the leaf fall of 2027. "last_frost" is the last of
    its spring, "first_frost" the first of the autumn that ends it.

    Args:
        place: the site; its height counts only where normals must be guessed.
        species_phenology: `phenology_of(species)`.
        season_year: see above; `season_year(day, is_southern=…)` gives that of a day.
        weather: daily temperatures at the site (or brought to its height), any span, in any order.
        normals: the site's monthly normals; guessed from the nearest known places where None.
        observed: stages seen at the site, by stage key. One seen after ``as_of`` or outside the season is left out.
        as_of: the day of the question; weather after it is left out. None uses all.

    Returns:
        `StageDate` with basis "observed", "weather" (this season's weather up to ``as_of``, continued with normals) or
        "normals". Stages the species does not have (leaf fall of evergreens, bloom of figs) and frosts that most years
        lack are not in the answer.
    """
    season = Season(season_year, place.is_southern)
    known = tuple(day for day in weather if as_of is None or day.on <= as_of)
    years = season_weather(place.latitude_deg, season, known, normals or estimated_normals(place))
    sightings = _sightings(observed or {}, season, as_of)
    reckoning = _Reckoning(years=years, phenology=species_phenology, sightings=sightings)
    return reckoning.dates()


def _sightings(observed: Mapping[str, date], season: Season, as_of: date | None) -> dict[str, date]:
    """The observations that belong to this season; a leaf fall after midsummer is the one that ends it."""
    kept = {}
    for stage, on in observed.items():
        if (as_of is not None and on > as_of) or not season.starts <= on <= season.ends:
            continue
        key = stage
        if stage == "leaf_fall" and on >= season.midsummer:
            key = NEXT_LEAF_FALL
        elif stage == "leaf_colour" and on < season.midsummer:
            continue
        kept[key] = on
    return kept


@dataclass(frozen=True, eq=False)
class _Clock:
    """Warmth adding up over the days, one row per year that could be, and the sum each stage needs in each row."""

    heat: Floats
    marks: tuple[tuple[str, Floats], ...]
    until: int
    """The day taken where the sum is never reached."""


@dataclass(frozen=True, eq=False)
class _Reckoning:
    """One species in one season's weather. Day numbers are those of ``years``, one per year that could be."""

    years: SeasonWeather
    phenology: SpeciesPhenology
    sightings: Mapping[str, date]
    errors: dict[str, float] = field(default_factory=dict)
    notes: dict[str, str] = field(default_factory=dict)

    def dates(self) -> dict[str, StageDate]:
        days: dict[str, Floats] = {}
        if not self.phenology.is_evergreen:
            self._autumn_before(days)
        self._growth(days)
        self._after(days)
        self._put_in_order(days)
        self._frosts(days)
        if not self.phenology.is_evergreen:
            self._autumn_after(days)
        found = [self._date(stage, values) for stage, values in days.items()]
        return {dated.stage: dated for dated in sorted(found, key=lambda dated: dated.on)}

    # bud swell to fruit set

    def _growth(self, days: dict[str, Floats]) -> None:
        growth = self.phenology.growth
        if isinstance(growth, OverlapBloom):
            self._follow(self._overlap_clock(growth), days)
            chilled = _first_day(self.years.chill_sum >= LEAST_CHILL_AT_SWELL, until=0)
            if "bud_swell" not in self.sightings:
                days["bud_swell"] = np.minimum(np.maximum(days["bud_swell"], chilled), days["bud_burst"])
        elif isinstance(growth, SequenceBloom):
            self._follow(self._sequence_clock(growth), days)
        elif isinstance(growth, ThermalSum):
            self._follow(self._thermal_clock(growth), days)
        else:
            self._follow(self._burst_clock(growth), days)
            self._follow(self._vine_clock(growth, days["bud_burst"]), days)

    def _overlap_clock(self, growth: OverlapBloom) -> _Clock:
        heat, chill = self.years.heat_sum, self.years.chill_sum
        self._note_little_chill(chill)
        need = growth.warmth_gdh + growth.extra_gdh * np.exp(
            -growth.fading * (chill + growth.ice_day_portions * self.years.ice_days)
        )
        start, until = self.years.index(self.years.season.heat_from), self._index(8, 15)
        if "full_bloom" in self.sightings:
            bloom = self._sighted("full_bloom")
        else:
            bloom = start + _first_day(heat[:, start:] >= need[:, start:], until=until - start)
        at_bloom = np.maximum(_at(heat, bloom), 1.0)
        marks = [(stage, fraction * at_bloom) for stage, fraction in (*growth.fractions, ("full_bloom", 1.0))]
        return _Clock(heat, tuple(sorted(marks, key=lambda mark: float(mark[1][0]))), until)

    def _sequence_clock(self, growth: SequenceBloom) -> _Clock:
        chill = self.years.chill_sum_from(self.years.season.on(11, 1))
        latest = self._index(2, 28)
        met = np.minimum(_first_day(chill >= growth.chill_portions, until=latest), latest)
        if np.median(met) >= latest:
            self._note(TOO_LITTLE_CHILL)
        hours = self.years.degree_hours(growth.base_c)
        is_counted = np.arange(hours.shape[1]) >= met[:, None]
        return self._constant_clock((hours * is_counted).cumsum(axis=1), growth.stages_gdh, self._index(8, 15))

    def _thermal_clock(self, growth: ThermalSum) -> _Clock:
        daily = degree_days_average(self.years.tmin_c, self.years.tmax_c, growth.base_c)
        heat = self._summed_from(daily, self.years.index(self.years.season.heat_from))
        return self._constant_clock(heat, growth.stages_dd, self._index(9, 15, autumn=True))

    def _burst_clock(self, growth: VineGrowth) -> _Clock:
        daily = degree_days_triangle(self.years.tmin_c, self.years.tmax_c, 0.0)
        heat = self._summed_from(daily, self._index(3, 3))
        stages = (("bud_swell", growth.swell_dd), ("bud_burst", growth.burst_dd))
        return self._constant_clock(heat, stages, self._index(8, 15))

    def _vine_clock(self, growth: VineGrowth, burst: Floats) -> _Clock:
        daily = degree_days_capped(self.years.tmean_c, growth.low_c, growth.best_c, growth.heat_c)
        is_counted = np.arange(daily.shape[1]) >= burst[:, None]
        heat = (daily * is_counted).cumsum(axis=1)
        return self._constant_clock(heat, growth.stages_dd, self._index(10, 31, autumn=True))

    def _constant_clock(self, heat: Floats, stages: Sequence[tuple[str, float]], until: int) -> _Clock:
        rows = heat.shape[0]
        return _Clock(heat, tuple((stage, np.full(rows, need)) for stage, need in stages), until)

    def _follow(self, clock: _Clock, days: dict[str, Floats]) -> None:
        """Reads the clock. The warmth by which the last sighting missed its mark is carried on to all later marks."""
        seen = [stage for stage, _ in clock.marks if stage in self.sightings]
        missed: Floats | None = None
        for stage, need in clock.marks:
            if stage in self.sightings:
                days[stage] = self._sighted(stage)
                if stage == seen[-1]:
                    missed = _at(clock.heat, days[stage]) - need
                continue
            wanted = need if missed is None else need + missed
            days[stage] = _first_day(clock.heat >= np.maximum(wanted, 1e-9)[:, None], until=clock.until)
            self.errors[stage] = METHOD_SD_DAYS.get(stage, LATE_STAGE_SD_DAYS) * (
                1.0 if missed is None else SHARE_LEFT_AFTER_SIGHTING
            )
            if np.median(days[stage]) >= clock.until:
                self.notes[stage] = NEVER_WARM_ENOUGH

    # stages that follow another by a number of days

    def _after(self, days: dict[str, Floats]) -> None:
        for offset in self.phenology.after:
            if offset.stage in self.sightings:
                days[offset.stage] = self._sighted(offset.stage)
            elif offset.from_stage in days:
                days[offset.stage] = days[offset.from_stage] + offset.days
                before = self.errors.get(offset.from_stage, 0.0)
                self.errors[offset.stage] = math.hypot(before, offset.plus_minus / TENTH)

    def _put_in_order(self, days: dict[str, Floats]) -> None:
        """What lies before a sighting stays before it, what follows stays behind."""
        for order in ORDERS:
            present = [stage for stage in order if stage in days]
            bound = np.inf
            for stage in reversed(present):
                if stage in self.sightings:
                    bound = min(bound, float(self.years.index(self.sightings[stage])))
                else:
                    days[stage] = np.minimum(days[stage], bound)
            for earlier, later in pairwise(present):
                if later not in self.sightings:
                    days[later] = np.maximum(days[later], days[earlier])

    # frost and leaves

    def _frosts(self, days: dict[str, Floats]) -> None:
        is_frost = self.years.tmin_c <= FROST_C
        middle = self.years.index(self.years.season.midsummer)
        winter = self.years.index(self.years.season.heat_from) - 60
        backwards = is_frost[:, winter:middle][:, ::-1]
        last = np.where(backwards.any(axis=1), middle - 1 - backwards.argmax(axis=1), np.nan)
        forwards = is_frost[:, middle:]
        first = np.where(forwards.any(axis=1), middle + forwards.argmax(axis=1), np.nan)
        for stage, found in (("last_frost", last), ("first_frost", first)):
            if stage in self.sightings:
                days[stage] = self._sighted(stage)
            elif np.isnan(found).mean() < 0.5:
                days[stage] = found[~np.isnan(found)]

    def _autumn_before(self, days: dict[str, Floats]) -> None:
        days["leaf_fall"] = self._seen_or("leaf_fall", lambda: self._leaf_fall(self._index(9, 22), self._index(12, 31)))
        days["dormant"] = self._seen_or("dormant", lambda: days["leaf_fall"] + DORMANT_AFTER_DAYS)
        self.errors["leaf_fall"] = self.errors["dormant"] = METHOD_SD_DAYS["leaf_fall"]

    def _autumn_after(self, days: dict[str, Floats]) -> None:
        begin, end = self._index(9, 22, autumn=True), self._index(12, 31, autumn=True)
        days[NEXT_LEAF_FALL] = self._seen_or(NEXT_LEAF_FALL, lambda: self._leaf_fall(begin, end))
        days["leaf_colour"] = self._seen_or(
            "leaf_colour", lambda: np.minimum(self._leaf_colour(), days[NEXT_LEAF_FALL] - LEAVES_FALL_MEAN_DAYS)
        )
        self.errors[NEXT_LEAF_FALL], self.errors["leaf_colour"] = (
            METHOD_SD_DAYS["leaf_fall"],
            METHOD_SD_DAYS["leaf_colour"],
        )

    def _leaf_fall(self, begin: int, end: int) -> Floats:
        """First day after ``begin`` on which the mean of a week is 7 °C or less; ``end`` at the latest.

        From 1 December (1 June) the limit rises by a tenth of a degree a day, as short days alone strip a tree in a
        mild winter.
        """
        sums = np.cumsum(self.years.tmean_c, axis=1)
        week = (sums[:, LEAVES_FALL_MEAN_DAYS:] - sums[:, :-LEAVES_FALL_MEAN_DAYS]) / LEAVES_FALL_MEAN_DAYS
        days_into_winter = np.maximum(np.arange(week.shape[1]) + LEAVES_FALL_MEAN_DAYS - (end - WINTER_WITHOUT_COLD), 0)
        limit = LEAVES_FALL_BELOW_C + SHORT_DAYS_K_PER_DAY * days_into_winter
        is_cold = (week <= limit)[:, begin + 1 - LEAVES_FALL_MEAN_DAYS :]
        return np.minimum(begin + 1 + _first_day(is_cold, until=end - begin - 1), end)

    def _leaf_colour(self) -> Floats:
        """Cold and short days add up (form of Delpierre et al. 2009, parameters of beech)."""
        hours = day_length_hours(self.years.latitude_deg, self.years.day_of_year)
        start, end = self.years.index(self.years.season.on(7, 1)), self._index(12, 24, autumn=True)
        cold = np.maximum(COLOUR_BELOW_C - self.years.tmean_c, 0.0) ** 2 * (hours / COLOUR_BELOW_H) ** 2
        is_counted = (hours < COLOUR_BELOW_H) & (np.arange(hours.size) >= start)
        return _first_day((cold * is_counted).cumsum(axis=1) >= COLOUR_SUM, until=end)

    # answers

    def _date(self, stage: str, values: Floats) -> StageDate:
        if stage in self.sightings:
            on = self.sightings[stage]
            return StageDate(stage=stage, on=on, earliest=on, latest=on, basis="observed")
        low, middle, high = (float(np.percentile(values, part)) for part in (10, 50, 90))
        basis = self._basis(stage, middle)
        error = TENTH * self.errors.get(stage, 0.0)
        least = 0.0
        if basis == "normals":
            least = LEAST_HALF_WIDTH_NORMALS * (SHARE_LEFT_AFTER_SIGHTING if self._follows_sighting(stage) else 1.0)
        return StageDate(
            stage=stage,
            on=self.years.day(middle),
            earliest=self.years.day(middle - max(least, math.hypot(middle - low, error))),
            latest=self.years.day(middle + max(least, math.hypot(high - middle, error))),
            basis=basis,
            note=self.notes.get(stage, ""),
        )

    def _basis(self, stage: str, day: float) -> Basis:
        """Weather, where enough of the days that decide the stage were measured."""
        season = self.years.season
        starts = {
            "leaf_fall": (season.on(9, 22), 7),
            "dormant": (season.on(9, 22), 7),
            NEXT_LEAF_FALL: (season.on(9, 22, autumn=True), 7),
            "leaf_colour": (season.on(8, 1), 20),
            "first_frost": (season.on(9, 22, autumn=True), 7),
            "last_frost": (season.on(3, 1), 14),
        }
        if stage in starts:
            return "weather" if self._is_covered(*starts[stage], day) else "normals"
        is_covered = self._is_covered(season.heat_from, 14, day) or self._is_covered(season.chill_from, 45, day)
        return "weather" if is_covered else "normals"

    def _is_covered(self, start: date, least_days: int, day: float) -> bool:
        begin, end = self.years.index(start), min(self.years.last_known, round(day)) + 1
        known = self.years.is_known[begin:end]
        return known.size >= min(least_days, round(day) - begin) > 0 and float(known.mean()) >= 0.8

    def _follows_sighting(self, stage: str) -> bool:
        return any(stage in order and any(s in self.sightings for s in order[: order.index(stage)]) for order in ORDERS)

    # small help

    def _sighted(self, stage: str) -> Floats:
        return np.full(self.years.tmin_c.shape[0], float(self.years.index(self.sightings[stage])))

    def _seen_or(self, stage: str, reckon: Callable[[], Floats]) -> Floats:
        return self._sighted(stage) if stage in self.sightings else reckon()

    def _index(self, month: int, day: int, *, autumn: bool = False) -> int:
        return self.years.index(self.years.season.on(month, day, autumn=autumn))

    def _summed_from(self, daily: Floats, start: int) -> Floats:
        counted = daily.copy()
        counted[:, :start] = 0.0
        return counted.cumsum(axis=1)

    def _note(self, text: str) -> None:
        for stage in ("bud_swell", "full_bloom"):
            self.notes[stage] = text

    def _note_little_chill(self, chill: Floats) -> None:
        if np.median(chill[:, self._index(2, 28)]) < self.phenology.chill_portions[0]:
            self._note(TOO_LITTLE_CHILL)


def _first_day(is_reached: NDArray[np.bool_], *, until: int) -> Floats:
    """Number of the first true day of each row, ``until`` where there is none before it."""
    found = np.where(is_reached.any(axis=1), is_reached.argmax(axis=1), until)
    return np.minimum(found, until).astype(float) if until else found.astype(float)


def _at(sums: Floats, days: Floats) -> Floats:
    """The sum of each row on its own day."""
    index = np.clip(days.astype(int), 0, sums.shape[1] - 1)
    return np.asarray(sums[np.arange(sums.shape[0]), index])
