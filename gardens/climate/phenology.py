"""How each species answers to chill and warmth: the records of `gardens/knowledge/climate/phenology.toml`."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError, model_validator

from business.errors import BadInput, Fault
from gardens.climate.values import STAGES

FILE = "phenology.toml"


@dataclass(frozen=True, kw_only=True)
class OverlapBloom:
    """Chill and heat trade against each other: bloom at GDH ≥ warmth + extra · exp(−fading · chill portions).

    ``warmth_gdh`` is the part a cultivar or a site shifts.
    """

    warmth_gdh: float
    extra_gdh: float
    fading: float
    fractions: tuple[tuple[str, float], ...]


@dataclass(frozen=True, kw_only=True)
class SequenceBloom:
    """Chill portions first, then linear degree hours over ``base_c``, to each stage."""

    chill_portions: float
    base_c: float
    stages_gdh: tuple[tuple[str, float], ...]


@dataclass(frozen=True, kw_only=True)
class VineGrowth:
    """Degree-days over 0 °C since early March to bud burst, capped degree-days from there on."""

    swell_dd: float
    burst_dd: float
    low_c: float
    best_c: float
    heat_c: float
    stages_dd: tuple[tuple[str, float], ...]


@dataclass(frozen=True, kw_only=True)
class ThermalSum:
    """Degree-days of the daily mean over ``base_c`` since the start of the heat season, to each stage."""

    base_c: float
    stages_dd: tuple[tuple[str, float], ...]


Growth = OverlapBloom | SequenceBloom | VineGrowth | ThermalSum


@dataclass(frozen=True, kw_only=True)
class StageOffset:
    """A stage that follows another by a number of days; ``plus_minus`` is the half-width of the middle 80 %."""

    stage: str
    from_stage: str
    days: int
    plus_minus: int
    source: str


@dataclass(frozen=True, kw_only=True)
class SpeciesPhenology:
    """One species' answer to the weather. ``source`` speaks of the growth model, each offset has its own."""

    species: str
    group: str
    growth: Growth
    after: tuple[StageOffset, ...]
    chill_portions: tuple[float, float]
    """Chill portions that the least and the most demanding sorts want."""
    is_evergreen: bool = False
    source: str = ""


