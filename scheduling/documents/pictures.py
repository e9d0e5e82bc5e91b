"""The pictures of a visit: each tree with the numbered marks of its jobs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import groupby

from django.utils.safestring import SafeString, mark_safe

from business import clock
from gardens.drawing import Mark, Options, draw_support, draw_tree
from gardens.models import Tree
from gardens.queries.trees import trees_with_records
from gardens.services.cautions import cautions_for, cautions_for_support
from gardens.services.practice import our_practice
from gardens.services.standing import picture_of_tree, support_picture, tree_state
from gardens.services.words import tree_fact
from gardens.training import TrainingPractice
from gardens.units import Units, show_length
from scheduling.models import Task, Visit

LENGTH_LABELS = ("head_back", "shorten_arms")


@dataclass(frozen=True, kw_only=True)
class Picture:
    """One tree (or support) of a visit with its jobs. ``drawing`` is our own SVG, every text in it escaped."""

    key: str
    title: str
    fact: str
    drawing: SafeString
    tasks: Sequence[Task]
    cautions: Sequence[str]
    tree_id: int | None = None


def pictures_of_visit(visit: Visit, *, options: Options | None = None, units: Units = "metric") -> list[Picture]:
    """One picture per tree, in walking order; jobs on a support come under the support's picture."""
    order = getattr(visit, "work_order", None)
    if order is None:
        return []
    on = visit.on or clock.today(visit.site.zone)
    tasks = list(order.tasks.all())
    trees = trees_with_records().in_bulk({task.tree_id for task in tasks if task.tree_id})
    practice = our_practice()
    pictures = []
    for tree_id, group in groupby(tasks, key=lambda task: task.tree_id):
        jobs = list(group)
        if tree_id is not None:
            drawn = Drawn(on=on, practice=practice, options=options or Options(width_px=760), units=units)
            pictures.append(_tree_picture(trees[tree_id], jobs, drawn))
        else:
            pictures += _support_pictures(jobs, options or Options(width_px=760), units)
    return pictures


def marks_of(tasks: Sequence[Task], units: Units) -> tuple[Mark, ...]:
    """The numbered marks of open and answered jobs."""
    return tuple(
        Mark(
            number=task.number,
            kind=task.kind,
            limb=task.limb,
            at_mm=task.at_mm,
            to_angle_deg=task.to_angle_deg,
            label=show_length(task.at_mm, units) if task.at_mm is not None and task.kind in LENGTH_LABELS else "",
        )
        for task in tasks
    )


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """How the trees of a visit are drawn."""

    on: date
    practice: TrainingPractice
    options: Options
    units: Units


def _tree_picture(tree: Tree, jobs: Sequence[Task], drawn: Drawn) -> Picture:
    state = tree_state(tree, drawn.on, drawn.practice)
    options = _named(drawn.options, f"tree{tree.pk}", drawn.units)
    drawing = draw_tree(state, marks_of(jobs, drawn.units), picture_of_tree(tree), options)
    return Picture(
        key=f"{tree.pk}",
        title=tree.label,
        fact=tree_fact(tree, state),
        drawing=mark_safe(drawing),  # noqa: S308 - drawn by our own core, which escapes every text
        tasks=jobs,
        cautions=cautions_for(tree, [task.kind for task in jobs], drawn.on),
        tree_id=tree.pk,
    )


def _support_pictures(jobs: Sequence[Task], options: Options, units: Units) -> list[Picture]:
    pictures = []
    for support, group in groupby(jobs, key=lambda task: task.support):
        if support is None:
            continue
        own = list(group)
        drawing = draw_support(
            support_picture(support), (), _named(options, f"support{support.pk}", units), marks_of(own, units)
        )
        pictures.append(
            Picture(
                key=f"support-{support.pk}",
                title=support.name,
                fact=f"{support.get_kind_display()}, {show_length(support.length_mm, units)} long",
                drawing=mark_safe(drawing),  # noqa: S308 - our own core
                tasks=own,
                cautions=cautions_for_support(support, [task.kind for task in own]),
            )
        )
    return pictures


def _named(options: Options, prefix: str, units: Units) -> Options:
    return replace(options, id_prefix=prefix, units=units)
