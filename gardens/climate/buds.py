"""Spring frost on opening buds: which temperatures kill them now, what a night did, when to protect."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache

from pydantic import Field

from business.errors import BadInput, Fault
from gardens.climate.tables import Row, read_table, shipped_text
from gardens.climate.values import STAGES, DailyWeather, StageDate

FILE = "critical_temperatures.toml"
TENTH, MOST = 0.1, 0.9
ALARM_MARGIN_K = 1.0
"""Buds radiate and can be colder than the air in the screen; hence the alarm before the table says so."""
WALL_BONUS_K = 1.0
"""A wall keeps the air beside it this much warmer at night: program default."""
LAST_RISK_DAYS = 28
"""Days after petal fall for which fruitlets are still watched."""
INSPECT_FROM_LOSS = 0.1

BUDS_FOR_FULL_CROP: Mapping[str, float] = {"sweet_cherry": 0.5, "apple": 0.15, "pear": 0.15, "peach": 0.15}
"""Part of the buds that still makes a full crop (Utah State University Extension IPM-012-11, upper ends)."""


@dataclass(frozen=True, kw_only=True)
class CriticalTemperatures:
    """Half an hour at ``tenth_c`` kills a tenth of the buds, at ``most_c`` nine tenths. [°C]"""

    name: str
    tenth_c: float
    most_c: float

    def lost(self, tmin_c: float) -> float:
        """Part of the buds killed at a night's minimum, 0 … 1; straight between and beyond the two marks."""
        if tmin_c > self.tenth_c:
            return 0.0
        slope = (MOST - TENTH) / (self.tenth_c - self.most_c)
        return min(1.0, max(0.0, TENTH + slope * (self.tenth_c - tmin_c)))


@dataclass(frozen=True, kw_only=True)
class FrostRisk:
    """A night that may hurt the buds: what stage they are in and what it may cost."""

    on: date
    tmin_c: float
    stage: str
    temperatures: CriticalTemperatures
    expected_loss: float
    source: str

    @property
    def needs_inspection(self) -> bool:
        """Whether buds should be cut open one to three days later."""
        return self.expected_loss >= INSPECT_FROM_LOSS


class _Mark(Row):
    name: str
    at: str | None = None
    from_: str | None = Field(default=None, alias="from")
    to: str | None = None
    share: float = Field(default=0.0, ge=0, le=1)
    tenth: float
    most: float


class _Crop(Row):
    id: str
    species: tuple[str, ...]
    source: str
    rows: tuple[_Mark, ...]


class _File(Row):
    sources: dict[str, str]
    crop: tuple[_Crop, ...]


@dataclass(frozen=True, kw_only=True)
class CriticalTable:
    """A crop's temperatures along its stages."""

    crop: str
    species: tuple[str, ...]
    marks: tuple[_Mark, ...]
    source: str


def read_critical_temperatures(text: str, file: str = FILE) -> tuple[CriticalTable, ...]:
    """The table in ``text``.

    Raises:
        BadInput: with every fault, each naming file, crop and row.
    """
    parsed = read_table(_File, text, file)
    faults = [fault for crop in parsed.crop for fault in _contradictions(crop, parsed, file)]
    if faults:
        raise BadInput(faults)
    return tuple(
        CriticalTable(crop=crop.id, species=crop.species, marks=crop.rows, source=parsed.sources[crop.source])
        for crop in parsed.crop
    )


def _contradictions(crop: _Crop, parsed: _File, file: str) -> list[Fault]:
    faults = []
    if crop.source not in parsed.sources:
        faults.append(Fault(f"{file}, {crop.id}", f"source {crop.source!r} is not listed", "add it under [sources]"))
    for mark in crop.rows:
        where = f"{file}, {crop.id}, {mark.name}"
        named = [mark.at] if mark.at else [mark.from_, mark.to]
        for stage in named:
            if stage not in STAGES:
                faults.append(Fault(where, f"{stage!r} is not a stage", f"use one of: {', '.join(STAGES)}"))
        if mark.most >= mark.tenth:
            faults.append(Fault(where, "nine tenths die no colder than one tenth", "write most below tenth"))
    return faults


