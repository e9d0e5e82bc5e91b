"""The records of trained forms, rootstocks and training rules, read from TOML and checked whole.

Every figure and rule carries a ``source``: keys of `form_sources.toml`, or one of the plain words of `PLAIN_SOURCES`.
They are spelled out on load, so that pages and paper can print them.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Annotated, Any, Literal, TypeVar

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationInfo, model_validator

from business.errors import BadInput, Fault
from gardens.knowledge.files import Wrong, check, check_all, read_tables

KNOWLEDGE = Path(__file__).resolve().parent
PLAIN_SOURCES = ("common practice", "from memory", "own default", "calculated")

Family = Literal["tiers", "cordons", "fans", "palmettes", "uprights", "lattice", "vines", "informal"]
Verdict = Literal["yes", "best", "possible", "poor", "no"]
Season = Literal["dormant", "spring", "summer", "autumn", "any"]
Group = Literal["pome", "stone", "fig", "vine", "bush", "other"]
Span = tuple[int, int]


def _spelled_out(given: Any, info: ValidationInfo) -> str:
    """Source keys as the publications they stand for, joined by semicolons."""
    keys = [given] if isinstance(given, str) else given
    known: Mapping[str, str] = (info.context or {}).get("sources", {})
    if not isinstance(keys, list) or not keys:
        raise Wrong(f"{given!r} is no source", "give a source key or a list of them")
    for key in keys:
        if key not in known and key not in PLAIN_SOURCES:
            raise Wrong(
                f"the source {key!r} is not known",
                f"use a key of form_sources.toml or one of {', '.join(PLAIN_SOURCES)}",
            )
    return "; ".join(known.get(key, key) for key in keys)


Source = Annotated[str, BeforeValidator(_spelled_out)]
Vigour6 = Annotated[int, Field(ge=1, le=6)]
Sentence = Annotated[str, Field(pattern=r"[.]$")]


class Strict(BaseModel):
    """A record that refuses keys it does not know."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Figure(Strict):
    """One number of the trade, with the span that other sources give."""

    value: float
    low: float | None = None
    high: float | None = None
    source: Source
    note: str = ""

    @model_validator(mode="after")
    def _lies_in_its_span(self) -> Figure:
        if (self.low is not None and self.value < self.low) or (self.high is not None and self.value > self.high):
            raise Wrong(f"{self.value} lies outside {self.low} … {self.high}", "widen the span or mend the value")
        return self


class Rule(Strict):
    """Why an act is asked for, and who says so."""

    id: str
    kind: str
    season: Season
    why: Sentence
    source: Source


class Suits(Strict):
    """How well a form suits some species; ``text`` is the warning a person reads ("" where there is none)."""

    species: tuple[str, ...]
    verdict: Verdict
    text: str = ""
    better: tuple[str, ...] = ()
    source: Source

    @model_validator(mode="after")
    def _spells_out_a_doubt(self) -> Suits:
        if self.verdict not in ("yes", "best") and not self.text:
            raise Wrong(f"the verdict {self.verdict!r} has no text", "say in a sentence what speaks against the pair")
        return self


class Spacing(Strict):
    """Room from tree to tree by vigour class. [mm]"""

    vigour_from: Vigour6
    vigour_to: Vigour6
    low_mm: int
    high_mm: int
    is_advised: bool = True
    text: str = ""
    source: Source


class FormRecord(Strict):
    """A trained form: its measures, its rules, the species it suits and the room it takes."""

    id: str
    family: Family
    name: str
    other_names: tuple[str, ...] = ()
    shape: Sentence
    formed_when: tuple[Sentence, ...] = Field(min_length=1)
    numbers: dict[str, Figure]
    rules: tuple[Rule, ...] = ()
    suits: tuple[Suits, ...] = Field(min_length=1)
    spacing: tuple[Spacing, ...] = Field(min_length=1)

    def number(self, key: str) -> float:
        """A measure of the form."""
        return self.numbers[key].value

    def has(self, key: str) -> bool:
        """Whether the form has this measure."""
        return key in self.numbers

    def rule(self, rule_id: str) -> Rule:
        """The form's own rule of this name, else the one that holds for all forms."""
        for rule in self.rules:
            if rule.id == rule_id:
                return rule
        return shared_rules()[rule_id]

    def with_numbers(self, changes: Mapping[str, float], *, source: str = "set by the business") -> FormRecord:
        """The form with other measures, as a business may set them; each must be one the form has.

        Raises:
            BadInput: for a measure the form does not have.
        """
        unknown = [key for key in changes if key not in self.numbers]
        if unknown:
            remedy = f"one of {', '.join(sorted(self.numbers))}"
            raise BadInput([Fault(self.id, f"{key!r} is not a measure of this form", remedy) for key in unknown])
        new = {
            key: self.numbers[key].model_copy(update={"value": value, "low": None, "high": None, "source": source})
            for key, value in changes.items()
        }
        return self.model_copy(update={"numbers": self.numbers | new})


