"""The visit report: what was done to which tree and why, how far it has come, what comes next."""

from __future__ import annotations

import base64
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import groupby

from django.template.loader import render_to_string

from business import clock
from business.documents.pdf import render
from business.queries.profile import our_profile
from gardens.drawing import Options, draw_tree
from gardens.models import Photo, Tree
from gardens.queries.photos import photos_of_visit
from gardens.queries.trees import trees_with_records
from gardens.services.photos import paper_copy
from gardens.services.practice import our_practice
from gardens.services.standing import Outlook, outlook, picture_of_tree
from gardens.services.words import full_words, tree_fact
from gardens.units import Units
from scheduling.models import Need, Task, Visit

NEXT_STEPS = 3
PHOTOS_A_TREE = 2


@dataclass(frozen=True, kw_only=True)
class PhotoOnPaper:
    """A photo of the visit as an image address that needs no file."""

    source: str
    words: str


@dataclass(frozen=True, kw_only=True)
class TreePart:
    """One tree of the report."""

    title: str
    fact: str
    source: str
    done: Sequence[Task]
    not_done: Sequence[Task]
    coming: Sequence[Need]
    full: str
    photos: Sequence[PhotoOnPaper] = ()


def report_pdf(visit: Visit) -> bytes:
    """The report of a finished visit as PDF bytes, on the client's paper; the visit comes with its tasks."""
    return render(report_html(visit), paper=visit.site.client.paper or our_profile().paper)


def report_html(visit: Visit) -> str:
    """The text the PDF is made of."""
    profile = our_profile()
    units: Units = "imperial" if (visit.site.client.units or profile.units) == "imperial" else "metric"
    on = clock.today(visit.site.zone, at=visit.finished_at) if visit.finished_at else clock.today(visit.site.zone)
    parts = _parts(visit, on, units)
    return render_to_string(
        "scheduling/documents/visit_report.html",
        {
            "visit": visit,
            "client": visit.site.client,
            "business": profile,
            "on": on,
            "parts": parts,
            "done": sum(len(part.done) for part in parts),
            "not_done": sum(len(part.not_done) for part in parts),
            "next_visit": _next_visit(visit, on),
        },
    )


def _parts(visit: Visit, on: date, units: Units) -> list[TreePart]:
    tasks = [task for task in visit.work_order.tasks.all() if task.tree_id]
    trees = trees_with_records().in_bulk({task.tree_id for task in tasks if task.tree_id})
    coming = _coming(list(trees), on)
    photos, practice = _photos(visit), our_practice()
    found = {key: outlook(tree, on, practice) for key, tree in trees.items()}
    return [
        replace(_part(trees[tree_id], found[tree_id], list(group), coming[tree_id], units), photos=photos[tree_id])
        for tree_id, group in groupby(tasks, key=lambda task: task.tree_id)
        if tree_id is not None
    ]


def _part(tree: Tree, found: Outlook, tasks: Sequence[Task], coming: Sequence[Need], units: Units) -> TreePart:
    options = Options(width_mm=104, max_height_mm=66, units=units, id_prefix=f"tree{tree.pk}")
    drawing = draw_tree(found.state, (), picture_of_tree(tree), options)
    return TreePart(
        title=tree.label,
        fact=tree_fact(tree, found.state),
        source="data:image/svg+xml;base64," + base64.b64encode(drawing.encode()).decode(),
        done=_one_a_kind([task for task in tasks if task.state == Task.State.DONE]),
        not_done=_one_a_kind([task for task in tasks if task.state == Task.State.NOT_DONE]),
        coming=coming[:NEXT_STEPS],
        full=full_words(found),
    )


def _photos(visit: Visit) -> dict[int, list[PhotoOnPaper]]:
    """The photos of the visit by tree: the first one before the work and the last one after it lead."""
    by_tree: dict[int, list[Photo]] = defaultdict(list)
    for photo in photos_of_visit(visit.pk):
        by_tree[photo.tree_id or 0].append(photo)
    chosen: dict[int, list[PhotoOnPaper]] = defaultdict(list)
    for tree_id, photos in by_tree.items():
        before = [photo for photo in photos if photo.pair == Photo.Pair.BEFORE][:1]
        after = [photo for photo in photos if photo.pair == Photo.Pair.AFTER][-1:]
        pair = [*before, *after] or photos[-PHOTOS_A_TREE:]
        chosen[tree_id] = [on_paper for photo in pair if (on_paper := _on_paper(photo))]
    return chosen


def _on_paper(photo: Photo) -> PhotoOnPaper | None:
    try:
        copy = paper_copy(photo)
    except OSError:
        # A lost picture must not keep the report from the client.
        return None
    words = photo.words or {"before": "Before the work", "after": "After the work"}.get(photo.pair, "On the day")
    return PhotoOnPaper(source="data:image/jpeg;base64," + base64.b64encode(copy).decode(), words=words)


def _one_a_kind(tasks: Sequence[Task]) -> list[Task]:
    """The first task of each kind of work: limbs are the crew's business, kinds are the client's."""
    first: dict[tuple[str, str], Task] = {}
    for task in tasks:
        first.setdefault((task.kind, task.reason), task)
    return list(first.values())


def _coming(tree_ids: Sequence[int], on: date) -> dict[int, list[Need]]:
    """What each tree is due next, in order of time."""
    coming: dict[int, list[Need]] = defaultdict(list)
    needs = Need.objects.filter(tree__in=tree_ids, state=Need.State.OPEN, is_optional=False, closes__gte=on).order_by(
        "best_from", "pk"
    )
    for need in needs:
        # One line a kind: that seven arms are shortened on the same days is one piece of news.
        if need.tree_id is not None and all(need.kind != other.kind for other in coming[need.tree_id]):
            coming[need.tree_id].append(need)
    return coming


def _next_visit(visit: Visit, on: date) -> Visit | None:
    return (
        Visit.objects.filter(site=visit.site, state__in=[Visit.State.PLANNED, Visit.State.CONFIRMED], on__gt=on)
        .order_by("on")
        .first()
    )
