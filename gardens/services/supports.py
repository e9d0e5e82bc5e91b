"""Supports: rows to the supports core and back: is it strong enough, what must be bought, what care is due."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

from django.db import transaction
from django.utils.safestring import SafeString, mark_safe

from business.errors import BadInput
from business.services.audit import note
from gardens.drawing import LayoutSheet, Options, TreeInRow, draw_layout, draw_support
from gardens.knowledge.material_book import materials
from gardens.models import Record, Support, Tree
from gardens.pruning.values import Need, Window
from gardens.services.practice import our_practice
from gardens.services.standing import compass, support_picture, tree_state
from gardens.services.support_records import SupportFact
from gardens.supports import (
    VERDICT_WORDS,
    Bill,
    CareDue,
    PartCheck,
    SagReading,
    Slack,
    SupportRecord,
    SupportReport,
    SupportState,
    bill_of_materials,
    care_due,
    check_support,
    fold_support,
    judge_slack,
    layout_of,
    read_support,
)
from gardens.supports import Support as CoreSupport
from gardens.units import Units

G = 9.80665
OVERDUE_BEST_DAYS, OVERDUE_DAYS = 28, 120
BUILD_KEYS = (
    "wire", "joint", "tension_n", "hold_gap", "slides", "wall", "end_fixing", "fixing", "post", "end", "place",
    "slope_percent", "spring_n_per_mm",
)  # fmt: skip


PLANT_GOODS = ("cane", "tie")
"""What young trees need of a support that stands."""


@dataclass(frozen=True, kw_only=True)
class Planting:
    """Trees to come on a support: how many, of what, in which form, on which wires (none: those of the form)."""

    species: str
    form: str
    trees: int
    wires_mm: tuple[int, ...] = ()


def document_of(support: Support, trees: Sequence[Tree]) -> dict[str, Any]:
    """The support as a document of the supports core: its rows, and what was said of its build."""
    plants = Counter((tree.species, tree.form) for tree in trees)
    document: dict[str, Any] = {
        "name": support.name,
        "kind": support.kind,
        "run": support.length_mm,
        "height": support.height_mm,
        "faces": support.faces_deg,
        "plants": [
            {"species": species, "form": form, "count": count} for (species, form), count in sorted(plants.items())
        ],
    }
    if support.kind != Support.Kind.POST_AND_WIRE:
        document["gap"] = support.gap_mm
    if support.wire_heights_mm:
        document["wire_heights"] = list(support.wire_heights_mm)
    diameter = next((wire.diameter_mm for wire in support.wires.all() if wire.diameter_mm), None)
    if diameter:
        document["wire"] = {"size": f"{diameter.normalize():f} mm"}
    if support.post_spacing_mm:
        document["hold_gap"] = support.post_spacing_mm
    for key in BUILD_KEYS:
        if key in support.build:
            given = support.build[key]
            document[key] = {**document.get(key, {}), **given} if isinstance(given, dict) else given
    return document


def core_support(support: Support, trees: Sequence[Tree]) -> CoreSupport:
    """The support as the core reads it.

    Raises:
        BadInput: with every fault of its build.
    """
    return read_support(document_of(support, trees), where=support.name)


def planted_core(support: Support, planting: Planting) -> CoreSupport:
    """The support with a planting that is only designed yet; without wires of its own it gets those of the form.

    Raises:
        BadInput: with every fault of its build.
    """
    document = document_of(support, ())
    document["plants"] = [{"species": planting.species, "form": planting.form, "count": planting.trees}]
    if planting.wires_mm:
        document["wire_heights"] = list(planting.wires_mm)
    return read_support(document, where=support.name)


def weak_parts(support: Support, trees: Sequence[Tree]) -> list[str]:
    """Parts that are not enough as the support is described.

    Raises:
        BadInput: with every fault of its build.
    """
    report = check_support(core_support(support, trees), with_cures=False)
    return list(dict.fromkeys(check.part for check in report.checks if check.verdict == "not_enough"))


def bill_of(support: Support, trees: Sequence[Tree]) -> Bill:
    """What would have to be bought, were the support put up today.

    Raises:
        BadInput: with every fault of its build.
    """
    return bill_of_materials(core_support(support, trees))


def planted_bill(support: Support, planting: Planting, *, builds: bool) -> Bill:
    """What a designed planting takes beside its trees; without ``builds`` the support stands, and canes and ties are all.

    Raises:
        BadInput: with every fault of its build.
    """
    bill = bill_of_materials(planted_core(support, planting))
    if builds:
        return bill
    goods = materials().goods
    return Bill(lines=tuple(line for line in bill.lines if goods[line.good].kind in PLANT_GOODS), labour=())


@dataclass(frozen=True, kw_only=True)
class SupportPage:
    """Everything the page of a support shows. ``faults`` stand instead of the check where its build cannot be read."""

    drawing: SafeString
    report: SupportReport | None
    bill: Bill | None
    care: Sequence[CareDue]
    state: SupportState | None
    faults: Sequence[str]
    core: CoreSupport | None = None
    notes: Sequence[str] = ()

    @property
    def troubles(self) -> list[PartCheck]:
        """Parts that are not fine, the worst first."""
        order = list(VERDICT_WORDS)
        found = [check for check in self.report.checks if check.verdict != "fine"] if self.report else []
        return sorted(found, key=lambda check: (-order.index(check.verdict), -check.ratio))

    @property
    def care_together(self) -> list[CareDue]:
        """Care that is alike but for its part stands as one: "Tighten wires 1, 2 and 3 to 200 N."."""
        found: dict[tuple[object, ...], list[CareDue]] = {}
        for care in self.care:
            text = care.instruction.replace(care.part.replace(":", " "), "{part}")
            found.setdefault((care.kind, text, care.why, care.opens, care.closes), []).append(care)
        return [together(group) for group in found.values()]

    @property
    def sound(self) -> list[PartCheck]:
        return [check for check in self.report.checks if check.verdict == "fine"] if self.report else []


def support_page(support: Support, trees: Sequence[Tree], on: date, units: Units = "metric") -> SupportPage:
    """The support drawn with its dimensions, checked, its goods counted, and the care it is due."""
    practice = our_practice()
    rows = [
        TreeInRow(state=tree_state(tree, on, practice), x_mm=tree.position_mm, label=tree.label.partition(",")[0])
        for tree in trees
    ]
    options = Options(width_px=1080, max_height_mm=100, id_prefix=f"layout{support.pk}", units=units)
    try:
        core = core_support(support, trees)
        report, bill = check_support(core, units=units), bill_of_materials(core)
        layout = layout_of(core)
        drawing = draw_layout(layout, rows, options, sheet_of(support))
    except BadInput as error:
        faults = [str(fault) for fault in error.faults]
        plain = mark_safe(draw_support(support_picture(support), rows, options))  # noqa: S308 - our own core
        return SupportPage(drawing=plain, report=None, bill=None, care=(), state=None, faults=faults)
    state = state_of(support, core, on)
    return SupportPage(
        drawing=mark_safe(drawing),  # noqa: S308 - our own core, which escapes every text
        report=report,
        bill=bill,
        care=care_due(state),
        state=state,
        faults=(),
        core=core,
        # Trees that stand have places of their own: what the layout says of its even ones is not about them.
        notes=() if trees else layout.notes,
    )


def together(group: Sequence[CareDue]) -> CareDue:
    """Several cares of one kind in one sentence."""
    first = group[0]
    name, _, _ = first.part.partition(":")
    if len(group) == 1 or name == "whole":
        return first
    numbers = [care.part.partition(":")[2] for care in group]
    parts = f"{name}s {', '.join(numbers[:-1])} and {numbers[-1]}"
    text = first.instruction.replace(first.part.replace(":", " "), parts)
    return replace(first, instruction=text, minutes=sum(care.minutes for care in group))


def sheet_of(support: Support) -> LayoutSheet:
    """The words around the drawing of a support."""
    return LayoutSheet(label=support.name, aspect=f"faces {compass(support.faces_deg)}")


def state_of(support: Support, core: CoreSupport, on: date) -> SupportState:
    """The support as its records leave it. Without a building day it counts from its oldest record or tree."""
    records = support_records(support)
    planted = support.trees.order_by("planted_on").values_list("planted_on", flat=True).first()
    known = [day for day in (support.built_on, planted, *(record.on for record in records)) if day]
    return fold_support(core, records, built_on=min(known, default=on), on=on)


def support_records(support: Support) -> list[SupportRecord]:
    """The standing records of a support as the core reads them."""
    rows = Record.objects.filter(support=support, is_withdrawn=False, corrected_by=None).order_by("on", "pk")
    return [
        SupportRecord(
            on=row.on,
            kind=row.kind,  # type: ignore[arg-type] # one of three by constraint
            what=row.what,
            part=row.limb,
            value=row.value,
            load_n_m=float(row.details.get("load_n_m", 0)),
            span_mm=row.details.get("span_mm"),
            key=f"{row.pk:012}",
        )
        for row in rows
    ]


def care_of(support: Support, trees: Sequence[Tree], on: date) -> tuple[CareDue, ...]:
    """The care a support is due; none where its build cannot be read (its page says why)."""
    try:
        core = core_support(support, trees)
    except BadInput:
        return ()
    return care_due(state_of(support, core, on))


@dataclass(frozen=True, kw_only=True)
class Said:
    """A record of a support as its page lists it."""

    record: Record
    words: str
    part: str


ACT_WORDS = {
    "sag": "sag {value:g} mm",
    "pull": "pull {value:g} N on the gauge board",
    "lean": "lean {value:g}°",
    "gale": "a gale",
    "broken_wire": "broken wire",
    "loose_fixing": "loose fixing",
    "rotten_post": "rotten post",
    "lost_tensioner": "lost tensioner",
    "inspect": "looked over",
    "tighten_wires": "tightened",
    "straighten_posts": "set straight",
    "erect_support": "renewed or put up",
}


def history_of(support: Support, *, most: int = 12) -> list[Said]:
    """What was measured, seen and done on a support, the newest first."""
    rows = Record.objects.filter(support=support, is_withdrawn=False, corrected_by=None).select_related("made_by")
    return [_said(row) for row in rows.order_by("-on", "-pk")[:most]]


def _said(row: Record) -> Said:
    words = ACT_WORDS.get(row.what, row.what.replace("_", " ")).format(value=row.value or 0)
    if span := row.details.get("span_mm"):
        words += f" over {span / 1000:g} m"
    if load := row.details.get("load_n_m"):
        words += f", {load / G:.3g} kg hanging on each metre"
    return Said(record=row, words=words, part="" if row.limb == "whole" else row.limb.replace(":", " "))


def parts_of(support: Support, core: CoreSupport | None) -> list[tuple[str, str]]:
    """The parts a record may be about, with their words: the whole, each wire, each post."""
    wires = [(f"wire:{number}", f"wire {number}") for number in range(1, len(support.wire_heights_mm) + 1)]
    posts = core.spans + 1 if core is not None and core.is_row else 0
    return [
        ("whole", "the whole support"),
        *wires,
        *((f"post:{number}", f"post {number}, from the left") for number in range(1, posts + 1)),
    ]


def slack_of(support: Support, trees: Sequence[Tree], reading: SagReading) -> Slack:
    """A sag measured at mid-span becomes a tension and a verdict.

    Raises:
        BadInput: the build of the support, or the reading, is wrong.
    """
    core = core_support(support, trees)
    return judge_slack(core.wire, reading, wanted_n=core.tension_n, on_wall=core.kind == "wall")


def reading_of(support: Support, trees: Sequence[Tree], fact: SupportFact) -> Slack:
    """What a sag that was written down says of its wire.

    Raises:
        BadInput: the build of the support cannot be read.
    """
    span = fact.span_mm or core_support(support, trees).span_mm
    reading = SagReading(sag_mm=fact.value or 0.0, span_mm=span, load_n_m=fact.load_n_m)
    return slack_of(support, trees, reading)


@transaction.atomic
def save_build(
    *, support: Support, build: Mapping[str, Any], trees: Sequence[Tree], built_on: date | None = None
) -> Support:
    """Keep what was said of a support's build, if the core can read it.

    Raises:
        BadInput: with every fault; nothing was changed.
    """
    before = {"build": support.build, "built_on": support.built_on}
    support.build = {key: value for key, value in build.items() if key in BUILD_KEYS}
    core_support(support, trees)
    support.built_on = built_on
    support.full_clean(validate_constraints=False)
    support.save(update_fields=["build", "built_on"])
    note("build changed", f"support:{support.pk}", before=before, after={"build": support.build, "built_on": built_on})
    return support


def needs_of_support(support: Support, trees: Sequence[Tree], on: date) -> list[Need]:
    """The care of a support in the shape of needs, so that visits take it along."""
    return [
        Need(
            kind=care.kind,
            limb=care.part,
            instruction=care.instruction,
            window=_window(care, on),
            minutes=care.minutes,
            why=care.why if care.closes >= on else f"{care.why}; overdue since {care.closes:%-d %B %Y}",
            source=care.source,
            rule="supports.care",
            materials=care.materials,
            is_optional=not care.is_urgent,
        )
        for care in care_of(support, trees, on)
    ]


def _window(care: CareDue, on: date) -> Window:
    """The days of a care; one that nobody did in time is due now, since wires do not tighten themselves."""
    if care.closes < on:
        return Window(
            opens=on,
            best_from=on,
            best_until=on + timedelta(days=OVERDUE_BEST_DAYS),
            closes=on + timedelta(days=OVERDUE_DAYS),
            basis="normals",
        )
    return Window(
        opens=care.opens,
        best_from=care.best_from,
        best_until=care.best_until,
        closes=care.closes,
        basis="normals",
    )