class Mean(Strict):
    """A normal belief: mean and standard deviation. [mm in a season]"""

    mean: float = Field(gt=0)
    sd: float = Field(gt=0)


class Vigour(Strict):
    """Growth in a season of one vigour class or kind of tree, young and on fair soil."""

    id: str
    label: str
    leader: Mean
    arm_first: Mean
    arm_later: Mean
    arm_bearing: Mean
    upright: Mean | None = None
    """A permanent upright limb; None: it grows like the leader."""
    whip_height_mm: int
    source: Source


class Rootstock(Strict):
    """A rootstock: how strong it makes a tree and what it is used for."""

    id: str
    name: str
    species: tuple[str, ...]
    vigour: Vigour6
    also_vigour: Vigour6 | None = None
    height_mm: Span | None = None
    size_percent: Span | None = None
    spacing_mm: Span | None = None
    forms: tuple[str, ...] = ()
    tiers: Span | None = None
    text: str = ""
    source: Source


class UsualVigour(Strict):
    """The vigour class taken for a species whose rootstock nobody wrote down."""

    species: tuple[str, ...]
    group: Group
    vigour: Vigour6
    row: str = ""
    source: Source


class VigourFile(Strict):
    """rootstocks/vigour.toml"""

    numbers: dict[str, Figure]
    vigour: tuple[Vigour, ...]
    usual: tuple[UsualVigour, ...]


class RootstockFile(Strict):
    """Any other file of rootstocks/"""

    rootstock: tuple[Rootstock, ...]


class RuleFile(Strict):
    """training_rules.toml"""

    rule: tuple[Rule, ...]


File = TypeVar("File", bound=BaseModel)


def read_forms(folder: Path = KNOWLEDGE) -> dict[str, FormRecord]:
    """The forms of a folder that holds forms/ and form_sources.toml, by id.

    Raises:
        BadInput: with every fault of every file at once.
    """
    records = check_all(FormRecord, read_tables(folder / "forms"), folder="forms", context=_context(folder))
    faults = [
        Fault(f"forms/{stem}.toml", f"its id is {record.id!r}", f"name it after its file, {stem!r}")
        for stem, record in records.items()
        if record.id != stem
    ]
    if faults:
        raise BadInput(faults)
    return records


@cache
def forms() -> dict[str, FormRecord]:
    """All forms by id, read once."""
    return read_forms()


def form(form_id: str) -> FormRecord:
    """The record of a form.

    Raises:
        BadInput: for an unknown id, with the known ones.
    """
    known = forms()
    if form_id not in known:
        raise BadInput([Fault("form", f"{form_id!r} is not known", f"one of {', '.join(sorted(known))}")])
    return known[form_id]


@cache
def shared_rules() -> dict[str, Rule]:
    """The rules that hold for every form."""
    return {rule.id: rule for rule in _read(RuleFile, "training_rules.toml").rule}


@cache
def rootstocks() -> dict[str, Rootstock]:
    """All rootstocks by id."""
    tables = read_tables(KNOWLEDGE / "rootstocks")
    tables.pop("vigour", None)
    files = check_all(RootstockFile, tables, folder="rootstocks", context=_context(KNOWLEDGE))
    return {row.id: row for file in files.values() for row in file.rootstock}


@cache
def _vigour_file() -> VigourFile:
    return _read(VigourFile, "rootstocks/vigour.toml")


@cache
def vigours() -> dict[str, Vigour]:
    """Growth by vigour class ("1" … "6") and for the kinds of tree that have a row of their own."""
    return {row.id: row for row in _vigour_file().vigour}


@cache
def usual_vigours() -> dict[str, UsualVigour]:
    """The vigour taken where no rootstock is written down, by species."""
    return {species: row for row in _vigour_file().usual for species in row.species}


def growth_figures() -> dict[str, Figure]:
    """Figures of growth that hold for every class."""
    return _vigour_file().numbers


def _read(model: type[File], name: str) -> File:
    return check(model, _load(KNOWLEDGE / name), where=name, context=_context(KNOWLEDGE))


@cache
def _context(folder: Path) -> dict[str, Any]:
    return {"sources": _load(folder / "form_sources.toml")}


def _load(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, tomllib.TOMLDecodeError) as error:
        raise BadInput([Fault(path.name, f"cannot be read: {error}", "write it as TOML, in UTF-8")]) from error
