"""Fixings in walls and fences: do the shanks bend, do the anchors hold, do the metals go together?"""

from __future__ import annotations

from collections.abc import Sequence

from gardens.knowledge.material_book import Materials
from gardens.supports.cases import LoadedWire
from gardens.supports.corrosion import coat_g_m2
from gardens.supports.fixings import Grip, bracket_bolt_n, grip, shank_bending_mpa
from gardens.supports.judging import Asked, hardest, judge
from gardens.supports.values import Fixing, PartCheck, Support
from gardens.supports.wire_checks import LASTING
from gardens.units import Units, show_length

THIN_COAT_G_M2 = 150
"""A coat of zinc below this is a thin one: ASTM A641 class 1, EN 10244-2 class B."""


def check_fixings(support: Support, wires: Sequence[LoadedWire], book: Materials, units: Units) -> list[PartCheck]:
    """End fixings, those in between, and the metals; the worst wire for each."""
    checks: list[PartCheck] = []
    if support.end_fixing and not support.is_row:
        for wire in wires:
            part = f"end fixings of wire {wire.number} at {show_length(wire.height_mm, units)}"
            checks += _end(support, support.end_fixing, wire, book, part)
    if support.fixing and not support.is_row and support.spans > 1:
        for wire in wires:
            part = f"eyes along wire {wire.number} at {show_length(wire.height_mm, units)}"
            checks += _middle(support, support.fixing, wire, book, part)
    return [*hardest(checks), *_fence(support, wires, book), *check_metals(support, book)]


def _end(support: Support, fixing: Fixing, wire: LoadedWire, book: Materials, part: str) -> list[PartCheck]:
    """Every year's pull, and the pull of an accident, on the last fixing of a wire."""
    checks = []
    outward = max(0.0, wire.load.wind_n_m) * support.span_mm / 2000
    for rule, what, pull in (
        ("lasting", "the pull of every year", wire.most_n(*LASTING)),
        ("accident", "the pull when somebody leans on the wire", wire.most_n("accident")),
    ):
        if pull <= 0:
            continue
        if book.fixings[fixing.kind].holds == "cantilever":
            checks.append(_bending(f"end_shank_{rule}", part, what, (pull, support.gap_mm, fixing), book))
        blown = outward if rule == "lasting" else 0.0
        checks.append(
            _anchored(f"end_anchor_{rule}", part, what, _end_forces(support, fixing, (pull, blown), book), book)
        )
    return checks


def _end_forces(
    support: Support, fixing: Fixing, forces: tuple[float, float], book: Materials
) -> tuple[float, float, Grip]:
    """Pull and shear on one anchor of an end fixing, and what it may carry. [N]"""
    pull_n, outward_n = forces
    held = grip(fixing, wall=support.wall, book=book)
    if fixing.bolt_gap_mm:
        return (
            bracket_bolt_n(force_n=pull_n, gap_mm=support.gap_mm, bolt_gap_mm=fixing.bolt_gap_mm) + outward_n / 2,
            pull_n / 2,
            held,
        )
    return outward_n, pull_n, held


def _middle(support: Support, fixing: Fixing, wire: LoadedWire, book: Materials, part: str) -> list[PartCheck]:
    """Weight of a bay bends an eye down; wind on a bay pulls it out."""
    bay_m = support.span_mm / 1000
    load = wire.load
    full = (load.own_n_m + load.crop_n_m + load.green_n_m) * bay_m
    blown = (load.own_n_m + load.crop_n_m / 2 + load.green_n_m) * bay_m
    checks = []
    if book.fixings[fixing.kind].holds == "cantilever":
        checks.append(_bending("eye_shank", part, "the weight of a bay", (full, support.gap_mm, fixing), book))
    held = grip(fixing, wall=support.wall, book=book)
    for what, pulled, sheared in (
        ("full crop", 0.0, full),
        ("a gale with half the crop", load.wind_n_m * bay_m, blown),
    ):
        checks.append(_anchored("eye_anchor", part, what, (pulled, sheared, held), book))
    return checks


