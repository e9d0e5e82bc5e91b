"""How each species answers to chill and warmth."""

from __future__ import annotations

from dataclasses import dataclass, replace


@dataclass(frozen=True, kw_only=True)
class OverlapBloom:
    """Chill and heat trade against each other: bloom at GDH ≥ warmth + extra · exp(−fading · chill portions).

    ``warmth_gdh`` is the part a cultivar or a site shifts. ``fractions`` are the parts of the heat at full bloom at
    which other stages are reached. A day that stays at or below 0 °C counts as ``ice_day_portions``: the dynamic model
    gives such days nothing, yet trees of cold countries wake after them as after a long mild winter.
    """

    warmth_gdh: float
    extra_gdh: float
    fading: float
    fractions: tuple[tuple[str, float], ...]
    ice_day_portions: float = 0.0


@dataclass(frozen=True, kw_only=True)
class SequenceBloom:
    """Chill portions first, then linear degree hours over ``base_c`` to each stage."""

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


def with_warmth(phenology: SpeciesPhenology, change_gdh: float) -> SpeciesPhenology:
    """The same species with more (later) or less (earlier) heat to full bloom. [GDH]

    Species without the overlap model are returned as they are.
    """
    growth = phenology.growth
    if not isinstance(growth, OverlapBloom):
        return phenology
    return replace(phenology, growth=replace(growth, warmth_gdh=growth.warmth_gdh + change_gdh))
