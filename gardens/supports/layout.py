"""Lay a support out: from run, height and form to wires, posts or eyes, tree places and dimensions."""

from __future__ import annotations

from collections.abc import Sequence

from business.errors import BadInput, Fault
from gardens.knowledge.material_book import Materials, materials
from gardens.knowledge.material_schema import SupportForm
from gardens.supports.laid import LaidTree, LayoutWish, SupportLayout
from gardens.supports.measures import bearing_faults, wire_height_faults
from gardens.supports.plan import Plan
from gardens.supports.values import SUPPORT_KINDS, Support
from gardens.units import show_length

LEVEL_FORM_SLOPE_PERCENT = 5
"""Arms that want to lie level look wrong on wires that follow a steeper slope than this."""

NEAR_POST_MM = 250


def lay_out_support(wish: LayoutWish, *, book: Materials | None = None) -> SupportLayout:
    """Wires, posts or eyes, tree places and dimensions for a run, a height and a form.

    Raises:
        BadInput: every fault of the wish at once, each with what would be right.
    """
    book = book or materials()
    rule = book.form(wish.form, wish.kind)
    if faults := _faults(wish):
        raise BadInput(faults)
    heights = _heights(wish, rule)
    hold = book.limits["post_gap_mm" if wish.has_posts else "eye_gap_mm"]
    plan = Plan(wish=wish, heights=heights, spans=-(-wish.run_mm // (wish.hold_gap_mm or round(hold.value))))
    usual_gap = 0 if wish.has_posts else round(book.limit("wall_gap_mm"))
    trees = plan.trees(_tree_count(wish, rule))
    return SupportLayout(
        kind=wish.kind,
        form=wish.form,
        run_mm=wish.run_mm,
        height_mm=wish.height_mm,
        gap_mm=usual_gap if wish.gap_mm is None else wish.gap_mm,
        slope_percent=wish.slope_percent,
        ground=plan.ground(),
        wires=plan.wires(),
        posts=plan.posts(),
        eyes=plan.eyes(),
        braces=plan.braces(),
        trees=trees,
        dimensions=plan.dimensions(trees),
        faces_deg=wish.faces_deg,
        notes=_notes(plan, rule, trees),
        sources=tuple(dict.fromkeys((rule.source, hold.source))),
    )


def layout_of(support: Support, *, book: Materials | None = None) -> SupportLayout:
    """The layout of a support as it stands or is planned, tree places from its plants.

    Raises:
        BadInput: where it cannot be laid out.
    """
    form = support.plants[0].form if support.plants else "informal"
    end = support.end
    return lay_out_support(
        LayoutWish(
            kind=support.kind,
            form=form,
            run_mm=support.run_mm,
            height_mm=support.height_mm,
            wire_heights_mm=support.wire_heights_mm,
            hold_gap_mm=support.hold_gap_mm,
            trees=sum(plant.count for plant in support.plants),
            gap_mm=support.gap_mm,
            own_posts=support.is_row,
            post_size_mm=support.post.size_mm if support.post else 100,
            post_depth_mm=support.post.depth_mm if support.post else 750,
            end_post_size_mm=end.post.size_mm if end else None,
            end_post_depth_mm=end.post.depth_mm if end else None,
            end=end.kind if end else "tie_back",
            end_height_mm=end.height_mm if end else None,
            end_angle_deg=end.angle_deg if end else 60,
            end_reach_mm=end.reach_mm if end else None,
            slope_percent=support.slope_percent,
            faces_deg=support.faces_deg,
        ),
        book=book,
    )


def _heights(wish: LayoutWish, rule: SupportForm) -> tuple[int, ...]:
    """From the first wire up, by the form's spacing, as long as the support and the form allow."""
    if wish.wire_heights_mm:
        return wish.wire_heights_mm
    first, spacing = wish.first_wire_mm or rule.first_wire_mm, wish.wire_spacing_mm or rule.spacing_mm
    top = min(wish.height_mm, max(rule.top_mm, first))
    heights = tuple(range(first, top + 1, spacing))[: rule.most_wires]
    if not heights:
        raise BadInput(
            [
                Fault(
                    "height",
                    f"{show_length(wish.height_mm)} is lower than the first wire at {show_length(first)}",
                    f"give at least {show_length(first)}, or a lower first wire",
                )
            ]
        )
    return heights


def _tree_count(wish: LayoutWish, rule: SupportForm) -> int:
    if wish.trees is not None:
        return wish.trees
    return max(1, round(wish.run_mm / (wish.tree_gap_mm or rule.tree_gap_mm)))


def _notes(plan: Plan, rule: SupportForm, trees: Sequence[LaidTree]) -> tuple[str, ...]:
    wish, notes = plan.wish, []
    each = wish.run_mm / len(trees) if trees else 0
    low, high = rule.tree_gap_range_mm
    if trees and not low <= each <= high:
        notes.append(
            f"Each plant has {show_length(each)} of run; this form usually takes {show_length(low)} to {show_length(high)}."
        )
    is_steep = abs(wish.slope_percent) > LEVEL_FORM_SLOPE_PERCENT
    if is_steep and rule.arms_are_level and wish.way == "parallel":
        notes.append("Arms of this form lie level: step the wires from post to post, or choose a slanted form.")
    if plan.has_posts:
        posts = [post.x_mm for post in plan.posts() if post.role != "end"]
        close = [tree.number for tree in trees if any(abs(tree.x_mm - x) < NEAR_POST_MM for x in posts)]
        if close:
            notes.append(
                f"Tree {', '.join(map(str, close))} stands at a post: shift it by {show_length(NEAR_POST_MM)}."
            )
    if wish.way == "stepped" and wish.slope_percent:
        notes.append(f"Posts stand {show_length(plan.step_rise())} taller for the steps.")
    return tuple(notes)


def _faults(wish: LayoutWish) -> list[Fault]:
    """Everything that cannot be laid out, all at once."""
    faults = []
    if wish.kind not in SUPPORT_KINDS:
        faults.append(Fault("kind", f"{wish.kind!r} is not known", f"use one of {', '.join(SUPPORT_KINDS)}"))
    for name, value, least, most in (
        ("run", wish.run_mm, 300, 500_000),
        ("height", wish.height_mm, 300, 6000),
        ("first_wire", wish.first_wire_mm, 100, 3000),
        ("wire_spacing", wish.wire_spacing_mm, 50, 2000),
        ("hold_gap", wish.hold_gap_mm, 200, 15_000),
        ("tree_gap", wish.tree_gap_mm, 100, 15_000),
        ("gap", wish.gap_mm, 0, 500),
    ):
        if value is not None and not least <= value <= most:
            faults.append(
                Fault(name, f"{value} mm is out of range", f"give {show_length(least)} to {show_length(most)}")
            )
    faults += wire_height_faults(wish.wire_heights_mm, wish.height_mm)
    faults += bearing_faults(wish.faces_deg)
    if not -60 <= wish.slope_percent <= 60:
        faults.append(Fault("slope", f"{wish.slope_percent:g} %", "give -60 to 60 %, rising to the right"))
    if wish.trees is not None and not 0 <= wish.trees <= 2000:
        faults.append(Fault("trees", str(wish.trees), "give 0 to 2000"))
    if not 20 <= wish.end_angle_deg <= 80:
        faults.append(Fault("end angle", f"{wish.end_angle_deg:g}°", "give 20 to 80° to the ground; 60° is usual"))
    return faults
