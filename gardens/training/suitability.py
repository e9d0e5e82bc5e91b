"""Whether a form suits a species, a rootstock and a place: plain warnings, each with its source; never silence."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from gardens.knowledge import form_schema as knowledge
from gardens.knowledge.form_schema import FormRecord, Spacing, Verdict
from gardens.training.growth import find_rootstock, vigour_class
from gardens.training.places import longer_side, run_of, tier_count
from gardens.training.state import TreeFacts

LOWEST_WIRE_MM = 350
WIDE_GAP_MM, NARROW_GAP_MM = 300, 100
USUAL_GAP_MM = 150
CROWDED, SPARSE = 0.8, 1.35
UPRIGHT_SLOPE = 20.0
"""Room against what the form and stock ask for: below or above these shares it is worth a word."""


@dataclass(frozen=True)
class Suitability:
    """How well a form suits a species. ``text`` is the warning a person reads, "" where there is none."""

    verdict: Verdict
    text: str
    better: tuple[str, ...]
    source: str
    is_recorded: bool = True
    """Whether the form's own list speaks of the species."""

    @property
    def is_refused(self) -> bool:
        """Whether the form should not be planted with this species at all."""
        return self.verdict == "no"


@dataclass(frozen=True)
class Doubt:
    """A warning about a planned or standing tree. ``about`` names what it hangs on: form, stock, tiers, room, wire, gap."""

    about: str
    text: str
    source: str
    is_refusal: bool = False


def suitability(species: str, form_id: str) -> Suitability:
    """How well a form suits a species; a pair that no source speaks of is "possible" with a word of caution.

    Raises:
        BadInput: for an unknown form.
    """
    record = knowledge.form(form_id)
    for row in record.suits:
        if species in row.species:
            return Suitability(row.verdict, row.text, row.better, row.source)
    if record.family == "vines":
        text = "Only vines are trained on yearly shoots from rods or canes; this species needs a tree form."
        return Suitability("no", text, ("informal",), "common practice", is_recorded=False)
    text = f"Nothing is recorded about this species as {record.name.lower()}; treat it as a trial."
    return Suitability("possible", text, ("informal",), "common practice", is_recorded=False)


def spacing_for(form_id: str, vigour: int) -> Spacing | None:
    """The room from tree to tree that a form asks for with a stock of a vigour class (1 to 6)."""
    rows = knowledge.form(form_id).spacing
    return next((row for row in rows if row.vigour_from <= vigour <= row.vigour_to), None)


def doubts(facts: TreeFacts) -> tuple[Doubt, ...]:
    """Everything that speaks against a tree as it is planned or stands, the gravest first."""
    record = knowledge.form(facts.form)
    found = [*_about_form(facts), *_about_stock(facts, record), *_about_place(facts, record)]
    return tuple(sorted(found, key=lambda doubt: not doubt.is_refusal))


def _about_form(facts: TreeFacts) -> Iterator[Doubt]:
    fit = suitability(facts.species, facts.form)
    if fit.text:
        names = ", ".join(knowledge.form(form).name.lower() for form in fit.better)
        better = f" Better: {names}." if names else ""
        yield Doubt("form", f"{fit.text}{better}", fit.source, is_refusal=fit.is_refused)


def _about_stock(facts: TreeFacts, record: FormRecord) -> Iterator[Doubt]:
    stock = find_rootstock(facts.rootstock)
    if facts.rootstock and not stock:
        yield Doubt(
            "stock", f"The rootstock {facts.rootstock} is not known; a middling one is reckoned with.", "own default"
        )
    if stock and facts.species not in stock.species:
        yield Doubt("stock", f"{stock.name} is not a rootstock for this species.", stock.source, is_refusal=True)
    room = spacing_for(facts.form, vigour_class(facts))
    if stock and room and not room.is_advised and room.text:
        weak = stock.vigour < min((row.vigour_from for row in record.spacing if row.is_advised), default=1)
        yield Doubt("stock", f"{stock.name} is too {'weak' if weak else 'strong'} here. {room.text}", room.source)
    if stock and record.id == "horizontal_tiers" and stock.tiers:
        least, most = stock.tiers
        tiers = tier_count(facts, record)
        if tiers > most:
            yield Doubt("tiers", f"{stock.name} carries {most} tiers at most; {tiers} are planned.", stock.source)
        elif tiers < least:
            yield Doubt(
                "tiers",
                f"{stock.name} is strong enough for {least} tiers; {tiers} will hold it down hard.",
                stock.source,
            )


