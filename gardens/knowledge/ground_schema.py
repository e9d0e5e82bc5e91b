"""The files beside the species: sources, reason codes, weather gates, labour standards, hazards."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from gardens.knowledge.rule_schema import Caution, FormOrGroup, Kind, Rule, Sentence, Slug, Source


class SourceEntry(Rule):
    """Where a rule comes from. Grade A: extension, society, paper, law; B: press, nursery; C: unsigned, forum, copy."""

    title: Sentence
    grade: Literal["A", "B", "C"]
    note: str = ""


class Code(Rule):
    """Why a window is closed: the reason, when the risk is high, what lowers it."""

    why: Sentence
    high: str
    lowers: str
    source: Source


class Gate(Rule):
    """A weather rule checked on the day. A limit that is not given is not checked.

    ``asks`` is the gate of the climate core that answers it from daily weather.
    ``dry_h``: hours without rain behind and ahead; ``dry_days``: days ahead without rain; ``stop_below_c`` within
    ``within_days`` of forecast; ``stop_from_c`` for days of heat; ``not_frozen``: wood must not be frozen.
    """

    asks: str
    text: Sentence
    code: str
    dry_h: int | None = Field(default=None, ge=1)
    dry_days: int | None = Field(default=None, ge=1)
    stop_below_c: float | None = None
    within_days: int = Field(default=3, ge=0, le=14)
    stop_from_c: float | None = None
    not_frozen: bool = False
    source: Source


Unit = Literal["m_arm", "m2_face", "tie", "arm", "cut", "cluster", "kg", "tree", "wire", "post", "eye", "end", "pass"]


class Standard(Rule):
    """Minutes of one trained person: fixed + per_unit × units (+ per_metre × metres of wire). The first standard that
    fits is taken. ``text`` says what is done where the bill of a support asks for it by id."""

    id: Slug
    kinds: tuple[Kind, ...] = Field(min_length=1)
    forms: tuple[FormOrGroup, ...] = ()
    groups: tuple[str, ...] = ()
    fixed: float = Field(ge=0)
    per_unit: float = Field(ge=0)
    per_metre: float = Field(default=0, ge=0)
    unit: Unit
    text: str = ""
    anchor: str = ""
    source: Source


class Factor(Rule):
    """A factor on the minutes of a standard."""

    id: Slug
    value: float = Field(gt=0, le=5)
    text: Sentence
    source: Source


class SourceFile(Rule):
    """sources.toml"""

    source: dict[str, SourceEntry]


class CodeFile(Rule):
    """codes.toml"""

    code: dict[str, Code]


class GateFile(Rule):
    """gates.toml"""

    gate: dict[str, Gate]


class Disease(Rule):
    """A disease that changes what may be cut when, and how long a record of it holds.

    ``words`` are looked for in the text of a record. ``at`` "site": seen on one tree, it holds for the whole garden.
    ``holds_seasons`` counts the seasons after the one it was last seen in; absent, it holds for good.
    """

    words: tuple[str, ...] = Field(min_length=1)
    at: Literal["tree", "site"] = "tree"
    holds_seasons: int | None = Field(default=None, ge=0, le=20)
    text: Sentence
    source: Source


class DiseaseFile(Rule):
    """diseases.toml"""

    disease: dict[Slug, Disease]


class LabourFile(Rule):
    """labour/*.toml"""

    standard: tuple[Standard, ...] = ()
    factor: tuple[Factor, ...] = ()


class HazardFile(Rule):
    """hazards.toml: what holds whatever the species."""

    follow: Sentence
    caution: tuple[Caution, ...] = Field(min_length=1)
