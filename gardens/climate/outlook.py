"""Warnings with dates: frost on open buds, wet spells at cutting time, heat and drought for young trees."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Literal

from gardens.climate.buds import frost_risks
from gardens.climate.values import DailyWeather, Place, StageDate
from gardens.climate.water import ThirstyTree, water_need

WarningKind = Literal["frost_on_buds", "wet_spell", "heat", "drought"]

WET_DAY_MM = 1.0
WET_SPELL_DAYS = 3
HOT_DAY_C, HOT_DAY_YOUNG_C = 35.0, 30.0
HOT_SPELL_DAYS = 3
WATER_LOOK_BACK_DAYS = 60
SPELL_SOURCE = "program default; see the weather gates for the limits of each kind of work"


@dataclass(frozen=True, kw_only=True)
class WeatherWarning:
    """Something the weather does to a tree, from ``first`` to ``last``, in one sentence. ``amount`` is its figure: part
    of the buds lost, rain in mm, highest temperature in °C, or litres of water to give."""

    kind: WarningKind
    first: date
    last: date
    amount: float
    text: str
    source: str


@dataclass(frozen=True, kw_only=True)
class WatchedTree:
    """What is needed to watch over a tree.

    ``stages`` are those of `stage_dates`; ``cutting`` the spans in which its work must stay dry; ``thirst`` its size
    and planting day, without which neither heat nor drought of young trees is looked at.
    """

    place: Place
    species: str
    stages: Mapping[str, StageDate]
    is_at_wall: bool = False
    cutting: tuple[tuple[date, date], ...] = field(default=())
    thirst: ThirstyTree | None = None


@dataclass(frozen=True, kw_only=True)
class Spell:
    """Days in a row that share something, first and last included."""

    first: date
    last: date
    days: tuple[DailyWeather, ...]


def spells(days: Sequence[DailyWeather], is_such: Callable[[DailyWeather], bool], least_days: int) -> tuple[Spell, ...]:
    """Every run of at least ``least_days`` consecutive days that are such. A missing day ends a run."""
    runs: list[list[DailyWeather]] = []
    for day in sorted(days, key=lambda day: day.on):
        if not is_such(day):
            continue
        if runs and (day.on - runs[-1][-1].on).days == 1:
            runs[-1].append(day)
        else:
            runs.append([day])
    return tuple(Spell(first=run[0].on, last=run[-1].on, days=tuple(run)) for run in runs if len(run) >= least_days)


def weather_warnings(tree: WatchedTree, days: Sequence[DailyWeather], as_of: date) -> tuple[WeatherWarning, ...]:
    """What the measured and forecast days mean for a tree, from ``as_of`` on, in order of time.

    Days before ``as_of`` only tell how dry the soil is and where a spell began; spells that are over are left out.
    """
    found = [*_frosts(tree, days, as_of), *_wet_spells(tree, days, as_of), *_heat(tree, days, as_of)]
    found += _drought(tree, days, as_of)
    return tuple(sorted(found, key=lambda warning: (warning.first, warning.kind)))


def _frosts(tree: WatchedTree, days: Sequence[DailyWeather], as_of: date) -> list[WeatherWarning]:
    ahead = [day for day in days if day.on >= as_of]
    return [
        WeatherWarning(
            kind="frost_on_buds",
            first=risk.on,
            last=risk.on,
            amount=risk.expected_loss,
            text=(
                f"{risk.tmin_c:g} °C is due on {risk.on}; at the stage {risk.stage}, {risk.temperatures.tenth_c:g} °C "
                f"kills a tenth of the buds, {risk.temperatures.most_c:g} °C nine tenths. Cover the tree in the evening."
            ),
            source=risk.source,
        )
        for risk in frost_risks(tree.species, tree.stages, ahead, is_at_wall=tree.is_at_wall)
    ]


def _wet_spells(tree: WatchedTree, days: Sequence[DailyWeather], as_of: date) -> list[WeatherWarning]:
    found = []
    for spell in spells(days, lambda day: (day.rain_mm or 0.0) >= WET_DAY_MM, WET_SPELL_DAYS):
        cut = [(first, last) for first, last in tree.cutting if spell.first <= last and spell.last >= first]
        if spell.last >= as_of and cut:
            rain = sum(day.rain_mm or 0.0 for day in spell.days)
            text = (
                f"It rains from {spell.first} to {spell.last}, {rain:.0f} mm, while the window is open until "
                f"{max(last for _, last in cut)}. Move the cut to a dry day."
            )
            found.append(
                WeatherWarning(
                    kind="wet_spell",
                    first=spell.first,
                    last=spell.last,
                    amount=round(rain, 1),
                    text=text,
                    source=SPELL_SOURCE,
                )
            )
    return found


def _heat(tree: WatchedTree, days: Sequence[DailyWeather], as_of: date) -> list[WeatherWarning]:
    if tree.thirst is None:
        return []
    is_young = tree.thirst.is_young(as_of, is_southern=tree.place.is_southern)
    limit = HOT_DAY_YOUNG_C if is_young else HOT_DAY_C
    found = []
    for spell in spells(days, lambda day: day.tmax_c >= limit, HOT_SPELL_DAYS):
        if spell.last >= as_of:
            hottest = max(day.tmax_c for day in spell.days)
            text = (
                f"Up to {hottest:g} °C from {spell.first} to {spell.last}. "
                f"Water in the evening; leave shading leaves on the tree."
            )
            found.append(
                WeatherWarning(
                    kind="heat", first=spell.first, last=spell.last, amount=hottest, text=text, source=SPELL_SOURCE
                )
            )
    return found


def _drought(tree: WatchedTree, days: Sequence[DailyWeather], as_of: date) -> list[WeatherWarning]:
    """Water for trees in their first two summers, from the last sixty days and what is forecast."""
    thirst, is_southern = tree.thirst, tree.place.is_southern
    if thirst is None or not thirst.is_young(as_of, is_southern=is_southern):
        return []
    growing = tree.stages.get("bud_burst")
    start = max(as_of - timedelta(days=WATER_LOOK_BACK_DAYS), thirst.planted_on)
    if growing is not None:
        start = max(start, growing.on)
    known = [day.on for day in days]
    start, last = max(start, min(known, default=as_of)), max(known, default=as_of)
    if start > as_of or ("next_leaf_fall" in tree.stages and as_of > tree.stages["next_leaf_fall"].on):
        return []
    need = water_need(thirst, tree.place.latitude_deg, days, start, max(as_of, last))
    if need.due_on is None or need.is_uncertain:
        return []
    first = max(need.due_on, as_of)
    text = f"The soil at the roots is short of {need.depletion_mm:.0f} mm. Give {need.litres:g} litres on {first}."
    return [
        WeatherWarning(kind="drought", first=first, last=need.on, amount=need.litres, text=text, source=need.source)
    ]
