"""The records of `gardens/knowledge/climate/phenology.toml`, checked and turned into `SpeciesPhenology`."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Annotated, Literal

from pydantic import Field

from business.errors import BadInput, Fault
from gardens.climate.phenology import (
    Growth,
    OverlapBloom,
    SequenceBloom,
    SpeciesPhenology,
    StageOffset,
    ThermalSum,
    VineGrowth,
)
from gardens.climate.tables import Row, read_table, shipped_text
from gardens.climate.values import STAGES

FILE = "phenology.toml"


class _Overlap(Row):
    model: Literal["overlap"]
    warmth: float
    extra: float = Field(gt=0)
    fading: float = Field(gt=0, lt=1)


class _Sequence(Row):
    model: Literal["sequence"]
    chill_portions: float = Field(gt=0)
    base_c: float
    stages_gdh: dict[str, float]


class _Vine(Row):
    model: Literal["vine"]
    swell_dd: float = Field(gt=0)
    burst_dd: float = Field(gt=0)
    low_c: float
    best_c: float
    heat_c: float
    stages_dd: dict[str, float]


class _Thermal(Row):
    model: Literal["thermal_sum"]
    base_c: float
    stages_dd: dict[str, float]


_Bloom = Annotated[_Overlap | _Sequence | _Vine | _Thermal, Field(discriminator="model")]


class _After(Row):
    stage: str
    from_: str = Field(alias="from")
    days: int = Field(ge=0, le=400)
    plus_minus: int = Field(ge=0, le=60)
    source: str


class _Group(Row):
    id: str
    bloom: _Bloom
    fractions: dict[str, float] = Field(default_factory=dict)
    after: tuple[_After, ...]
    chill_portions: tuple[float, float]
    is_evergreen: bool = False
    source: str
    growth_source: str = ""


class _Species(Row):
    id: str
    group: str
    bloom: _Bloom | None = None
    fractions: dict[str, float] = Field(default_factory=dict)
    after: tuple[_After, ...] = ()
    without: tuple[str, ...] = ()
    chill_portions: tuple[float, float] | None = None
    is_evergreen: bool | None = None
    source: str
    growth_source: str = ""


class _Cultivar(Row):
    name: str
    species: tuple[str, ...]
    warmth: float
    source: str


class _File(Row):
    ice_day_portions: float = Field(ge=0, le=2)
    sources: dict[str, str]
    group: tuple[_Group, ...]
    species: tuple[_Species, ...]
    cultivar: tuple[_Cultivar, ...] = ()


@dataclass(frozen=True, kw_only=True)
class PhenologyTable:
    """The table by species id, by group id, and the warmth of single cultivars by (species, name in small letters)."""

    species: Mapping[str, SpeciesPhenology]
    groups: Mapping[str, SpeciesPhenology]
    cultivars: Mapping[tuple[str, str], float]


def read_phenology(text: str, file: str = FILE) -> PhenologyTable:
    """The table in ``text``.

    Raises:
        BadInput: with every fault, each naming file, key and what would be right.
    """
    parsed = read_table(_File, text, file)
    faults = [Fault(f"{file}, {where}", wrong, remedy) for where, wrong, remedy in _contradictions(parsed)]
    if faults:
        raise BadInput(faults)
    groups = {row.id: row for row in parsed.group}
    return PhenologyTable(
        species={row.id: _record(groups[row.group], row, parsed) for row in parsed.species},
        groups={row.id: _record(row, None, parsed) for row in parsed.group},
        cultivars={(species, row.name.casefold()): row.warmth for row in parsed.cultivar for species in row.species},
    )


@lru_cache(maxsize=1)
def shipped_phenology() -> PhenologyTable:
    """The table the program ships with."""
    return read_phenology(shipped_text(FILE))


def degree_hour_bases() -> tuple[float, ...]:
    """The bases over which the shipped table counts degree hours after chill."""
    table = shipped_phenology()
    growths = [phenology.growth for phenology in (*table.species.values(), *table.groups.values())]
    return tuple(sorted({growth.base_c for growth in growths if isinstance(growth, SequenceBloom)}))


def phenology_of(species: str, *, group: str | None = None, cultivar: str = "") -> SpeciesPhenology:
    """The record of a species, or its group's where the species has none of its own.

    A cultivar whose earliness is on record shifts the species' heat to bloom; any other is taken as the species.

    Raises:
        BadInput: when neither species nor group is known; the ids that are known are listed.
    """
    table = shipped_phenology()
    record = table.species.get(species) or table.groups.get(group or "")
    if record is None:
        known = ", ".join(sorted(table.species))
        raise BadInput([Fault("species", f"{species!r} has no phenology record", f"use one of: {known}")])
    warmth = table.cultivars.get((species, cultivar.casefold()))
    if warmth is None or not isinstance(record.growth, OverlapBloom):
        return record
    return replace(record, growth=replace(record.growth, warmth_gdh=warmth))


def _contradictions(parsed: _File) -> Iterator[tuple[str, str, str]]:
    groups = {row.id for row in parsed.group}
    rows: list[_Group | _Species] = [*parsed.group, *parsed.species]
    for row in rows:
        if isinstance(row, _Species) and row.group not in groups:
            yield f"{row.id}.group", f"{row.group!r} is not a group", f"use one of: {', '.join(sorted(groups))}"
        for stage in _named_stages(row):
            if stage not in STAGES:
                yield row.id, f"{stage!r} is not a stage", f"use one of: {', '.join(STAGES)}"
        for source in (row.source, row.growth_source, *(offset.source for offset in row.after)):
            if source and source not in parsed.sources:
                yield row.id, f"source {source!r} is not listed", "add it under [sources]"
        if row.chill_portions is not None and row.chill_portions[0] > row.chill_portions[1]:
            yield f"{row.id}.chill_portions", "the least is above the most", "write the smaller number first"
    species = {row.id for row in parsed.species}
    for cultivar in parsed.cultivar:
        for name in cultivar.species:
            if name not in species:
                yield f"cultivar {cultivar.name}", f"{name!r} is not a species here", "use an id of [[species]]"


def _named_stages(row: _Group | _Species) -> list[str]:
    sums = getattr(row.bloom, "stages_gdh", {}) | getattr(row.bloom, "stages_dd", {})
    return [*row.fractions, *sums, *(offset.stage for offset in row.after), *(offset.from_ for offset in row.after)]


def _record(group: _Group, own: _Species | None, parsed: _File) -> SpeciesPhenology:
    row = own or group
    offsets = {offset.stage: offset for offset in (*group.after, *(own.after if own else ()))}
    is_evergreen = own.is_evergreen if own and own.is_evergreen is not None else group.is_evergreen
    return SpeciesPhenology(
        species=row.id,
        group=group.id,
        growth=_growth(row.bloom or group.bloom, {**group.fractions, **row.fractions}, parsed.ice_day_portions),
        after=tuple(
            StageOffset(
                stage=offset.stage,
                from_stage=offset.from_,
                days=offset.days,
                plus_minus=offset.plus_minus,
                source=parsed.sources[offset.source],
            )
            for stage, offset in offsets.items()
            if own is None or stage not in own.without
        ),
        chill_portions=row.chill_portions or group.chill_portions,
        is_evergreen=is_evergreen,
        source="; ".join(parsed.sources[key] for key in (row.source, row.growth_source) if key),
    )


def _growth(bloom: _Bloom, fractions: Mapping[str, float], ice_day_portions: float) -> Growth:
    if isinstance(bloom, _Overlap):
        return OverlapBloom(
            warmth_gdh=bloom.warmth,
            extra_gdh=bloom.extra,
            fading=bloom.fading,
            fractions=_by_size(fractions),
            ice_day_portions=ice_day_portions,
        )
    if isinstance(bloom, _Sequence):
        return SequenceBloom(
            chill_portions=bloom.chill_portions, base_c=bloom.base_c, stages_gdh=_by_size(bloom.stages_gdh)
        )
    if isinstance(bloom, _Vine):
        return VineGrowth(
            swell_dd=bloom.swell_dd,
            burst_dd=bloom.burst_dd,
            low_c=bloom.low_c,
            best_c=bloom.best_c,
            heat_c=bloom.heat_c,
            stages_dd=_by_size(bloom.stages_dd),
        )
    return ThermalSum(base_c=bloom.base_c, stages_dd=_by_size(bloom.stages_dd))


def _by_size(stages: Mapping[str, float]) -> tuple[tuple[str, float], ...]:
    return tuple(sorted(stages.items(), key=lambda item: item[1]))
