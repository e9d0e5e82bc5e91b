"""The dates of a tree's stages in one season: seen, reckoned from this year's weather, or usual.

For each stage the program follows the years that could be (`season_weather`): in each of them chill and warmth add up
to a date; the middle one is the answer and the outer tenths, widened by the error of the method, are its range.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from itertools import pairwise

import numpy as np

from gardens.climate.arrays import Floats
from gardens.climate.autumn import frost_days, leaf_colour_days, leaf_fall_days
from gardens.climate.clocks import (
    Clock,
    at,
    burst_clock,
    first_day,
    overlap_clock,
    sequence_clock,
    thermal_clock,
    vine_clock,
)
from gardens.climate.estimate import estimated_normals
from gardens.climate.phenology import OverlapBloom, SequenceBloom, SpeciesPhenology, ThermalSum
from gardens.climate.season_weather import SeasonWeather, season_weather
from gardens.climate.seasons import Season
from gardens.climate.values import STAGES, Basis, DailyWeather, MonthlyNormals, Place, StageDate

NEXT_LEAF_FALL = "next_leaf_fall"
"""The leaf fall that ends the season; ``leaf_fall`` is the one that begins its dormancy."""

ORDERS = (
    ("bud_swell", "bud_burst", "first_leaves", "shoots_90", "shoot_ripe", "terminal_bud"),
    ("bud_swell", "pink_bud", "first_bloom", "full_bloom", "petal_fall", "fruit_set", "second_drop"),
    ("fruit_set", "harvest_start", "harvest_end"),
)
"""Stages that cannot come before one another. Leaves and flowers of stone fruit overtake each other freely."""

GROWTH_STAGES = frozenset(ORDERS[0] + ORDERS[1])
HARVEST_STAGES = frozenset(("harvest_start", "harvest_end"))
EARLIEST_GROWTH_DAYS, LATEST_GROWTH_DAYS = -31, 273
LATEST_HARVEST_DAYS = 180
"""Sightings of growth count from a month before to nine months after the heat season begins; harvests of citrus
reach half a year beyond the season."""

AUTUMN_STARTS: Mapping[str, tuple[int, int, int, bool]] = {
    "leaf_fall": (9, 22, 7, False),
    "dormant": (9, 22, 7, False),
    NEXT_LEAF_FALL: (9, 22, 7, True),
    "leaf_colour": (8, 1, 20, False),
    "first_frost": (9, 22, 7, True),
    "last_frost": (1, 1, 14, False),
}
"""Stages that do not wait for warmth: the northern day from which weather decides them, how many days of it must be
known, and whether the autumn that ends the season is meant."""

DORMANT_AFTER_DAYS = 14
LEAST_CHILL_AT_SWELL = 40.0
"""Chill portions before which no bud of a deciduous fruit tree swells: program default."""

METHOD_SD_DAYS: Mapping[str, float] = {
    "leaf_fall": 7.0,
    "dormant": 7.0,
    NEXT_LEAF_FALL: 7.0,
    "leaf_colour": 8.0,
    "bud_swell": 8.0,
    "bud_burst": 6.5,
    "first_leaves": 6.0,
    "pink_bud": 6.0,
    "first_bloom": 6.0,
    "full_bloom": 6.0,
    "petal_fall": 6.5,
    "fruit_set": 7.0,
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

TOO_LITTLE_CHILL = "too little chill for the species' modest sorts: expect a late, uneven break"
NEVER_WARM_ENOUGH = "the season is hardly warm enough; the last possible day is shown"


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
        place: the site; its height counts only where normals must be guessed (0 m means not known).
        species_phenology: `phenology_of(species)`.
        season_year: see above; `season_year(day, is_southern=…)` gives that of a day.
        weather: daily temperatures at the site (or brought to its height), any span, in any order.
        normals: the site's monthly normals; guessed from the nearest known places where None.
        observed: stages seen at the site, by stage key. Those seen after ``as_of`` or outside the season do not count.
        as_of: the day of the question; weather after it does not count. None uses all.

    Returns:
        `StageDate` with basis "observed", "weather" (this season's weather up to ``as_of``, continued with normals) or
        "normals". Stages the species does not have (leaf fall of evergreens, bloom of figs) and frosts that most years
        lack are not in the answer.

    Raises:
        ValueError: when ``observed`` names something that is no stage.
    """
    season = Season(season_year, place.is_southern)
    years = season_weather(place.latitude_deg, season, weather, normals or estimated_normals(place), as_of)
    return stages_in(years, species_phenology, observed, as_of)


