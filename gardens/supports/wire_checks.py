"""The wires: do they hold cold, crop, gale, ice and a hand; do they hang straight; does their coat last?"""

from __future__ import annotations

from collections.abc import Sequence

from gardens.knowledge.material_book import Materials
from gardens.supports.cases import CASE_WORDS, CaseName, LoadedWire, WireCase
from gardens.supports.corrosion import coat_middle_years, coat_years
from gardens.supports.judging import Asked, hardest, judge
from gardens.supports.values import PartCheck, Support
from gardens.units import Units, show_length

STATE = "H = H₀ − EAα·Δθ + EA·[(w²L²/24 + wPL/8 + P²/8)/(N·H²) − w₀²L²/(24·H₀²)]"
LASTING: tuple[CaseName, ...] = ("strung", "cold", "crop", "gale", "ice")
"""Loads that come every year; an accident is looked at on its own."""


def check_wires(support: Support, wires: Sequence[LoadedWire], book: Materials, units: Units) -> list[PartCheck]:
    """All checks of the wires, the worst wire for each."""
    every = [check for wire in wires for check in _one_wire(support, wire, book, units)]
    return [*_strung(support, book, units), *hardest(every), *_coat(support, book)]


def _one_wire(support: Support, wire: LoadedWire, book: Materials, units: Units) -> list[PartCheck]:
    part = f"wire {wire.number} at {show_length(wire.height_mm, units)}"
    checks = [_cold(support, wire, book, part), _warm(support, wire, book, part)]
    if loaded := [case for case in wire.cases if case.case in ("crop", "gale", "ice")]:
        checks += [_loaded(support, loaded, book, part), _sag(support, loaded, book, part)]
    if accident := wire.case("accident"):
        checks.append(_accident(support, accident, book, part))
    return checks


def _cold(support: Support, wire: LoadedWire, book: Materials, part: str) -> PartCheck:
    limit = book.limits["tension_share_cold"]
    cold = wire.most_n("cold", "strung")
    return judge(
        Asked(
            rule="wire_cold",
            part=part,
            question=f"Does it bear the coldest night ({support.surroundings.coldest_c:g} °C)?",
            demand=cold,
            limit=limit.value * _at_joint_n(support, book),
            unit="N",
            formula=f"{STATE}; limit R·A·joint factor/3",
            source=limit.source,
        )
    )


def _loaded(support: Support, loaded: Sequence[WireCase], book: Materials, part: str) -> PartCheck:
    """Crop, gale and ice against half of the joint's strength; soft wire also against the start of stretching."""
    hardest_case = max(loaded, key=lambda case: case.elastic_n)
    limit = book.limits["tension_share_loaded"]
    allowed, formula = limit.value * _at_joint_n(support, book), f"{STATE}; limit R·A·joint factor/2"
    if support.wire.stretches:
        soft_n = book.limit("soft_share") * support.wire.breaking_n
        if soft_n < allowed:
            allowed, formula = soft_n, f"{STATE}; limit 0.6·R·A (soft wire)"
    return judge(
        Asked(
            rule="wire_loaded",
            part=part,
            question=f"Does it bear {CASE_WORDS[hardest_case.case]}?",
            demand=hardest_case.elastic_n,
            limit=allowed,
            unit="N",
            formula=formula,
            source=limit.source,
            notes=("would stretch and need tightening again",) if hardest_case.stretches else (),
        )
    )


def _accident(support: Support, accident: WireCase, book: Materials, part: str) -> PartCheck:
    """A hand on the wire. Hard wire: half of the joint's strength. Soft wire gives way before it breaks; then the
    joint must outlast it, and somebody must tighten it again."""
    joint_n = _at_joint_n(support, book)
    share = 1.0 if accident.stretches else book.limit("tension_share_loaded")
    notes: tuple[str, ...] = ()
    if accident.stretches:
        notes = (
            f"soft wire would stretch by {accident.drawn_out:.1%} and need tightening again; "
            f"were it elastic it would pull {accident.elastic_n:.0f} N",
        )
    return judge(
        Asked(
            rule="wire_accident",
            part=part,
            question=f"Does it bear {book.limit('accident_n'):.0f} N from somebody who leans on it?",
            demand=accident.tension_n,
            limit=share * joint_n,
            unit="N",
            formula=f"{STATE}; limit R·A·joint factor{'' if accident.stretches else '/2'}",
            source=book.limits["soft_cap_share" if accident.stretches else "accident_n"].source,
            at_best="near_its_limit" if accident.stretches else "fine",
            cure="Look at the wire after such a pull and tighten it again." if accident.stretches else "",
            notes=notes,
        )
    )