class _Row(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class _Overlap(_Row):
    model: Literal["overlap"]
    warmth: float
    extra: float = Field(gt=0)
    fading: float = Field(gt=0, lt=1)


class _Sequence(_Row):
    model: Literal["sequence"]
    chill_portions: float = Field(gt=0)
    base_c: float
    stages_gdh: dict[str, float]


class _Vine(_Row):
    model: Literal["vine"]
    swell_dd: float = Field(gt=0)
    burst_dd: float = Field(gt=0)
    low_c: float
    best_c: float
    heat_c: float
    stages_dd: dict[str, float]


class _Thermal(_Row):
    model: Literal["thermal_sum"]
    base_c: float
    stages_dd: dict[str, float]


class _After(_Row):
    stage: str
    from_: str = Field(alias="from")
    days: int = Field(ge=0, le=400)
    plus_minus: int = Field(ge=0, le=60)
    source: str


class _Group(_Row):
    id: str
    bloom: _Overlap | _Sequence | _Vine | _Thermal = Field(discriminator="model")
    fractions: dict[str, float] = {}
    after: tuple[_After, ...]
    chill_portions: tuple[float, float]
    is_evergreen: bool = False
    source: str
    growth_source: str = ""


class _Species(_Row):
    id: str
    group: str
    bloom: _Overlap | _Sequence | _Vine | _Thermal | None = Field(default=None, discriminator="model")
    fractions: dict[str, float] = {}
    after: tuple[_After, ...] = ()
    chill_portions: tuple[float, float] | None = None
    is_evergreen: bool | None = None
    source: str
    growth_source: str = ""


class _File(_Row):
    sources: dict[str, str]
    group: tuple[_Group, ...]
    species: tuple[_Species, ...]

    @model_validator(mode="after")
    def known_words(self) -> _File:
        groups = {row.id for row in self.group}
        for row in (*self.group, *self.species):
            if isinstance(row, _Species) and row.group not in groups:
                raise ValueError(f"{row.id}: group {row.group!r} is not one of {', '.join(sorted(groups))}")
            named = [*row.fractions, *(offset.stage for offset in row.after), *(o.from_ for o in row.after)]
            named += list(getattr(row.bloom, "stages_gdh", {})) + list(getattr(row.bloom, "stages_dd", {}))
            for stage in named:
                if stage not in STAGES:
                    raise ValueError(f"{row.id}: {stage!r} is not a stage; known are {', '.join(STAGES)}")
            sources = [row.source, *(offset.source for offset in row.after)] + [row.growth_source] * bool(
                row.growth_source
            )
            for source in sources:
                if source not in self.sources:
                    raise ValueError(f"{row.id}: source {source!r} is not listed under [sources]")
        return self


def read_phenology(text: str, file: str = FILE) -> dict[str, SpeciesPhenology]:
    """The records of a phenology file by species id, and by group id as ``"group:pome"``.

    Raises:
        BadInput: with every fault, each naming file and key.
    """
    try:
        parsed = TypeAdapter(_File).validate_python(tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        raise BadInput([Fault(file, str(error), "write valid TOML")]) from error
    except ValidationError as error:
        raise BadInput(_faults(error, file)) from error
    groups = {row.id: row for row in parsed.group}
    records = {f"group:{row.id}": _record(row.id, row, None, parsed.sources) for row in parsed.group}
    for row in parsed.species:
        records[row.id] = _record(row.id, groups[row.group], row, parsed.sources)
    return records


@lru_cache(maxsize=1)
def all_phenology() -> Mapping[str, SpeciesPhenology]:
    """The records the program ships with."""
    text = resources.files("gardens.knowledge").joinpath("climate", FILE).read_text(encoding="utf-8")
    return read_phenology(text)


def phenology_of(species: str, *, group: str | None = None) -> SpeciesPhenology:
    """The record of a species, or its group's where the species has none of its own.

    Raises:
        BadInput: when neither is known; the ids that are known are listed.
    """
    records = all_phenology()
    if species in records:
        return records[species]
    if group is not None and f"group:{group}" in records:
        return records[f"group:{group}"]
    known = ", ".join(sorted(key for key in records if not key.startswith("group:")))
    raise BadInput([Fault("species", f"{species!r} has no phenology record", f"use one of: {known}")])


def _record(name: str, group: _Group, own: _Species | None, sources: Mapping[str, str]) -> SpeciesPhenology:
    bloom = own.bloom if own is not None and own.bloom is not None else group.bloom
    fractions = {**group.fractions, **(own.fractions if own is not None else {})}
    offsets = {row.stage: row for row in (*group.after, *(own.after if own is not None else ()))}
    row = own if own is not None else group
    is_evergreen = own.is_evergreen if own is not None and own.is_evergreen is not None else group.is_evergreen
    return SpeciesPhenology(
        species=name,
        group=group.id,
        growth=_growth(bloom, fractions),
        after=tuple(
            StageOffset(
                stage=o.stage, from_stage=o.from_, days=o.days, plus_minus=o.plus_minus, source=sources[o.source]
            )
            for o in offsets.values()
        ),
        chill_portions=(own.chill_portions if own is not None and own.chill_portions else group.chill_portions),
        is_evergreen=is_evergreen,
        source="; ".join(sources[key] for key in (row.source, row.growth_source) if key),
    )


def _growth(bloom: _Overlap | _Sequence | _Vine | _Thermal, fractions: Mapping[str, float]) -> Growth:
    if isinstance(bloom, _Overlap):
        return OverlapBloom(
            warmth_gdh=bloom.warmth, extra_gdh=bloom.extra, fading=bloom.fading, fractions=_by_size(fractions)
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


def _faults(error: ValidationError, file: str) -> list[Fault]:
    """One fault per complaint, in the file's own words."""
    return [Fault(f"{file}, {_path(item['loc'])}", str(item["msg"]), _remedy(item)) for item in error.errors()]


def _path(parts: tuple[int | str, ...]) -> str:
    return ".".join(str(part) for part in parts) or "file"


def _remedy(item: Any) -> str:
    if item["type"] == "extra_forbidden":
        return "remove the key or spell it as in the head of the file"
    if item["type"] == "missing":
        return f"add {item['loc'][-1]} = …"
    return "correct the value"