def _bending(rule: str, part: str, what: str, force: tuple[float, float, Fixing], book: Materials) -> PartCheck:
    pull, gap_mm, fixing = force
    limit = book.limits["shank_mpa"]
    return judge(
        Asked(
            rule=rule,
            part=part,
            question=f"Does the {fixing.diameter_mm:g} mm shank stay straight under {what} ({pull:.0f} N)?",
            demand=shank_bending_mpa(force_n=pull, gap_mm=gap_mm, shank_mm=fixing.diameter_mm),
            limit=limit.value,
            unit="MPa",
            formula="σ = 32·F·e/(π·d³)",
            source=limit.source,
            is_advice=rule.endswith("accident"),
            notes=("steel bends before it breaks: set it straight and tighten again",)
            if rule.endswith("accident")
            else (),
        )
    )


def _anchored(rule: str, part: str, what: str, force: tuple[float, float, Grip], book: Materials) -> PartCheck:
    pulled, sheared, held = force
    limit = book.limits["pull_and_shear"]
    working = max(pulled, sheared)
    assumed = (held.why,) if held.is_assumed else ()
    return judge(
        Asked(
            rule=rule,
            part=part,
            question=f"Does its anchor hold {what} ({pulled:.0f} N out, {sheared:.0f} N along)?",
            demand=(pulled + sheared) / held.allowed_n,
            limit=limit.value,
            unit="",
            formula=f"N/Nₐ + V/Vₐ with Nₐ = Vₐ = {held.allowed_n:.0f} N",
            source=held.source,
            assumed=assumed,
            cure=f"Pull-test one in ten at {1.5 * working:.0f} N for one minute and record the load."
            if assumed
            else "",
        )
    )


def _fence(support: Support, wires: Sequence[LoadedWire], book: Materials) -> list[PartCheck]:
    """A garden fence that was not built for it takes the pull of all wires on its end posts."""
    if support.kind != "fence" or support.is_row:
        return []
    limit = book.limits["fence_end_pull_n"]
    return [
        judge(
            Asked(
                rule="fence_ends",
                part="end posts of the fence",
                question="Do they bear the pull of all wires together?",
                demand=sum(wire.most_n(*LASTING) for wire in wires),
                limit=limit.value,
                unit="N",
                formula="ΣT of the wires",
                source=limit.source,
                assumed=("what the fence's own posts and rails bear",),
                cure="Brace the end posts, or set steel posts in front of the fence that do not touch it.",
            )
        )
    ]


def check_metals(support: Support, book: Materials) -> list[PartCheck]:
    """Metals and preserved timber that spoil each other."""
    timber = (support.post is not None and book.posts[support.post.kind].is_timber) or (
        support.kind == "fence" and support.fixing is not None and support.fixing.anchor == "wood"
    )
    fixings = [fixing for fixing in (support.fixing, support.end_fixing) if fixing is not None and not support.is_row]
    against = {"preserved_timber"} if timber else set()
    against |= {"stainless" for fixing in fixings if fixing.metal == "stainless"}
    metals = {fixing.metal for fixing in fixings}
    if coat := coat_g_m2(support.wire.coating, support.wire.diameter_mm, book=book):
        metals |= {"zinc_wire"} | ({"thin_zinc_wire"} if coat < THIN_COAT_G_M2 else set())
    return [
        judge(
            Asked(
                rule=f"metals_{clash.id}",
                part="metals that touch",
                question=clash.text,
                demand=1.0 if clash.verdict == "not_enough" else 0.0,
                limit=0.5,
                unit="",
                formula="pairs that do not go together",
                source=clash.source,
                at_best=clash.verdict,
                cure=clash.cure,
            )
        )
        for clash in book.clashes
        if clash.metal in metals and clash.against in against
    ]
