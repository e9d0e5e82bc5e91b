"""The planting designer: what fits on a support, how it will look, when it will be full, what work it makes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import cast

from django.db import transaction
from django.utils.safestring import SafeString, mark_safe

from business.errors import BadInput, Fault
from gardens.drawing import LayoutSheet, Options, TreeInRow, draw_layout
from gardens.models import Support, Tree, Wire
from gardens.pruning import planting_doubts
from gardens.services.placement import Standing, placement_faults
from gardens.services.practice import our_practice
from gardens.services.rules import our_knowledge
from gardens.services.standing import compass
from gardens.services.supports import Planting, planted_core
from gardens.services.words import species_name
from gardens.supports import LayoutWish, SupportLayout, lay_out_support, layout_of
from gardens.training import (
    Doubt,
    Forecast,
    TreeFacts,
    TreeState,
    fold,
    forecast,
    on_support,
    spacing_for,
    vigour_class,
)
from gardens.training.state import FORMS, Start
from gardens.units import Units

DEPTH_TAKEN_MM = 450
"""Depth a kept tree takes in front of its support; about 0.9 to 1.2 m at most with its leaves (common practice)."""
YEARS_OF_WORK = 6


@dataclass(frozen=True, kw_only=True)
class Wish:
    """What is to be planted on a support. ``run_mm`` of 0 takes the whole support from ``from_mm`` on."""

    species: str
    form: str
    rootstock: str
    planted_on: date
    start: str = "whip"
    from_mm: int = 0
    run_mm: int = 0
    cultivar: str = ""


@dataclass(frozen=True, kw_only=True)
class Design:
    """A planting as it would be. Lengths in mm."""

    wish: Wish
    layout: SupportLayout
    wires_mm: tuple[int, ...]
    trees: tuple[TreeFacts, ...]
    positions_mm: tuple[int, ...]
    spacing_mm: int
    depth_mm: int
    forecast: Forecast
    doubts: tuple[Doubt, ...]
    drawing: SafeString

    @property
    def minutes_per_year(self) -> list[tuple[int, float]]:
        """Expected minutes of work of all trees, the first years."""
        return [(year, minutes * len(self.trees)) for year, minutes in self.forecast.minutes_per_year[:YEARS_OF_WORK]]


def design(support: Support, wish: Wish, *, units: Units = "metric") -> Design:
    """Lay a planting out on a support.

    Raises:
        BadInput: species, form, room or dates cannot be; each named with what would be right.
    """
    run = wish.run_mm or support.length_mm - wish.from_mm
    _check(support, wish, run)
    layout = lay_out_support(
        LayoutWish(
            kind=support.kind,  # type: ignore[arg-type] # one of three by constraint
            form=wish.form,
            run_mm=run,
            height_mm=support.height_mm,
            wire_heights_mm=support.wire_heights_mm,
            tree_gap_mm=_gap(wish, support, run),
            gap_mm=None if support.kind == Support.Kind.POST_AND_WIRE else support.gap_mm,
        )
    )
    wires = support.wire_heights_mm or layout.wire_heights_mm
    trees = tuple(_facts(support, wish, wires, laid.run_left_mm, laid.run_right_mm) for laid in layout.trees)
    positions = tuple(wish.from_mm + laid.x_mm for laid in layout.trees)
    practice = our_practice()
    standing = [on_support(tree, at, support.length_mm) for tree, at in zip(trees, positions, strict=True)]
    states = [fold(facts, (), wish.planted_on, practice=practice) for facts in standing]
    return Design(
        wish=wish,
        layout=layout,
        wires_mm=wires,
        trees=trees,
        positions_mm=positions,
        spacing_mm=round(run / max(1, len(trees))),
        depth_mm=support.gap_mm + DEPTH_TAKEN_MM,
        forecast=forecast(states[0], practice=practice),
        doubts=_doubts(wish, standing),
        drawing=_drawing(
            support, _whole_support(support, wish, wires, layout), list(zip(states, positions, strict=True)), units
        ),
    )


def _doubts(wish: Wish, trees: Sequence[TreeFacts]) -> tuple[Doubt, ...]:
    species = our_knowledge().species[wish.species]
    return tuple(dict.fromkeys(doubt for facts in trees for doubt in planting_doubts(facts, species)))


@transaction.atomic
def keep_design(*, support: Support, wish: Wish) -> list[Tree]:
    """Keep a design as planned trees, and its wires where the support has none yet.

    Raises:
        BadInput: it cannot be, or a tree stands there already.
    """
    support = Support.objects.select_for_update(of=("self",)).select_related("site").get(pk=support.pk)
    found = design(support, wish)
    _check_free(support, found)
    if not support.wires.exists():
        Wire.objects.bulk_create(
            Wire(support=support, height_mm=height, support_height_mm=support.height_mm) for height in found.wires_mm
        )
    taken = set(Tree.objects.filter(site=support.site).values_list("code", flat=True))
    kept = []
    for facts, position in zip(found.trees, found.positions_mm, strict=True):
        code = _free_code(support, taken)
        tree = Tree(
            site=support.site,
            support=support,
            code=code,
            label=f"{species_name(wish.species).capitalize()} {code.rsplit('-', 1)[-1]}, {support.name.lower()}",
            species=wish.species,
            cultivar=wish.cultivar,
            rootstock=wish.rootstock,
            form=wish.form,
            position_mm=position,
            run_left_mm=facts.run_left_mm,
            run_right_mm=facts.run_right_mm,
            planted_on=wish.planted_on,
            start=wish.start,
            is_planned=True,
        )
        tree.full_clean(validate_constraints=False)
        tree.save()
        kept.append(tree)
    return kept


@transaction.atomic
def plant(*, tree: Tree, on: date) -> Tree:
    """A planned tree went into the ground."""
    tree = Tree.objects.select_for_update().get(pk=tree.pk)
    if not tree.is_planned:
        raise BadInput([Fault(tree.label, "stands already", "record its work instead")])
    tree.is_planned, tree.planted_on = False, on
    tree.save(update_fields=["is_planned", "planted_on"])
    return tree


def _check(support: Support, wish: Wish, run: int) -> None:
    faults = []
    if wish.species not in our_knowledge().species:
        faults.append(Fault("species", f"{wish.species!r} is not known", "choose one from the list"))
    if wish.form not in FORMS:
        faults.append(Fault("form", f"{wish.form!r} is not known", f"use one of {', '.join(FORMS)}"))
    if not 0 <= wish.from_mm < support.length_mm:
        faults.append(
            Fault("from", f"{wish.from_mm / 10:g} cm lies off the support", f"0 to {support.length_mm / 10:g} cm")
        )
    elif run < 300 or wish.from_mm + run > support.length_mm:
        faults.append(
            Fault("run", f"{run / 10:g} cm does not fit", f"30 cm to {(support.length_mm - wish.from_mm) / 10:g} cm")
        )
    if faults:
        raise BadInput(faults)


def _gap(wish: Wish, support: Support, run: int) -> int | None:
    """Room from tree to tree that form and stock ask for, never more than there is."""
    probe = _facts(support, wish, support.wire_heights_mm, run // 2, run // 2)
    spacing = spacing_for(wish.form, vigour_class(probe))
    return min(run, (spacing.low_mm + spacing.high_mm) // 2) if spacing else None


def _facts(support: Support, wish: Wish, wires: Sequence[int], left_mm: int, right_mm: int) -> TreeFacts:
    return TreeFacts(
        species=wish.species,
        form=wish.form,
        planted_on=wish.planted_on,
        wire_heights_mm=tuple(wires),
        run_left_mm=left_mm,
        run_right_mm=right_mm,
        height_mm=support.height_mm,
        rootstock=wish.rootstock or None,
        start=cast(Start, wish.start),
        gap_to_wall_mm=support.gap_mm,
        is_southern=support.site.place.is_southern,
    )


def _drawing(
    support: Support, found: SupportLayout, trees: Sequence[tuple[TreeState, int]], units: Units
) -> SafeString:
    rows = [
        TreeInRow(state=state, x_mm=position, label=f"{number}")
        for number, (state, position) in enumerate(trees, start=1)
    ]
    options = Options(width_px=1080, max_height_mm=110, id_prefix="design", units=units)
    sheet = LayoutSheet(label=support.name, aspect=f"faces {compass(support.faces_deg)}")
    return mark_safe(draw_layout(found, rows, options, sheet))  # noqa: S308 - our own core


def _whole_support(support: Support, wish: Wish, wires: Sequence[int], found: SupportLayout) -> SupportLayout:
    """The whole support as it is to be built; the planting may take a part of it only.

    Where what was said of its build cannot be read (its page says why), the usual layout stands in.
    """
    try:
        core = planted_core(
            support,
            Planting(species=wish.species, form=wish.form, trees=max(1, len(found.trees)), wires_mm=tuple(wires)),
        )
        return layout_of(core)
    except BadInput:
        return found


def _check_free(support: Support, found: Design) -> None:
    standing = [
        Standing(
            where=tree.label,
            label=tree.label,
            position_mm=tree.position_mm,
            run_left_mm=tree.run_left_mm,
            run_right_mm=tree.run_right_mm,
            form=tree.form,
        )
        for tree in support.trees.filter(removed_on=None)
    ]
    planned = [
        Standing(
            where=f"planned tree {number}",
            label=f"planned tree {number}",
            position_mm=position,
            run_left_mm=facts.run_left_mm,
            run_right_mm=facts.run_right_mm,
            form=facts.form,
        )
        for number, (facts, position) in enumerate(zip(found.trees, found.positions_mm, strict=True), start=1)
    ]
    if faults := placement_faults([*standing, *planned], support_length_mm=support.length_mm):
        raise BadInput(faults)


def _free_code(support: Support, taken: set[str]) -> str:
    number = 1
    while f"{support.code}-{number}"[:40] in taken:
        number += 1
    code = f"{support.code}-{number}"[:40]
    taken.add(code)
    return code
