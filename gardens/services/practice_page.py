"""What the page "How we train" shows: every choice in words, what is chosen, what it changes."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from gardens.knowledge.form_schema import shared_rules
from gardens.knowledge.practice_schema import PracticeChoice, practice_choices
from gardens.models import HousePractice
from gardens.services.practice import OurPractice, read_practice_row
from gardens.services.work_words import WORK_WORDS
from gardens.training import USUAL
from gardens.units import Units, parse_length_mm, show_length

SEASON_WORDS = {
    "dormant": "while dormant",
    "spring": "in spring",
    "summer": "in summer",
    "autumn": "after growth",
    "any": "at any time",
}
SIMPLE_PARTS = 8
"""Shares with a denominator up to this are written as fractions."""
_SHARE = re.compile(r"^\s*(?:(\d{1,3})\s*/\s*(\d{1,3})|(\d{1,4}(?:[.,]\d{1,6})?)\s*(%?))\s*$")
_NUMBER = re.compile(r"^\s*([-−]?\d{1,5}(?:[.,]\d{1,3})?)\s*(°|mm|seasons?)?\s*$")


@dataclass(frozen=True, kw_only=True)
class ChoiceLine:
    """One choice as the page shows it."""

    choice: PracticeChoice
    now: str
    usual: str
    is_ours: bool
    changes: tuple[str, ...]
    """Work it changes, in words."""


@dataclass(frozen=True, kw_only=True)
class PracticePage:
    """All choices in their groups, and who changed them last."""

    ours: OurPractice
    row: HousePractice | None
    lines: Mapping[str, ChoiceLine]

    @property
    def changed(self) -> list[ChoiceLine]:
        return [line for line in self.lines.values() if line.is_ours]

    @property
    def revision(self) -> int:
        return self.row.revision if self.row is not None else 0


def practice_page(row: HousePractice | None, units: Units) -> PracticePage:
    """The page of a kept row, or of the usual practice."""
    ours = read_practice_row(row)
    lines = {name: _line(choice, ours, units) for name, choice in practice_choices().items()}
    return PracticePage(ours=ours, row=row, lines=lines)


def _line(choice: PracticeChoice, ours: OurPractice, units: Units) -> ChoiceLine:
    rules = [shared_rules()[rule] for rule in choice.changes]
    return ChoiceLine(
        choice=choice,
        now=in_words(choice, getattr(ours.practice, choice.id), units),
        usual=in_words(choice, getattr(USUAL, choice.id), units),
        is_ours=choice.id in ours.chosen,
        changes=tuple(
            dict.fromkeys(
                f"{WORK_WORDS.get(rule.kind, rule.kind).lower()} {SEASON_WORDS[rule.season]}" for rule in rules
            )
        ),
    )


def in_words(choice: PracticeChoice, value: Any, units: Units) -> str:
    """A value as a person reads it."""
    if choice.manner == "option":
        return next(option.words for option in choice.options if option.value == value)
    if value is None:
        return choice.empty
    return as_written(choice, value, units)


def as_written(choice: PracticeChoice, value: Any, units: Units) -> str:
    """A value as it stands in its box, and as `read_choice` reads it back; "" where nothing is set."""
    if value is None:
        return ""
    if choice.manner == "length":
        sign = "−" if value < 0 else ""
        return f"{sign}{show_length(abs(value), units)}"
    if choice.manner == "share":
        return share_words(value)
    unit = {"millimetres": " mm", "angle": "°", "seasons": " seasons" if value != 1 else " season"}
    return f"{value:g}{unit[choice.manner]}"


def share_words(share: float) -> str:
    """0.333… → 1/3, 0.95 → 95 %"""
    simple = Fraction(share).limit_denominator(SIMPLE_PARTS)
    if 0 < simple < 1 and abs(float(simple) - share) < 1e-6:
        return str(simple)
    return f"{share * 100:g} %"


def read_choice(choice: PracticeChoice, text: str, units: Units) -> Any:
    """A value out of what was written; None where nothing was.

    Raises:
        ValueError: with a sentence that says what would be right.
    """
    if not text.strip():
        return None
    if choice.manner == "option":
        return next((option.value for option in choice.options if str(option.value) == text), text)
    if choice.manner == "length":
        return _read_length(text, units)
    if choice.manner == "share":
        return _read_share(text)
    match = _NUMBER.match(text)
    if match is None:
        raise ValueError(f"{text!r} is not a number; write it as {as_written(choice, choice.low, units)}")
    number = float(match[1].replace("−", "-").replace(",", "."))
    return number if number != round(number) else round(number)


def _read_length(text: str, units: Units) -> int:
    plain = text.strip().replace("−", "-").replace("½", ".5")
    sign = -1 if plain.startswith("-") else 1
    return sign * parse_length_mm(plain.lstrip("-").strip(), default_unit="in" if units == "imperial" else "cm")


def _read_share(text: str) -> float:
    match = _SHARE.match(text)
    if match is None or match[2] == "0":
        raise ValueError(f"{text!r} is not a share; write it as 1/3 or 33 %")
    if match[1]:
        return float(Fraction(int(match[1]), int(match[2])))
    number = float(match[3].replace(",", "."))
    return number / 100 if match[4] or number > 1 else number


def span_words(choice: PracticeChoice, units: Units) -> str:
    """The bounds of a number, in words."""
    return f"{as_written(choice, choice.low, units)} to {as_written(choice, choice.high, units)}"
