"""The choices of training that the trade leaves to each business, read from practice.toml and checked whole."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path
from typing import Any, Literal

from pydantic import Field, model_validator

from business.errors import BadInput, Fault
from gardens.knowledge.files import Wrong, check
from gardens.knowledge.form_schema import KNOWLEDGE, Sentence, Source, Strict, shared_rules

Manner = Literal["option", "length", "millimetres", "share", "angle", "seasons"]
FILE = "practice.toml"


class ChoiceOption(Strict):
    """One of the ways the trade knows."""

    value: str | bool
    words: str
    why: Sentence
    source: Source


class PracticeChoice(Strict):
    """One choice: what is asked, what may be answered, why it matters, which training rules it changes.

    ``low`` and ``high`` bound numbers: lengths and thicknesses in mm, angles in degrees, shares from 0 to 1. ``empty``
    says what holds where nothing is set; without it something must be.
    """

    id: str
    group: str
    label: str
    manner: Manner
    low: float | None = None
    high: float | None = None
    empty: str = ""
    why: Sentence
    changes: tuple[str, ...] = Field(min_length=1)
    source: Source
    options: tuple[ChoiceOption, ...] = ()

    @model_validator(mode="after")
    def _is_whole(self) -> PracticeChoice:
        if self.manner == "option" and len(self.options) < 2:
            raise Wrong(f"the choice {self.id!r} has nothing to choose", "give two options or more")
        if self.manner != "option" and (self.low is None or self.high is None or self.low >= self.high):
            raise Wrong(f"the choice {self.id!r} has no span", "give a low and a higher high")
        unknown = [rule for rule in self.changes if rule not in shared_rules()]
        if unknown:
            raise Wrong(f"{', '.join(unknown)} is no training rule", "use ids of training_rules.toml")
        return self


class PracticeFile(Strict):
    """practice.toml"""

    choice: tuple[PracticeChoice, ...]

    @model_validator(mode="after")
    def _names_each_once(self) -> PracticeFile:
        ids = [choice.id for choice in self.choice]
        twice = sorted({name for name in ids if ids.count(name) > 1})
        if twice:
            raise Wrong(f"{', '.join(twice)} stands twice", "name each choice once")
        return self


def read_practice_choices(folder: Path = KNOWLEDGE) -> dict[str, PracticeChoice]:
    """The choices by id, in the order of the file.

    Raises:
        BadInput: with every fault of the file at once.
    """
    try:
        table = tomllib.loads((folder / FILE).read_text(encoding="utf-8"))
        sources: dict[str, Any] = tomllib.loads((KNOWLEDGE / "form_sources.toml").read_text(encoding="utf-8"))
    except (OSError, tomllib.TOMLDecodeError) as error:
        raise BadInput([Fault(FILE, f"cannot be read: {error}", "write it as TOML, in UTF-8")]) from error
    return {row.id: row for row in check(PracticeFile, table, where=FILE, context={"sources": sources}).choice}


@cache
def practice_choices() -> dict[str, PracticeChoice]:
    """All choices by id, read once."""
    return read_practice_choices()
