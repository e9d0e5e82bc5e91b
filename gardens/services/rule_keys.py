"""The keys of a rule that a business may change: their labels, and how each is written in a box of a form."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from gardens.knowledge.browse import RuleTable
from gardens.knowledge.rule_schema import Closed, Task, Watch

Manner = Literal["day", "line", "text", "words", "numbers", "whole", "yes_no", "amounts"]
"""How a value is written: a day of the tree's year, one line, several lines, words or numbers with commas between, a
whole number, yes or no, or one "name = number" a line."""


@dataclass(frozen=True)
class RuleKey:
    """A key of a rule file. ``attribute`` is its name on the loaded rule where that differs."""

    name: str
    label: str
    manner: Manner = "line"
    hint: str = ""
    attribute: str = ""

    def of(self, rule: Task | Closed | Watch) -> Any:
        """The value as a loaded rule holds it."""
        return getattr(rule, self.attribute or self.name)


DAY_HINT = "A stage or a month, if needed with days: leaf_fall+14d, month:08-31, later(month:02-01, coldest_end)."
LIST_HINT = "With commas between."

APPLIES = (
    RuleKey("profiles", "Climate profiles", "words", LIST_HINT),
    RuleKey("forms", "Only for forms", "words", "With commas between; empty: for all."),
    RuleKey("not_forms", "Not for forms", "words", LIST_HINT),
    RuleKey("cultivars", "Only for sorts", "words", "Words of the sort's name; empty: for all."),
    RuleKey("not_cultivars", "Not for sorts", "words", LIST_HINT),
)

KEYS: Mapping[RuleTable, tuple[RuleKey, ...]] = {
    "task": (
        RuleKey("opens", "Opens", "day", DAY_HINT),
        RuleKey("best_from", "Best from", "day"),
        RuleKey("best_until", "Best until", "day"),
        RuleKey("closes", "Closes", "day"),
        RuleKey("cut", "What the crew does", "text", "One act a line, verb first."),
        RuleKey("care", "And minds", "text", "Lines that hold as well where the form says how to cut."),
        RuleKey("why", "Why", "text"),
        RuleKey("gates", "Weather gates", "words", LIST_HINT),
        RuleKey("numbers", "Amounts for the program", "amounts", "One a line: leaves_in_summer = 6"),
        RuleKey("passes", "Visits within the window", "whole"),
        RuleKey("every_years", "Every so many years", "whole"),
        RuleKey("from_year", "From this season after planting", "whole"),
        RuleKey("until_year", "Until this season after planting", "whole"),
        RuleKey("stages", "Stages of the tree", "words", "With commas between; empty: all."),
        RuleKey("optional", "Only if a visit is made anyway", "yes_no"),
        RuleKey("skill", "Skill a crew must have", "line"),
        *APPLIES,
    ),
    "closed": (
        RuleKey("from", "Closed from", "day", DAY_HINT, "starts"),
        RuleKey("to", "Closed to", "day", "", "ends"),
        RuleKey("kinds", "Kinds of work closed", "words", LIST_HINT),
        RuleKey("allow", "Tasks that pass all the same", "words", LIST_HINT),
        RuleKey("warn_only", "Only warn", "yes_no"),
        RuleKey("code", "Reason code", "line"),
        RuleKey("why", "Why", "text"),
        *APPLIES,
    ),
    "watch": (
        RuleKey("months", "Months", "numbers", "1 to 12, with commas between, as in the northern half."),
        RuleKey("opens", "From", "day", DAY_HINT),
        RuleKey("closes", "Until", "day"),
        RuleKey("look_for", "Look for", "text"),
        RuleKey("act", "What to do", "text"),
        *APPLIES,
    ),
}  # fmt: skip


def shown(value: Any, manner: Manner) -> str:
    """A value as it stands in its box."""
    if value is None:
        return ""
    if manner == "yes_no":
        return "yes" if value else "no"
    if manner in ("words", "numbers"):
        listed = [value] if isinstance(value, str) else value
        return ", ".join(str(item) for item in listed)
    if manner == "amounts":
        return "\n".join(f"{name} = {amount:g}" for name, amount in value.items())
    return str(value).strip()


def read(text: str, manner: Manner) -> Any:
    """What was written in a box, as a rule file would hold it. None: nothing stands there.

    Raises:
        ValueError: with what would be right.
    """
    plain = "\n".join(line.strip() for line in text.strip().splitlines() if line.strip())
    if manner == "yes_no":
        return _yes_or_no(plain)
    if manner in ("words", "numbers"):
        listed = [item.strip() for item in plain.replace("\n", ",").split(",") if item.strip()]
        return [_whole(item) for item in listed] if manner == "numbers" else listed
    if manner == "whole":
        return _whole(plain) if plain else None
    if manner == "amounts":
        return dict(_amount(line) for line in plain.splitlines())
    if manner == "day":
        return plain or None
    return plain


def _yes_or_no(text: str) -> bool:
    if text.casefold() not in ("yes", "no"):
        raise ValueError("write yes or no")
    return text.casefold() == "yes"


def _whole(text: str) -> int:
    try:
        return int(text)
    except ValueError as error:
        raise ValueError(f"{text!r} is not a whole number; write 1, 2, 3") from error


def _amount(line: str) -> tuple[str, float]:
    name, _, amount = line.partition("=")
    try:
        return name.strip(), float(amount)
    except ValueError as error:
        raise ValueError(f"{line!r} is not an amount; write leaves_in_summer = 6") from error
