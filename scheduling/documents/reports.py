"""The visit report: what was done to which tree and why, how far it has come, what comes next."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from itertools import groupby
from typing import Any

from django.template.loader import render_to_string

from business import clock
from business.documents.pdf import render
from business.queries.profile import our_profile
from gardens.drawing import Mark, Options, draw_tree
from gardens.models import Photo, Tree
from gardens.queries.photos import photos_of_visit
from gardens.queries.trees import trees_with_records
from gardens.services.cautions import cautions_for
from gardens.services.practice import our_practice
from gardens.services.standing import Outlook, outlook, picture_of_tree
from gardens.services.words import full_words, tree_fact
from gardens.services.years import years_on_paper
from gardens.units import Units
from scheduling.documents.advice import meanwhile
from scheduling.documents.photos import PhotoOnPaper, as_image, on_paper, pair_of
from scheduling.documents.signatures import signature_image
from scheduling.models import Need, Task, Visit
from scheduling.queries.signatures import Farewell, farewell_of

NEXT_STEPS = 3
WHOLE_TREES = 4
"""So many trees get a whole page each, those with photos first; the others stand shorter."""
PHOTOS_ON_PAPER = 12
MARKS_ON_NEXT = 14
MOST_CAUTIONS = 3


@dataclass(frozen=True, kw_only=True)
class TreePart:
    """One tree of the report. ``next_source`` and ``years_source`` are empty for the short form."""

    title: str
    fact: str
    source: str
    done: Sequence[Task]
    not_done: Sequence[Task]
    coming: Sequence[Need]
    full: str
    next_source: str = ""
    years_source: str = ""
    photos: Sequence[PhotoOnPaper] = ()

    @property
    def is_whole(self) -> bool:
        return bool(self.years_source)


@dataclass(frozen=True, kw_only=True)
class SupportPart:
    """What was done to a support."""

    title: str
    done: Sequence[Task]
    not_done: Sequence[Task]


@dataclass(frozen=True, kw_only=True)
class ReportPaper:
    """A report as text, and the photos that could not be shown on it."""

    html: str
    paper: str
    missing: Sequence[PhotoOnPaper] = field(default_factory=tuple)


def report_pdf(visit: Visit) -> bytes:
    """The report of a finished visit as PDF bytes, on the client's paper; the visit comes with its tasks."""
    made = report_paper(visit)
    return render(made.html, paper=made.paper)


def report_html(visit: Visit) -> str:
    """The text the PDF is made of."""
    return report_paper(visit).html


def report_paper(visit: Visit) -> ReportPaper:
    """The whole report in words and pictures; the visit comes with its tasks."""
    profile, client = our_profile(), visit.site.client
    units: Units = "imperial" if (client.units or profile.units) == "imperial" else "metric"
    on = clock.today(visit.site.zone, at=visit.finished_at) if visit.finished_at else clock.today(visit.site.zone)
    book = _Book(visit, on, units)
    parts, farewell = book.parts(), farewell_of(visit.pk)
    html = render_to_string(
        "scheduling/documents/visit_report.html",
        {
            "visit": visit,
            "client": client,
            "business": profile,
            "on": on,
            "parts": parts,
            "supports": book.supports(),
            "garden_photos": book.garden_photos,
            "done": sum(len(part.done) for part in parts),
            "not_done": sum(len(part.not_done) for part in parts),
            "next_visit": _next_visit(visit, on),
            "advice": meanwhile(list(book.found.values()), [book.trees[key].label for key in book.found], on, units),
            "cautions": book.cautions(),
            "minutes": visit.minutes_taken if profile.reports_show_minutes else None,
            "farewell": farewell,
            "signature": _signature(farewell),
        },
    )
    return ReportPaper(html=html, paper=client.paper or profile.paper, missing=book.missing)