def stages_in(
    years: SeasonWeather,
    species_phenology: SpeciesPhenology,
    observed: Mapping[str, date] | None = None,
    as_of: date | None = None,
) -> dict[str, StageDate]:
    """`stage_dates` in a season's weather that was prepared once (`season_weather`) for many species and trees."""
    sightings = _sightings(observed or {}, years.season, as_of)
    key = (species_phenology, tuple(sorted(sightings.items())))
    reckoning = _Reckoning(years=years, phenology=species_phenology, sightings=sightings)
    return dict(years.remembered(key, reckoning.dates))


def _sightings(observed: Mapping[str, date], season: Season, as_of: date | None) -> dict[str, date]:
    """The observations that belong to this season; a leaf fall after midsummer is the one that ends it."""
    kept = {}
    for stage, on in observed.items():
        if stage not in STAGES and stage != NEXT_LEAF_FALL:
            raise ValueError(f"{stage!r} is not a stage; known are {', '.join(STAGES)}")
        first, last = season.starts, season.ends
        if stage in GROWTH_STAGES:
            first = season.heat_from + timedelta(days=EARLIEST_GROWTH_DAYS)
            last = season.heat_from + timedelta(days=LATEST_GROWTH_DAYS)
        elif stage in HARVEST_STAGES:
            first, last = season.heat_from, season.ends + timedelta(days=LATEST_HARVEST_DAYS)
        elif stage in (NEXT_LEAF_FALL, "leaf_colour", "first_frost"):
            first = season.midsummer
        elif stage == "last_frost":
            last = season.midsummer
        if not first <= on <= last or (as_of is not None and on > as_of):
            continue
        is_next = stage == "leaf_fall" and on >= season.midsummer
        kept[NEXT_LEAF_FALL if is_next else stage] = on
    return kept


