"""The records of trained forms, rootstocks and training rules, read from TOML and checked whole.

Every figure and rule carries a ``source``: keys of `form_sources.toml`, or one of the plain words "common practice",
"from memory", "own default", "calculated". They are spelled out on load, so that pages and paper can print them.
"""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path
from typing import Any, Literal, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError, model_validator

from business.errors import BadInput, Fault

KNOWLEDGE = Path(__file__).parent
PLAIN_SOURCES = ("common practice", "from memory", "own default", "calculated")

Row = TypeVar("Row", bound="Strict")
Family = Literal["tiers", "cordons", "fans", "palmettes", "uprights", "lattice", "vines", "informal"]
Verdict = Literal["yes", "best", "possible", "poor", "no"]
Season = Literal["dormant", "spring", "summer", "autumn", "any"]


class Strict(BaseModel):
    """A record that refuses keys it does not know."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Figure(Strict):
    """One number of the trade, with the span that other sources give."""

    value: float
    low: float | None = None
    high: float | None = None
    source: str
    note: str = ""

    @model_validator(mode="after")
    def _value_lies_in_its_span(self) -> Figure:
        if (self.low is not None and self.value < self.low) or (self.high is not None and self.value > self.high):
            raise ValueError(f"{self.value} lies outside {self.low} … {self.high}")
        return self


class Rule(Strict):
    """Why an act is asked for, and who says so."""

    id: str
    kind: str
    season: Season
    why: str
    source: str


class Suits(Strict):
    """How well a form suits some species; ``text`` is the warning a person reads ("" where there is none)."""

    species: tuple[str, ...]
    verdict: Verdict
    text: str = ""
    better: tuple[str, ...] = ()
    source: str

    @model_validator(mode="after")
    def _a_doubt_is_spelled_out(self) -> Suits:
        if self.verdict not in ("yes", "best") and not self.text:
            raise ValueError("a verdict other than yes or best needs a text that says why")
        return self


class Spacing(Strict):
    """Room from tree to tree by vigour class. [mm]"""

    vigour_from: int
    vigour_to: int
    low_mm: int
    high_mm: int
    is_advised: bool = True
    text: str = ""
    source: str


class FormRecord(Strict):
    """A trained form: its measures, its rules, the species it suits and the room it takes."""

    id: str
    family: Family
    name: str
    other_names: tuple[str, ...] = ()
    shape: str
    numbers: dict[str, Figure]
    rules: tuple[Rule, ...] = ()
    suits: tuple[Suits, ...]
    spacing: tuple[Spacing, ...]
    formed_when: tuple[str, ...]

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


class Mean(Strict):
    """A normal belief: mean and standard deviation. [mm in a season]"""

    mean: float
    sd: float


class Vigour(Strict):
    """Growth in a season of one vigour class or kind of tree, young and on fair soil."""

    id: str
    label: str
    leader: Mean
    arm_first: Mean
    arm_later: Mean
    arm_bearing: Mean
    whip_height_mm: int
    source: str


class Rootstock(Strict):
    """A rootstock: how strong it makes a tree and what it is used for."""

    id: str
    name: str
    species: tuple[str, ...]
    vigour: int
    also_vigour: int | None = None
    height_mm: tuple[int, int] | None = None
    size_percent: tuple[int, int] | None = None
    spacing_mm: tuple[int, int] | None = None
    forms: tuple[str, ...] = ()
    tiers: tuple[int, int] | None = None
    text: str = ""
    source: str

    @model_validator(mode="after")
    def _vigour_is_a_class(self) -> Rootstock:
        if not 1 <= self.vigour <= 6:
            raise ValueError("vigour is a class from 1 (least) to 6")
        return self


class UsualVigour(Strict):
    """The vigour class taken for a species whose rootstock nobody wrote down."""

    species: tuple[str, ...]
    group: Literal["pome", "stone", "fig", "vine", "bush", "other"]
    vigour: int
    row: str = ""
    source: str


@cache
def forms() -> dict[str, FormRecord]:
    """All forms by id, in the order of their files.

    Raises:
        BadInput: with every fault of every file at once.
    """
    return {record.id: record for record in _read_folder("forms", FormRecord)}


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
    return {rule.id: rule for rule in _read_table("training_rules.toml", "rule", Rule)}


@cache
def rootstocks() -> dict[str, Rootstock]:
    """All rootstocks by id."""
    rows: list[Rootstock] = []
    for path in sorted((KNOWLEDGE / "rootstocks").glob("*.toml")):
        if path.name != "vigour.toml":
            rows += _read_table(f"rootstocks/{path.name}", "rootstock", Rootstock)
    return {row.id: row for row in rows}


@cache
def vigours() -> dict[str, Vigour]:
    """Growth by vigour class ("1" … "6") and for the kinds of tree that have a row of their own."""
    return {row.id: row for row in _read_table("rootstocks/vigour.toml", "vigour", Vigour)}


@cache
def usual_vigours() -> dict[str, UsualVigour]:
    """The vigour taken where no rootstock is written down, by species."""
    rows = _read_table("rootstocks/vigour.toml", "usual", UsualVigour)
    return {species: row for row in rows for species in row.species}


@cache
def growth_figures() -> dict[str, Figure]:
    """Figures of growth that hold for every class."""
    raw = _load(KNOWLEDGE / "rootstocks/vigour.toml").get("numbers", {})
    faults: list[Fault] = []
    figures = {
        key: _model(Figure, value, f"rootstocks/vigour.toml, numbers.{key}", faults) for key, value in raw.items()
    }
    if faults:
        raise BadInput(faults)
    return {key: figure for key, figure in figures.items() if figure}


@cache
def _sources() -> dict[str, str]:
    return dict(_load(KNOWLEDGE / "form_sources.toml"))


def spell_out(source: str | list[str], where: str, faults: list[Fault]) -> str:
    """Source keys as the publications they stand for, joined by semicolons."""
    keys = [source] if isinstance(source, str) else source
    known = _sources()
    for key in keys:
        if key not in known and key not in PLAIN_SOURCES:
            remedy = f"a key of form_sources.toml or one of {', '.join(PLAIN_SOURCES)}"
            faults.append(Fault(where, f"the source {key!r} is not known", remedy))
    return "; ".join(known.get(key, key) for key in keys)


def _read_folder(folder: str, model: type[FormRecord]) -> list[FormRecord]:
    faults: list[Fault] = []
    records = []
    for path in sorted((KNOWLEDGE / folder).glob("*.toml")):
        where = f"{folder}/{path.name}"
        record = _model(model, _load(path), where, faults)
        if record and record.id != path.stem:
            faults.append(Fault(where, f"its id is {record.id!r}", f"the name of the file, {path.stem!r}"))
        if record:
            records.append(record)
    if faults:
        raise BadInput(faults)
    return records


def _read_table(name: str, table: str, model: type[Row]) -> list[Row]:
    faults: list[Fault] = []
    raw = _load(KNOWLEDGE / name).get(table, [])
    rows = [_model(model, row, f"{name}, {table} {number}", faults) for number, row in enumerate(raw, start=1)]
    if faults:
        raise BadInput(faults)
    return [row for row in rows if row]


def _model(model: type[Row], raw: dict[str, Any], where: str, faults: list[Fault]) -> Row | None:
    try:
        return model.model_validate(_with_sources(raw, where, faults))
    except ValidationError as error:
        for line in error.errors():
            place = ".".join(str(part) for part in line["loc"])
            faults.append(Fault(f"{where}, {place}", line["msg"], f"see {model.__name__} in form_schema.py"))
        return None


def _with_sources(raw: Any, where: str, faults: list[Fault]) -> Any:
    if isinstance(raw, dict):
        return {
            key: spell_out(value, f"{where}, {key}", faults) if key == "source" else _with_sources(value, where, faults)
            for key, value in raw.items()
        }
    if isinstance(raw, list):
        return [_with_sources(value, where, faults) for value in raw]
    return raw


def _load(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise BadInput([Fault(path.name, "the file is missing", "restore it from the project")]) from None
    except tomllib.TOMLDecodeError as error:
        raise BadInput([Fault(path.name, str(error), "write it as TOML")]) from error
