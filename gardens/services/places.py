"""Gardens, their supports and their trees: added, changed, taken out. Every change is noted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from itertools import pairwise
from typing import Any, TypeVar

from django.db import models, transaction

from business.errors import AlreadyDone, BadInput, Fault, Stale
from business.models import Client
from business.services.audit import note, values_of
from business.services.codes import chosen_code, version_of_row
from business.services.rows import put_values, save_checked
from gardens.models import Site, Support, Tree, Wire
from gardens.services.book.checks import NARROW_FORMS, SUPPORTED_CORDON_RUN_MM
from gardens.services.placement import Standing, placement_faults, shared_runs
from gardens.services.weather import station_choices

Row = TypeVar("Row", Site, Support, Tree)
TREE_FIELDS = {"position": "position_mm", "run_left": "run_left_mm", "run_right": "run_right_mm"}


@dataclass(frozen=True, kw_only=True)
class Change:
    """What a form said: the columns, and the version it had been shown."""

    values: dict[str, Any] = field(default_factory=dict)
    seen: str = ""


def version_of(row: models.Model) -> str:
    """Differs after every change of a column (and of the wires of a support)."""
    return version_of_row(row, row.wire_heights_mm if isinstance(row, Support) else ())


# -- gardens ---------------------------------------------------------------------------------------------------------


@transaction.atomic
def save_site(*, client: Client, change: Change, site: Site | None = None) -> Site:
    """Store a new garden of a client, or change one. A new garden takes the nearest fitting weather station.

    Raises:
        BadInput: a value breaks a law of the table, or the code is taken.
        Stale: somebody changed the garden since the form was shown.
    """
    row = _fresh(Site, site, change) or Site(client=client)
    values = dict(change.values)
    taken = set(Site.objects.exclude(pk=row.pk).values_list("code", flat=True))
    values["code"] = _code(values, row.code, values.get("name", ""), taken)
    before = values_of(row) if site is not None else {}
    put_values(row, values)
    save_checked(row, where="site")
    if site is None:
        row.station = next((station for station, choice in station_choices(row) if choice.is_fit), None)
        row.save(update_fields=["station"])
    note("garden changed" if before else "garden added", f"site:{row.pk}", before=before, after=values_of(row))
    return row


# -- supports --------------------------------------------------------------------------------------------------------


@transaction.atomic
def save_support(*, site: Site, change: Change, support: Support | None = None) -> Support:
    """Store a new support of a garden, or change one. ``wires_mm`` among the values strings it anew.

    Wires that stay at their height keep their thickness and material.

    Raises:
        BadInput: a value breaks a law, a wire lies out of order or above the support, or its trees no longer fit.
        Stale: somebody changed the support since the form was shown.
    """
    row = _fresh(Support, support, change) or Support(site=site)
    values = dict(change.values)
    wires = tuple(values.pop("wires_mm", row.wire_heights_mm if support is not None else ()))
    if faults := _wire_faults(wires, values.get("height_mm", row.height_mm)):
        raise BadInput(faults)
    values["code"] = _code(values, row.code, values.get("name", ""), _codes(Support, site, row))
    before = _told(row) if support is not None else {}
    put_values(row, values)
    if support is not None and (faults := _trees_fit(row)):
        raise BadInput(faults)
    kept = {wire.height_mm: wire for wire in row.wires.all()} if support is not None else {}
    if kept:
        # The table refuses a wire above its support: the old wires go before a lower height comes.
        row.wires.all().delete()
    save_checked(row, where="support")
    _string(row, wires, kept)
    note(
        "support changed" if before else "support added",
        f"support:{row.pk}",
        before=before,
        after={**values_of(row), "wires_mm": list(wires)},
    )
    return row


def _told(support: Support) -> dict[str, Any]:
    return {**values_of(support), "wires_mm": list(support.wire_heights_mm)}


def _wire_faults(wires: Sequence[int], height_mm: int) -> list[Fault]:
    faults = []
    for below, above in pairwise(wires):
        if above <= below:
            words = f"{above / 10:g} cm comes after {below / 10:g} cm"
            faults.append(Fault("support, wires_mm", words, "write the heights from below, each once"))
    if wires and wires[0] <= 0:
        faults.append(Fault("support, wires_mm", "a wire lies on the ground", "write heights above 0"))
    if wires and max(wires) > height_mm:
        words = f"the wire at {max(wires) / 10:g} cm lies above the support of {height_mm / 10:g} cm"
        faults.append(Fault("support, wires_mm", words, "lower the wire or correct the height"))
    return faults


def _trees_fit(support: Support) -> list[Fault]:
    faults = placement_faults(
        [_standing(tree) for tree in support.trees.filter(removed_on=None)], support_length_mm=support.length_mm
    )
    return [Fault("support, length_mm", fault.wrong, "move the tree first, or correct the length") for fault in faults]


def _string(support: Support, wires: Sequence[int], kept: dict[int, Wire]) -> None:
    usual = next(iter(kept.values()), None)
    rows = []
    for height in wires:
        like = kept.get(height) or usual
        rows.append(
            Wire(
                support=support,
                height_mm=height,
                diameter_mm=like.diameter_mm if like else None,
                material=like.material if like else "",
                support_height_mm=support.height_mm,
            )
        )
    Wire.objects.bulk_create(rows)


# -- trees -----------------------------------------------------------------------------------------------------------


@transaction.atomic
def save_tree(*, support: Support, change: Change, tree: Tree | None = None) -> Tree:
    """Store a new tree on a support, or change one. Room that is left open is shared evenly with its neighbours.

    Raises:
        BadInput: a value breaks a law, or the tree does not fit where it is said to stand.
        Stale: somebody changed the tree since the form was shown.
    """
    row = _fresh(Tree, tree, change) or Tree(support=support, site=support.site)
    values = dict(change.values)
    values["code"] = _code(values, row.code, values.get("label", ""), _codes(Tree, support.site, row))
    before = values_of(row) if tree is not None else {}
    others = [other for other in support.trees.filter(removed_on=None) if other.pk != row.pk]
    _share_room(values, row, others, support.length_mm)
    put_values(row, values)
    standings = [_standing(other) for other in others] + [_standing(row, where="tree")]
    if faults := placement_faults(standings, support_length_mm=support.length_mm):
        raise BadInput([_on_the_form(fault, row) for fault in faults])
    save_checked(row, where="tree")
    note("tree changed" if before else "tree added", f"tree:{row.pk}", before=before, after=values_of(row))
    return row


@transaction.atomic
def take_out(*, tree: Tree, on: date, why: str) -> Tree:
    """A tree left the garden: its place is free, its records stay.

    Raises:
        AlreadyDone: it was taken out before.
        BadInput: the day lies before its planting.
    """
    tree = Tree.objects.select_for_update(of=("self",)).get(pk=tree.pk)
    if tree.removed_on is not None:
        raise AlreadyDone([Fault(tree.label, f"was taken out on {tree.removed_on:%d %B %Y}", "look at its page")])
    if on < tree.planted_on:
        words = f"lies before it was planted on {tree.planted_on:%d %B %Y}"
        raise BadInput([Fault("removed_on", words, "write a later day")])
    before = values_of(tree)
    tree.removed_on = on
    tree.note = f"{tree.note}\nTaken out: {why}".strip()
    save_checked(tree, where="tree", only=["removed_on", "note"])
    note("tree taken out", f"tree:{tree.pk}", before=before, after=values_of(tree))
    return tree


def _share_room(values: dict[str, Any], row: Tree, others: Sequence[Tree], length_mm: int) -> None:
    """Fill in the room that was left open; neighbours that already reach further keep what they have."""
    if values.get("run_left_mm") is not None and values.get("run_right_mm") is not None:
        return
    position = values.get("position_mm", row.position_mm)
    in_order = sorted([other.position_mm for other in others] + [position])
    at = in_order.index(position)
    left, right = shared_runs(in_order, support_length_mm=length_mm)[at]
    reach_left = max((o.position_mm + o.run_right_mm for o in others if o.position_mm < position), default=0)
    reach_right = min((o.position_mm - o.run_left_mm for o in others if o.position_mm > position), default=length_mm)
    left, right = min(left, max(0, position - reach_left)), min(right, max(0, reach_right - position))
    if values.get("form", row.form) in NARROW_FORMS:
        left, right = min(left, SUPPORTED_CORDON_RUN_MM), min(right, SUPPORTED_CORDON_RUN_MM)
    if values.get("run_left_mm") is None:
        values["run_left_mm"] = left
    if values.get("run_right_mm") is None:
        values["run_right_mm"] = right


def _standing(tree: Tree, where: str = "") -> Standing:
    return Standing(
        where=where or tree.label,
        label=tree.label,
        position_mm=tree.position_mm,
        run_left_mm=tree.run_left_mm,
        run_right_mm=tree.run_right_mm,
        form=tree.form,
    )


def _on_the_form(fault: Fault, tree: Tree) -> Fault:
    """Every fault of the row of trees stands beside a box of the tree being written."""
    column = fault.where.rpartition(", ")[2]
    is_ours = fault.where.startswith("tree, ")
    return Fault(
        f"tree, {TREE_FIELDS.get(column, 'position_mm') if is_ours else 'position_mm'}", fault.wrong, fault.remedy
    )


# -- all -------------------------------------------------------------------------------------------------------------


def _fresh(model: type[Row], row: Row | None, change: Change) -> Row | None:
    """The row as it is now, locked."""
    if row is None:
        return None
    found = model._default_manager.select_for_update(of=("self",)).get(pk=row.pk)
    if change.seen and change.seen != version_of(found):
        raise Stale([Fault(str(found), "was changed by somebody else meanwhile", "look again, then change it")])
    return found


def _codes(model: type[Support] | type[Tree], site: Site, row: models.Model) -> set[str]:
    return set(model._default_manager.filter(site=site).exclude(pk=row.pk).values_list("code", flat=True))


def _code(values: dict[str, Any], kept: str, name: str, taken: set[str]) -> str:
    return chosen_code(str(values.get("code") or ""), kept, name, taken, longest=40)