@lru_cache(maxsize=1)
def _shipped() -> Mapping[str, CriticalTable]:
    tables = read_critical_temperatures(shipped_text(FILE))
    return {species: table for table in tables for species in table.species}


def critical_table(species: str) -> CriticalTable | None:
    """The critical temperatures of a species, or None where nothing is on record."""
    return _shipped().get(species)


def critical_temperatures(
    species: str, stages: Mapping[str, StageDate], on: date
) -> tuple[CriticalTemperatures, str] | None:
    """The critical temperatures of a species' buds on a day, and their source.

    Straight lines between the dates of the stages. None before bud swell, from 28 days after petal fall on (after the
    last stage of the table where there is no petal fall), or where nothing is on record.
    """
    table = critical_table(species)
    if table is None:
        return None
    marks = [(day, mark) for mark in table.marks if (day := _day_of(mark, stages)) is not None]
    if not marks or on < marks[0][0]:
        return None
    end = (stages["petal_fall"].on if "petal_fall" in stages else marks[-1][0]) + timedelta(days=LAST_RISK_DAYS)
    if on > end:
        return None
    before = [(day, mark) for day, mark in marks if day <= on]
    after = [(day, mark) for day, mark in marks if day > on]
    (start, low) = before[-1]
    if not after:
        return CriticalTemperatures(name=low.name, tenth_c=low.tenth, most_c=low.most), table.source
    (stop, high) = after[0]
    share = (on - start).days / (stop - start).days
    return (
        CriticalTemperatures(
            name=low.name,
            tenth_c=round(low.tenth + share * (high.tenth - low.tenth), 2),
            most_c=round(low.most + share * (high.most - low.most), 2),
        ),
        table.source,
    )


def frost_risks(
    species: str, stages: Mapping[str, StageDate], nights: Sequence[DailyWeather], *, is_at_wall: bool = False
) -> tuple[FrostRisk, ...]:
    """The nights (measured or forecast) on which the buds are in danger: within 1 K of the temperature that kills a
    tenth, or below it."""
    risks = []
    for night in sorted(nights, key=lambda day: day.on):
        found = critical_temperatures(species, stages, night.on)
        if found is None:
            continue
        marks, source = found
        at_buds = night.tmin_c + (WALL_BONUS_K if is_at_wall else 0.0)
        if at_buds <= marks.tenth_c + ALARM_MARGIN_K:
            risks.append(
                FrostRisk(
                    on=night.on,
                    tmin_c=night.tmin_c,
                    stage=marks.name,
                    temperatures=marks,
                    expected_loss=round(marks.lost(at_buds), 3),
                    source=source,
                )
            )
    return tuple(risks)


def surviving(risks: Sequence[FrostRisk]) -> float:
    """Part of the buds alive after all nights, 0 … 1: the survivors of each night multiplied."""
    alive = 1.0
    for risk in risks:
        alive *= 1 - risk.expected_loss
    return alive


def is_full_crop_possible(species: str, alive: float) -> bool | None:
    """Whether the part of the buds still alive can make a full crop; None where nothing is on record."""
    table = critical_table(species)
    least = BUDS_FOR_FULL_CROP.get(table.crop) if table else None
    return None if least is None else alive >= least


def _day_of(mark: _Mark, stages: Mapping[str, StageDate]) -> date | None:
    if mark.at is not None:
        return stages[mark.at].on if mark.at in stages else None
    if mark.from_ is None or mark.to is None or mark.from_ not in stages or mark.to not in stages:
        return None
    start, stop = stages[mark.from_].on, stages[mark.to].on
    return start + timedelta(days=round(mark.share * (stop - start).days))