class _Book:
    """Everything a report is made of, read in a bounded number of queries."""

    def __init__(self, visit: Visit, on: date, units: Units) -> None:
        self.on, self.units = on, units
        tasks = list(visit.work_order.tasks.all())
        self.tree_tasks = [task for task in tasks if task.tree_id]
        self.support_tasks = [task for task in tasks if not task.tree_id and task.support_id]
        self.trees = trees_with_records().in_bulk({task.tree_id for task in self.tree_tasks if task.tree_id})
        practice = our_practice()
        order = dict.fromkeys(task.tree_id for task in self.tree_tasks if task.tree_id)
        self.found = {key: outlook(self.trees[key], on, practice) for key in order}
        self.coming, self.all_coming = _coming(list(order), on)
        by_tree = _photos(visit)
        self.photos = {key: [on_paper(photo) for photo in photos] for key, photos in by_tree.items()}
        self.garden_photos = self.photos.pop(0, [])
        shown = [*self.garden_photos, *(photo for photos in self.photos.values() for photo in photos)]
        self.missing = tuple(photo for photo in shown if photo.is_missing)
        self.whole = set(sorted(order, key=lambda key: not self.photos.get(key))[:WHOLE_TREES])

    def parts(self) -> list[TreePart]:
        return [
            self._part(self.trees[tree_id], list(group))
            for tree_id, group in groupby(self.tree_tasks, key=lambda task: task.tree_id)
            if tree_id is not None
        ]

    def supports(self) -> list[SupportPart]:
        groups: dict[Any, list[Task]] = {}
        for task in self.support_tasks:
            groups.setdefault(task.support, []).append(task)
        return [
            SupportPart(title=support.name, done=_with_state(jobs, "done"), not_done=_with_state(jobs, "not_done"))
            for support, jobs in groups.items()
        ]

    def cautions(self) -> list[str]:
        """What the species themselves are known for: sap, thorns, poison."""
        said = [text for tree in self.trees.values() for text in cautions_for(tree, (), self.on)]
        return list(dict.fromkeys(said))[:MOST_CAUTIONS]

    def _part(self, tree: Tree, tasks: Sequence[Task]) -> TreePart:
        found, is_whole = self.found[tree.pk], tree.pk in self.whole
        coming = self.coming[tree.pk][:NEXT_STEPS]
        return TreePart(
            title=tree.label,
            fact=tree_fact(tree, found.state),
            source=self._drawing(tree, found, "now", ()),
            next_source=self._drawing(tree, found, "next", self._marks(tree, coming)) if is_whole and coming else "",
            years_source=self._years(tree, found) if is_whole else "",
            done=_with_state(tasks, "done"),
            not_done=_with_state(tasks, "not_done"),
            coming=coming,
            full=full_words(found),
            photos=self.photos.get(tree.pk, []),
        )

    def _drawing(self, tree: Tree, found: Outlook, prefix: str, marks: Sequence[Mark]) -> str:
        options = Options(width_mm=84, max_height_mm=62, units=self.units, id_prefix=f"{prefix}{tree.pk}")
        return as_image(draw_tree(found.state, marks, picture_of_tree(tree), options))

    def _years(self, tree: Tree, found: Outlook) -> str:
        options = Options(width_mm=170, max_height_mm=44, units=self.units, id_prefix=f"years{tree.pk}")
        return as_image(years_on_paper(tree, self.on, found, options))

    def _marks(self, tree: Tree, coming: Sequence[Need]) -> list[Mark]:
        """Every limb that comes next, under the number its kind of work has in the list."""
        numbers = {need.kind: number for number, need in enumerate(coming, start=1)}
        return [
            Mark(
                number=numbers[need.kind],
                kind=need.kind,
                limb=need.limb,
                at_mm=need.at_mm,
                to_angle_deg=need.to_angle_deg,
            )
            for need in self.all_coming[tree.pk]
            if need.kind in numbers
        ][:MARKS_ON_NEXT]


def _photos(visit: Visit) -> dict[int, list[Photo]]:
    """The photos of the visit by tree, those of the garden as a whole under 0; no more than a mail can carry."""
    by_tree: dict[int, list[Photo]] = defaultdict(list)
    for photo in photos_of_visit(visit.pk).select_related("site"):
        by_tree[photo.tree_id or 0].append(photo)
    chosen, left = {}, PHOTOS_ON_PAPER
    for tree_id, photos in by_tree.items():
        chosen[tree_id] = pair_of(photos)[:left]
        left -= len(chosen[tree_id])
    return chosen


def _with_state(tasks: Sequence[Task], state: str) -> list[Task]:
    """The first task of each kind of work: limbs are the crew's business, kinds are the client's."""
    first: dict[tuple[str, str], Task] = {}
    for task in tasks:
        if task.state == state:
            first.setdefault((task.kind, task.reason), task)
    return list(first.values())


def _coming(tree_ids: Sequence[int], on: date) -> tuple[dict[int, list[Need]], dict[int, list[Need]]]:
    """What each tree is due next in order of time: the first need of each kind, and all of them."""
    first: dict[int, list[Need]] = defaultdict(list)
    everything: dict[int, list[Need]] = defaultdict(list)
    needs = Need.objects.filter(tree__in=tree_ids, state=Need.State.OPEN, is_optional=False, closes__gte=on)
    for need in needs.order_by("best_from", "pk"):
        if need.tree_id is None:
            continue
        everything[need.tree_id].append(need)
        # One line a kind: that seven arms are shortened on the same days is one piece of news.
        if all(need.kind != other.kind for other in first[need.tree_id]):
            first[need.tree_id].append(need)
    return first, everything


def _next_visit(visit: Visit, on: date) -> Visit | None:
    return (
        Visit.objects.filter(site=visit.site, state__in=[Visit.State.PLANNED, Visit.State.CONFIRMED], on__gt=on)
        .order_by("on")
        .first()
    )


def _signature(farewell: Farewell) -> str:
    return signature_image(farewell.signature) if farewell.signature and farewell.signature.strokes else ""