@dataclass(frozen=True, eq=False)
class _Reckoning:
    """One species in one season's weather. Day numbers are those of ``years``, one per year that could be."""

    years: SeasonWeather
    phenology: SpeciesPhenology
    sightings: dict[str, date]
    days: dict[str, Floats] = field(default_factory=dict)
    errors: dict[str, float] = field(default_factory=dict)
    notes: dict[str, str] = field(default_factory=dict)

    def dates(self) -> dict[str, StageDate]:
        self._growth()
        self._followers()
        self._put_in_order()
        self._frosts()
        if not self.phenology.is_evergreen:
            self._leaves()
        for stage in self.sightings:
            self._keep(stage, None)
        parts = _outer_and_middle_of(list(self.days.values()))
        found = [self._date(stage, part) for stage, part in zip(self.days, parts, strict=True)]
        return {dated.stage: dated for dated in sorted(found, key=lambda dated: dated.on)}

    def _keep(self, stage: str, reckoned: Floats | None) -> None:
        """Files a stage's days; a sighting wins over what was reckoned."""
        if stage in self.sightings:
            index = float(self.years.index(self.sightings[stage]))
            self.days[stage] = np.full(self.years.tmin_c.shape[0], index)
        elif reckoned is not None:
            self.days[stage] = reckoned
            self.errors.setdefault(stage, METHOD_SD_DAYS.get(stage, 0.0))

    def _growth(self) -> None:
        growth = self.phenology.growth
        if isinstance(growth, OverlapBloom):
            seen = self.sightings.get("full_bloom")
            seen_bloom = None if seen is None else self.years.index(seen)
            self._follow(overlap_clock(self.years, growth, self.phenology.chill_portions[0], seen_bloom))
            chilled = first_day(self.years.chill_sum >= LEAST_CHILL_AT_SWELL, until=self.years.tmin_c.shape[1])
            swell = np.minimum(np.maximum(self.days["bud_swell"], chilled), self.days["bud_burst"])
            self._keep("bud_swell", swell)
        elif isinstance(growth, SequenceBloom):
            self._follow(sequence_clock(self.years, growth))
        elif isinstance(growth, ThermalSum):
            self._follow(thermal_clock(self.years, growth))
        else:
            self._follow(burst_clock(self.years, growth))
            self._follow(vine_clock(self.years, growth, self.days["bud_burst"]))

    def _follow(self, clock: Clock) -> None:
        """Reads a clock. The warmth by which the last sighting missed its mark is carried on to all later marks."""
        last_seen = next((stage for stage, _ in reversed(clock.marks) if stage in self.sightings), None)
        missed: Floats | None = None
        for stage, need in clock.marks:
            wanted = need if missed is None else need + missed
            self.errors[stage] = METHOD_SD_DAYS.get(stage, LATE_STAGE_SD_DAYS) * (
                1.0 if missed is None else SHARE_LEFT_AFTER_SIGHTING
            )
            self._keep(stage, first_day(clock.heat >= np.maximum(wanted, 1e-9)[:, None], until=clock.until))
            if stage == last_seen:
                missed = at(clock.heat, self.days[stage]) - need
            if np.count_nonzero(self.days[stage] >= clock.until) * 2 > self.days[stage].size:
                self.notes[stage] = NEVER_WARM_ENOUGH
        if clock.lacks_chill:
            self.notes.update(dict.fromkeys(("bud_swell", "full_bloom"), TOO_LITTLE_CHILL))

    def _followers(self) -> None:
        """Stages that come a number of days after another."""
        for offset in self.phenology.after:
            if offset.from_stage not in self.days:
                continue
            before = self.days[offset.from_stage]
            seen = self.sightings.get(offset.stage)
            if seen is not None and self.years.index(seen) < float(before.min()):
                del self.sightings[offset.stage]  # last year's fruit
            error = 0.0 if offset.from_stage in self.sightings else self.errors.get(offset.from_stage, 0.0)
            self.errors[offset.stage] = math.hypot(error, offset.plus_minus / TENTH)
            self._keep(offset.stage, before + offset.days)

    def _put_in_order(self) -> None:
        """What lies before a sighting stays before it, what follows stays behind."""
        bounds = {stage: float(self.years.index(on)) for stage, on in self.sightings.items()}
        for order in reversed(ORDERS):
            bound = math.inf
            for stage in reversed([stage for stage in order if stage in self.days]):
                bound = bounds[stage] = min(bound, bounds.get(stage, math.inf))
                if stage not in self.sightings:
                    self.days[stage] = np.minimum(self.days[stage], bound)
        for order in ORDERS:
            for earlier, later in pairwise([stage for stage in order if stage in self.days]):
                if later not in self.sightings:
                    self.days[later] = np.maximum(self.days[later], self.days[earlier])

    def _frosts(self) -> None:
        for stage, found in zip(
            ("last_frost", "first_frost"), self.years.remembered("frosts", lambda: frost_days(self.years)), strict=True
        ):
            years_with = found[~np.isnan(found)]
            self._keep(stage, years_with if years_with.size > found.size / 2 else None)

    def _leaves(self) -> None:
        self._keep("leaf_fall", self.years.remembered("leaf_fall", lambda: leaf_fall_days(self.years, autumn=False)))
        self._keep("dormant", self.days["leaf_fall"] + DORMANT_AFTER_DAYS)
        self._keep(
            NEXT_LEAF_FALL, self.years.remembered(NEXT_LEAF_FALL, lambda: leaf_fall_days(self.years, autumn=True))
        )
        self._keep("leaf_colour", self.years.remembered("leaf_colour", lambda: leaf_colour_days(self.years)))

    def _date(self, stage: str, parts: tuple[float, float, float]) -> StageDate:
        if stage in self.sightings:
            on = self.sightings[stage]
            return StageDate(stage=stage, on=on, earliest=on, latest=on, basis="observed")
        low, middle, high = parts
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
        if self.years.last_known < 0:
            return "normals"
        season = self.years.season
        if stage in AUTUMN_STARTS:
            month, on, least_days, autumn = AUTUMN_STARTS[stage]
            is_covered = self._is_covered(season.on(month, on, autumn=autumn), least_days, day)
        else:
            is_covered = self._is_covered(season.heat_from, 14, day) or self._is_covered(season.chill_from, 45, day)
        return "weather" if is_covered else "normals"

    def _is_covered(self, start: date, least_days: int, day: float) -> bool:
        """Whether at least so many days from ``start`` on were measured, and four fifths of those up to the stage."""
        begin = self.years.index(start)
        end = min(self.years.last_known, max(round(day), begin + least_days - 1)) + 1
        known = self.years.known_days(begin, end)
        return end - begin >= least_days and known >= 0.8 * (end - begin)

    def _follows_sighting(self, stage: str) -> bool:
        return any(stage in order and any(s in self.sightings for s in order[: order.index(stage)]) for order in ORDERS)


def _outer_and_middle_of(rows: Sequence[Floats]) -> list[tuple[float, float, float]]:
    """The lower tenth, the middle and the upper tenth of each row. Rows of one length are sorted together."""
    by_size: dict[int, list[int]] = {}
    for number, row in enumerate(rows):
        by_size.setdefault(row.size, []).append(number)
    found: dict[int, tuple[float, float, float]] = {}
    for size, numbers in by_size.items():
        ordered = np.sort(np.array([rows[number] for number in numbers]), axis=1)
        parts = np.empty((len(numbers), 3))
        for column, share in enumerate((0.1, 0.5, 0.9)):
            place = share * (size - 1)
            below = int(place)
            above = ordered[:, min(below + 1, size - 1)]
            parts[:, column] = ordered[:, below] + (place - below) * (above - ordered[:, below])
        found.update(
            {number: (low, middle, high) for number, (low, middle, high) in zip(numbers, parts.tolist(), strict=True)}
        )
    return [found[number] for number in range(len(rows))]
