"""Rows to values: the facts and records of a tree as the training core reads them, and how the tree stands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from gardens.drawing import SupportPicture
from gardens.models import Record, Support, Tree
from gardens.queries.trees import RecordLine, standing_records
from gardens.services.practice import our_practice
from gardens.training import Forecast, TrainingPractice, TreeState, fold, forecast, on_support
from gardens.training import Record as TrainingRecord
from gardens.training.state import TreeFacts

COMPASS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")


def facts_of(tree: Tree) -> TreeFacts:
    """What was decided when the tree was planted; the tree comes with its site and support."""
    facts = TreeFacts(
        species=tree.species,
        form=tree.form,
        planted_on=tree.planted_on,
        wire_heights_mm=tree.support.wire_heights_mm,
        run_left_mm=tree.run_left_mm,
        run_right_mm=tree.run_right_mm,
        height_mm=tree.support.height_mm,
        tiers=tree.tiers,
        rootstock=tree.rootstock or None,
        start=tree.start,  # type: ignore[arg-type] # one of STARTS by constraint
        tiers_at_start=tree.tiers_at_start,
        gap_to_wall_mm=tree.support.gap_mm,
        cultivar=tree.cultivar,
        is_southern=tree.site.place.is_southern,
    )
    return on_support(facts, tree.position_mm, tree.support.length_mm)


def records_of(tree: Tree) -> tuple[TrainingRecord, ...]:
    """The tree's standing records. Reads them, unless the query brought them along."""
    rows: Sequence[Record | RecordLine] | None = getattr(tree, "standing_records", None)
    if rows is None:
        rows = list(standing_records().filter(tree=tree))
    return tuple(
        TrainingRecord(
            on=row.on,
            kind=row.kind,  # type: ignore[arg-type] # one of three by constraint
            what=row.what,
            limb=row.limb,
            value=row.value,
            text=row.text,
            key=f"{number:06}",  # they come in order of day and entry
        )
        for number, row in enumerate(rows)
    )


def tree_state(tree: Tree, on: date, practice: TrainingPractice | None = None) -> TreeState:
    """The tree as it stands on a day, trained as we train. Who asks for many trees hands the practice along."""
    return fold(facts_of(tree), records_of(tree), on, practice=practice or our_practice())


@dataclass(frozen=True, kw_only=True)
class Outlook:
    """A tree as it stands, and when it will be full."""

    state: TreeState
    forecast: Forecast


def outlook(tree: Tree, on: date, practice: TrainingPractice | None = None) -> Outlook:
    """The tree on a day and its forecast, trained as we train."""
    ours = practice or our_practice()
    state = tree_state(tree, on, ours)
    return Outlook(state=state, forecast=forecast(state, practice=ours))


def support_picture(support: Support, *, trunk_x_mm: int | None = None) -> SupportPicture:
    """The support as the drawing core reads it."""
    return SupportPicture(
        kind=support.kind,  # type: ignore[arg-type] # one of three by constraint
        run_mm=support.length_mm,
        height_mm=support.height_mm,
        wire_heights_mm=support.wire_heights_mm,
        post_positions_mm=post_positions(support),
        aspect=f"faces {compass(support.faces_deg)}",
        label=support.name,
        trunk_x_mm=trunk_x_mm,
    )


def picture_of_tree(tree: Tree) -> SupportPicture:
    """Its support as one tree has it before it: the posts and ends where they are, as far as they are near."""
    return replace(support_picture(tree.support, trunk_x_mm=tree.position_mm), label="")


def post_positions(support: Support) -> tuple[int, ...]:
    """Posts at even distances, no wider than recorded."""
    if not support.post_spacing_mm:
        return ()
    bays = max(1, -(-support.length_mm // support.post_spacing_mm))
    return tuple(round(support.length_mm * number / bays) for number in range(bays + 1))


def compass(bearing_deg: int) -> str:
    """180 → S"""
    return COMPASS[round(bearing_deg / 45) % 8]
