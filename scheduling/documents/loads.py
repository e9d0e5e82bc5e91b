"""Load in the van: what the open jobs of some visits take, by kind and size."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from business.errors import BadInput
from gardens.knowledge.material_book import materials
from gardens.models import Support
from gardens.queries.trees import trees_on_support
from gardens.services.supports import bill_of, core_support
from gardens.supports import VanItem, VanLine, items_of_bill, items_to_tighten, load_in_the_van
from scheduling.models import Task, Visit

KIND_WORDS = {
    "wire": "Wire",
    "tensioner": "Tensioners",
    "fixing": "Fixings",
    "post": "Posts",
    "anchor": "Anchors",
    "cane": "Canes",
    "tie": "Ties",
    "small_part": "Also",
    "tool": "Tools",
}
WHOLE_BILL = "erect_support:whole"


@dataclass(frozen=True, kw_only=True)
class Load:
    """Something to put in the van. ``packed``: how it is sold, where it is ("1 coil of 2 kg", "2 packs of 100")."""

    name: str
    quantity: float
    unit: str
    kind: str = ""
    packed: str = ""


def loads_of(visits: Sequence[Visit]) -> list[Load]:
    """What the open jobs of some visits take: ties, canes and parts that the jobs name, the bill of a support that is put
    up, and spares of the right size where wires are tightened."""
    tasks = [task for visit in visits for task in _open_tasks(visit)]
    known = materials().goods
    others: dict[str, float] = defaultdict(float)
    wanted: list[VanItem] = [*_of_supports(tasks)]
    for task in tasks:
        for material, quantity in _named_by(task):
            if material in known:
                wanted.append(VanItem(good=material, quantity=quantity))
            else:
                others[material] += quantity
    lines = [_load(line) for line in load_in_the_van(wanted)]
    return lines + [
        Load(name=name.replace("_", " "), quantity=total, unit="") for name, total in sorted(others.items())
    ]


def _open_tasks(visit: Visit) -> list[Task]:
    order = getattr(visit, "work_order", None)
    return [task for task in order.tasks.all() if task.state == Task.State.OPEN] if order else []


def _named_by(task: Task) -> list[tuple[str, float]]:
    """What the need behind a job names; the whole bill of a support is counted from the support itself."""
    if task.need is None or _puts_up(task):
        return []
    return [(material, quantity) for material, quantity in task.need.materials]


def _puts_up(task: Task) -> bool:
    """Whether a whole support is put up with what this job brings; the second day of it brings nothing new."""
    is_whole = task.support_id is not None and f"{task.kind}:{task.limb}" == WHOLE_BILL
    return is_whole and task.need is not None and bool(task.need.materials)


def _of_supports(tasks: Sequence[Task]) -> Iterator[VanItem]:
    """The bill of each support put up, spares for each with wires to tighten; where a build cannot be read (its page says
    why), what its jobs name."""
    jobs: dict[int, list[Task]] = defaultdict(list)
    for task in tasks:
        if task.support_id is not None and (_puts_up(task) or task.kind == "tighten_wires"):
            jobs[task.support_id].append(task)
    supports = Support.objects.select_related("site").prefetch_related("wires").in_bulk(jobs)
    for support_id, own in jobs.items():
        try:
            yield from _of_support(supports[support_id], own)
        except BadInput:
            yield from (
                VanItem(good=good, quantity=quantity)
                for task in own
                if _puts_up(task)
                for good, quantity in (task.need.materials if task.need else ())
                if good in materials().goods
            )


def _of_support(support: Support, tasks: Sequence[Task]) -> tuple[VanItem, ...]:
    trees = list(trees_on_support(support.pk))
    if any(_puts_up(task) for task in tasks):
        return items_of_bill(bill_of(support, trees))
    core = core_support(support, trees)
    wires = len(core.wire_heights_mm) if any(task.limb == "whole" for task in tasks) else len(tasks)
    return items_to_tighten(core, wires)


def _load(line: VanLine) -> Load:
    packed = line.sold_as
    if not packed and line.packs and line.pack_size and line.pack_size > 1:
        packed = f"{line.packs} pack{'s' if line.packs > 1 else ''} of {line.pack_size:g}"
    return Load(
        name=line.name,
        quantity=line.quantity,
        unit="" if line.unit in ("piece", "tie") else line.unit,
        kind=KIND_WORDS[line.kind],
        packed=packed,
    )
