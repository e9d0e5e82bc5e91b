"""What a client can do for their trees until we come again, and what they had better leave.

Common practice of gardeners: water deeply and seldom in the first summers, keep the foot free, never let a tie cut in.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from gardens.climate.seasons import season_year
from gardens.services.standing import Outlook
from gardens.units import Units

YOUNG_SEASONS = 2
CLEAR_FOOT_SEASONS = 5
CAN_LITRES = 20
LITRES_A_GALLON = 3.785411784
"""US liquid gallon (NIST Handbook 44)."""


def meanwhile(trees: Sequence[Outlook], labels: Sequence[str], on: date, units: Units) -> list[str]:
    """A few plain sentences, the most urgent first."""
    pairs = list(zip(trees, labels, strict=True))
    young = [label for found, label in pairs if _seasons(found, on) <= YOUNG_SEASONS]
    advice = []
    if young:
        advice.append(
            f"In dry weeks from spring to autumn, water {_names(young)} once a week, {_water(units)} each, slowly at the "
            "foot: these trees are in their first two summers."
        )
    if any(_seasons(found, on) <= CLEAR_FOOT_SEASONS for found, _ in pairs):
        advice.append(
            f"Keep a circle of {_reach(units)} at the foot of each tree free of grass; mulch it, not the trunk."
        )
    if any(found.state.ties for found, _ in pairs):
        advice.append("Leave the ties as they are. If one cuts into the bark, ring us: we come and loosen it.")
    advice.append("Let new shoots grow as they like; do not shorten them. We choose among them on the next visit.")
    return advice


def _seasons(found: Outlook, on: date) -> int:
    facts = found.state.facts
    planted = season_year(facts.planted_on, is_southern=facts.is_southern)
    return season_year(on, is_southern=facts.is_southern) - planted + 1


def _names(labels: Sequence[str]) -> str:
    if len(labels) > 3:
        return f"the {len(labels)} young trees"
    return " and ".join([", ".join(labels[:-1]), labels[-1]] if len(labels) > 1 else labels)


def _water(units: Units) -> str:
    return f"{CAN_LITRES} litres" if units == "metric" else f"{round(CAN_LITRES / LITRES_A_GALLON)} gallons"


def _reach(units: Units) -> str:
    return "60 cm" if units == "metric" else "2 ft"
