"""Do wires and form fit: lowest wire, distance from wire to wire, room to the wall, room for each plant?"""

from __future__ import annotations

from itertools import pairwise

from gardens.knowledge.material_book import Materials
from gardens.knowledge.material_schema import SupportForm
from gardens.supports.judging import Asked, judge
from gardens.supports.values import PartCheck, Support
from gardens.units import Units, show_length

NO_FRUIT = ("wisteria", "camellia", "pyracantha", "ornamental_quince", "forsythia")
NARROWEST_WALL_GAP_MM = 50
"""Published gaps between wall and wire start at 5 cm."""


def check_form(support: Support, book: Materials, units: Units) -> list[PartCheck]:
    """Rules of the trade for the wires of the forms on this support; the worst answer is "near its limit"."""
    checks = []
    for form in dict.fromkeys(plant.form for plant in support.plants):
        rule = book.form(form, support.kind)
        checks += [*_spacing(support, rule, units), *_room(support, rule, units)]
    if any(plant.species not in NO_FRUIT for plant in support.plants):
        checks.append(_splash(support, book, units))
    if not support.is_row:
        checks.append(_gap(support, book, units))
    return checks


def _spacing(support: Support, rule: SupportForm, units: Units) -> list[PartCheck]:
    gaps = [upper - lower for lower, upper in pairwise(support.wire_heights_mm)]
    if not gaps:
        return []
    low, high = rule.spacing_range_mm
    narrow = min(gaps) < low
    span = f"{show_length(low, units)} to {show_length(high, units)}"
    return [
        judge(
            Asked(
                rule=f"form_wires_{rule.form}",
                part=f"wires for {rule.form.replace('_', ' ')}",
                question=f"Are the wires {span} apart, as the form wants?",
                demand=min(gaps) if narrow else max(gaps),
                limit=low if narrow else high,
                unit="mm",
                is_floor=narrow,
                is_advice=True,
                formula="distance from wire to wire",
                source=rule.source,
                cure=f"Set the wires {show_length(rule.spacing_mm, units)} apart.",
            )
        )
    ]


def _room(support: Support, rule: SupportForm, units: Units) -> list[PartCheck]:
    count = sum(plant.count for plant in support.plants if plant.form == rule.form)
    each = sum(plant.width_mm * plant.count for plant in support.plants if plant.form == rule.form) / count
    low, high = rule.tree_gap_range_mm
    narrow = each < low
    span = f"{show_length(low, units)} to {show_length(high, units)}"
    return [
        judge(
            Asked(
                rule=f"form_room_{rule.form}",
                part=f"plants as {rule.form.replace('_', ' ')}",
                question=f"Has each of them {span} of room along the run?",
                demand=each,
                limit=low if narrow else high,
                unit="mm",
                is_floor=narrow,
                is_advice=True,
                formula="width of a plant along the run",
                source=rule.source,
                cure=f"Plan {show_length(rule.tree_gap_mm, units)} for each.",
            )
        )
    ]


def _splash(support: Support, book: Materials, units: Units) -> PartCheck:
    limit = book.limits["splash_mm"]
    return judge(
        Asked(
            rule="form_splash",
            part=f"wire 1 at {show_length(support.wire_heights_mm[0], units)}",
            question="Is the lowest fruit out of the splash of the soil?",
            demand=support.wire_heights_mm[0],
            limit=limit.value,
            unit="mm",
            is_floor=True,
            is_advice=True,
            formula="height of the lowest wire",
            source=limit.source,
            cure=f"Set the lowest wire at {show_length(400, units)}, or keep the soil under it mulched.",
        )
    )


def _gap(support: Support, book: Materials, units: Units) -> PartCheck:
    return judge(
        Asked(
            rule="wall_gap",
            part="stand-off",
            question="Is there room for air and hands behind the wires?",
            demand=support.gap_mm,
            limit=NARROWEST_WALL_GAP_MM,
            unit="mm",
            is_floor=True,
            is_advice=True,
            formula="distance from the face to the wires",
            source=book.limits["wall_gap_mm"].source,
            cure=f"Use longer eyes: {show_length(book.limit('wall_gap_mm'), units)} is usual.",
        )
    )