def _about_place(facts: TreeFacts, record: FormRecord) -> Iterator[Doubt]:
    wires = facts.wire_heights_mm
    if wires and wires[0] < LOWEST_WIRE_MM and record.family in ("tiers", "informal"):
        source = record.numbers["first_wire_mm"].source
        yield Doubt("wire", "The lowest wire hangs under 35 cm: rain splashes soil onto the fruit and rots it.", source)
    if wires and wires[-1] > facts.height_mm:
        yield Doubt("wire", "The top wire hangs above the usable height of the support and is left out.", "calculated")
    if facts.gap_to_wall_mm >= WIDE_GAP_MM:
        yield Doubt(
            "gap",
            "The trunk stands 30 cm or more from the wall: about 15 cm is usual, wider is found awkward to tie.",
            "common practice",
        )
    elif 0 < facts.gap_to_wall_mm < NARROW_GAP_MM:
        yield Doubt(
            "gap", "The trunk stands less than 10 cm from the wall: it has no room to thicken.", "common practice"
        )
    yield from _about_room(facts, record)


def _about_room(facts: TreeFacts, record: FormRecord) -> Iterator[Doubt]:
    if record.family in ("cordons", "lattice"):
        yield from _about_leaning_room(facts, record)
        return
    room = spacing_for(facts.form, vigour_class(facts))
    if not room or record.family not in ("tiers", "fans", "palmettes", "informal"):
        return
    width, low, high = (mm / 1000 for mm in (facts.run_left_mm + facts.run_right_mm, room.low_mm, room.high_mm))
    if width < low * CROWDED:
        text = f"The tree has {width:.1f} m to fill but asks for {low:.1f} m: it will need hard cuts every year."
        yield Doubt("room", text, room.source)
    elif width > high * SPARSE:
        text = f"The tree has {width:.1f} m to fill and seldom fills more than {high:.1f} m; plant closer to be full sooner."
        yield Doubt("room", text, room.source)


def _about_leaning_room(facts: TreeFacts, record: FormRecord) -> Iterator[Doubt]:
    """A slanted stem or arm leans over its neighbours' feet; its run is the room to the end of the support."""
    needed = leaning_run_mm(record, facts.height_mm)
    if needed is None:
        return
    room = run_of(facts, longer_side(facts))
    if room < needed * CROWDED:
        yield Doubt(
            "room",
            f"A slanted stem needs {needed / 1000:.1f} m along the support to reach its top; here it ends after "
            f"{room / 1000:.1f} m. Count the room up to the end of the support, over the neighbours' feet.",
            "calculated",
        )


def leaning_run_mm(record: FormRecord, height_mm: int) -> int | None:
    """How far along the support a slanted stem or arm runs until it reaches the top; None where a form does not lean.

    It leans over its neighbours' feet: its run counts from its trunk to the end of the support, not to half the gap.
    """
    if record.family not in ("cordons", "lattice"):
        return None
    key = "stem_angle_deg" if record.family == "cordons" else "arm_angle_deg"
    slope = math.tan(math.radians(record.number(key)))
    return None if slope > UPRIGHT_SLOPE else math.ceil(round(height_mm / slope, 3))


def width_taken_mm(facts: TreeFacts) -> int:
    """The stretch of support a tree has to itself: both runs; of what leans over its neighbours, the usual spacing. [mm]"""
    both = facts.run_left_mm + facts.run_right_mm
    record = knowledge.form(facts.form)
    if leaning_run_mm(record, facts.height_mm) is None:
        return both
    room = spacing_for(facts.form, vigour_class(facts))
    return min(both, (room.low_mm + room.high_mm) // 2) if room else both


def on_support(facts: TreeFacts, position_mm: int, length_mm: int) -> TreeFacts:
    """The facts of a tree at its place on a support, with the room a leaning form really has.

    A row shares the gaps between its trunks, and every other form fills its share. A slanted stem or arm runs on over
    the neighbours' feet until it reaches the top or the end of the support. A row of cordons leans one way: to the right
    as seen from the front, unless the facts say left.

    Args:
        facts: with the runs as the row shares them.
        position_mm: the trunk from the left end of the support.
        length_mm: the length of the support.
    """
    record = knowledge.form(facts.form)
    needed = leaning_run_mm(record, facts.height_mm)
    if needed is None:
        return facts
    left, right = min(needed, max(position_mm, 0)), min(needed, max(length_mm - position_mm, 0))
    lean = facts.lean or "right" if record.family == "cordons" else facts.lean
    return replace(facts, run_left_mm=left, run_right_mm=right, lean=lean)