def _sag(support: Support, loaded: Sequence[WireCase], book: Materials, part: str) -> PartCheck:
    case = max((case for case in loaded if case.case != "gale"), key=lambda case: case.sag_mm)
    limit = book.limits["sag_crop_share"]
    allowed = limit.value * support.span_mm
    if support.kind == "wall":
        allowed = min(allowed, book.limit("sag_crop_wall_mm"))
    return judge(
        Asked(
            rule="wire_sag",
            part=part,
            question=f"Does it stay straight under {CASE_WORDS[case.case]}?",
            demand=case.sag_mm,
            limit=allowed,
            unit="mm",
            formula="d = w·L²/(8·H); limit L/50, on a wall 30 mm",
            source=limit.source,
        )
    )


def _warm(support: Support, wire: LoadedWire, book: Materials, part: str) -> PartCheck:
    limit = book.limits["warm_tension_n"]
    warm = wire.case("warm")
    return judge(
        Asked(
            rule="wire_warm",
            part=part,
            question=f"Is it still tight on the warmest day ({support.surroundings.warmest_c:g} °C)?",
            demand=warm.tension_n if warm else support.tension_n,
            limit=limit.value,
            unit="N",
            is_floor=True,
            is_advice=True,
            formula=STATE,
            source=limit.source,
            cure="Or let it hang in heat and look at it again in autumn.",
            notes=("hangs slack in heat, tight again when it cools",) if warm and warm.tension_n < limit.value else (),
        )
    )


def _strung(support: Support, book: Materials, units: Units) -> list[PartCheck]:
    """The tension it is given, against what the trade gives, and its sag under its own weight."""
    where = "row" if support.is_row else "wall"
    high, low = book.limits[f"{where}_tension_high_n"], book.limits[f"{where}_tension_low_n"]
    is_low = support.tension_n < low.value
    bound = low if is_low else high
    sag_mm = support.wire.weight_n_m * (support.span_mm / 1000) ** 2 / (8 * support.tension_n) * 1000
    own = book.limits["sag_own_share"]
    every = f"all wires, {support.wire.name}"
    return [
        judge(
            Asked(
                rule="wire_strung",
                part=every,
                question=f"Is it strung to a usual tension ({low.value:.0f} to {high.value:.0f} N)?",
                demand=support.tension_n,
                limit=bound.value,
                unit="N",
                is_floor=is_low,
                is_advice=True,
                formula="what it is given when strung",
                source=bound.source,
                cure=f"String it to between {low.value:.0f} and {high.value:.0f} N.",
            )
        ),
        judge(
            Asked(
                rule="wire_straight",
                part=every,
                question="Does it hang straight under its own weight?",
                demand=sag_mm,
                limit=own.value * support.span_mm,
                unit="mm",
                formula="d = w₀·L²/(8·H₀); limit L/200",
                source=own.source,
            )
        ),
    ]


def _coat(support: Support, book: Materials) -> list[PartCheck]:
    years = coat_years(support.wire.coating, support.wire.diameter_mm, support.surroundings.exposure, book=book)
    if years is None:
        return []
    limit, air = book.limits["coat_years"], book.exposures[support.surroundings.exposure]
    coat = book.coatings[support.wire.coating]
    notes = [f"{years[0]:.0f} to {years[1]:.0f} years by the loss of zinc in {air.name}"]
    if coat.published_years:
        notes.append(f"published: {coat.published_years[0]:.0f} to {coat.published_years[1]:.0f} years")
    return [
        judge(
            Asked(
                rule="wire_coat",
                part=f"all wires, {coat.name}",
                question=f"Does its coat last {limit.value:.0f} years in {air.name}?",
                demand=coat_middle_years(support.wire.coating, support.wire.diameter_mm, air.id, book=book) or 0.0,
                limit=limit.value,
                unit="years",
                is_floor=True,
                formula="mass/7.14 µm over the middle of the yearly loss",
                source=f"{air.source}; {coat.source}",
                notes=tuple(notes),
            )
        )
    ]


def _at_joint_n(support: Support, book: Materials) -> float:
    return support.wire.breaking_n * book.joints[support.joint].factor
