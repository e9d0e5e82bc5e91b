"""The check of a support for people and programs: one dict for JSON, one text to read."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict
from itertools import groupby
from math import isfinite
from textwrap import fill
from typing import Any

from gardens.supports.bill import Bill
from gardens.supports.cases import CASE_WORDS, LoadedWire
from gardens.supports.check import SupportReport
from gardens.supports.laid import SupportLayout
from gardens.supports.loads import wind_pressure_pa
from gardens.supports.rows import RowsWish, row_spacing
from gardens.supports.values import VERDICT_WORDS, PartCheck
from gardens.units import Units, show_length

WIDTH = 100


def report_as_dict(report: SupportReport, bill: Bill, layout: SupportLayout) -> dict[str, Any]:
    """Everything the check found. Lengths in mm, forces in N, masses in kg, times in minutes."""
    support = report.support
    highest = max((case for wire in report.wires for case in wire.cases), key=lambda case: case.tension_n)
    lowest = max((case for wire in report.wires for case in wire.cases), key=lambda case: case.sag_mm)
    return {
        "name": support.name,
        "kind": support.kind,
        "run_mm": support.run_mm,
        "span_mm": _round(support.span_mm),
        "verdict": report.verdict,
        "words": VERDICT_WORDS[report.verdict],
        "wire": {
            "name": support.wire.name,
            "diameter_mm": _round(support.wire.diameter_mm, 3),
            "grade": support.wire.grade,
            "coating": support.wire.coating,
            "area_mm2": _round(support.wire.area_mm2, 3),
            "mass_kg_m": _round(support.wire.mass_kg_m, 5),
            "breaking_n": _round(support.wire.breaking_n),
            "thermal_n_per_c": _round(support.wire.thermal_n_per_c, 2),
        },
        "tension": {
            "strung_n": support.tension_n,
            "highest_n": _round(highest.tension_n),
            "highest_case": highest.case,
        },
        "sag": {"most_mm": _round(lowest.sag_mm), "most_case": lowest.case},
        "loads": {
            "wind_pressure_pa": _round(wind_pressure_pa(support.surroundings.gust_m_s)),
            "plants": [
                {
                    "species": load.plant.species,
                    "form": load.plant.form,
                    "count": load.plant.count,
                    "crop_kg": _round(load.crop_kg),
                    "green_kg": _round(load.green_kg),
                    "share_on_wires": load.share,
                    "why": load.why,
                    "source": load.source,
                    "crop_source": load.crop_source,
                }
                for load in report.plants
            ],
        },
        "wires": [_wire(wire) for wire in report.wires],
        "parts": [_part(check) for check in report.checks],
        "assumed": list(report.assumed),
        "ask_a_qualified_person": list(report.ask),
        "cautions": list(report.cautions),
        "bill": bill_as_dict(bill),
        "layout": layout_as_dict(layout),
        "rows": rows_as_dict(support.rows) if support.rows else None,
    }


def rows_as_dict(wish: RowsWish) -> dict[str, Any]:
    """How far apart several rows stand, and the sun that decides it. Lengths in mm, angles in °."""
    found = row_spacing(wish.rows, sun_hours=wish.sun_hours)
    ray = found.ray
    return {
        "count": wish.count,
        "spacing_mm": found.spacing_mm,
        "depth_mm": found.spacing_mm * (wish.count - 1),
        "by_sun_mm": found.by_sun_mm,
        "by_height_mm": found.by_height_mm,
        "runs_deg": wish.rows.runs_deg,
        "rises_percent": wish.rows.rises_percent,
        "sun_h": _round(found.sun_h),
        "open_h": _round(found.open_h),
        "ray": {
            "altitude_deg": _round(ray.sun.altitude_deg),
            "bearing_deg": _round(ray.sun.bearing_deg),
            "hours_from_noon": _round(ray.hours_from_noon, 2),
            "profile_deg": _round(ray.profile_deg),
        }
        if ray
        else None,
        "why": found.why,
        "source": found.source,
    }


def bill_as_dict(bill: Bill) -> dict[str, Any]:
    """What to buy and the work it makes."""
    return {
        "lines": [
            {
                **asdict(line),
                "quantity": _round(line.quantity, 2),
                "needed": _round(line.needed, 3),
                "mass_kg": _round(line.mass_kg, 2),
            }
            for line in bill.lines
        ],
        "labour": [{**asdict(line), "minutes": _round(line.minutes)} for line in bill.labour],
        "minutes": _round(bill.minutes),
        "mass_kg": _round(bill.mass_kg),
    }


def layout_as_dict(layout: SupportLayout) -> dict[str, Any]:
    """The layout in its own plane: x right, y up, whole mm."""
    return asdict(layout)


def report_as_text(report: SupportReport, bill: Bill, *, units: Units = "metric") -> str:
    """The check as a person reads it: verdict first, parts from worst to best, what to buy, cautions in full."""
    return "\n".join(_lines(report, bill, units))


def _lines(report: SupportReport, bill: Bill, units: Units) -> Iterator[str]:
    support = report.support
    title = support.name or support.kind.replace("_", " ")
    yield f"{title}: {VERDICT_WORDS[report.verdict].upper()}"
    yield (
        f"Run {show_length(support.run_mm, units)}, {len(support.wire_heights_mm)} wires of {support.wire.name}, "
        f"holds {show_length(support.span_mm, units)} apart, strung to {support.tension_n:.0f} N"
    )
    yield ""
    yield "LOADS"
    for load in report.plants:
        plant = load.plant
        yield _wrapped(
            f"{plant.count} × {plant.species.replace('_', ' ')} as {plant.form.replace('_', ' ')}: crop "
            f"{load.crop_kg:.0f} kg, wet leaf {load.green_kg:.0f} kg; {load.why}."
        )
    yield ""
    yield from _wire_lines(report.wires, units)
    yield ""
    yield "PARTS, worst first"
    order = list(VERDICT_WORDS)
    for check in sorted(report.checks, key=lambda check: (-order.index(check.verdict), -check.ratio)):
        yield from _part_lines(check)
    yield ""
    yield from _bill_lines(bill)
    if support.rows:
        yield from _row_lines(support.rows, units)
    if report.assumed:
        yield from ("", "ASSUMED, not measured here")
        yield from (_wrapped(f"- {what}") for what in report.assumed)
    if report.ask:
        yield from ("", "ASK A QUALIFIED PERSON, because")
        yield from (_wrapped(f"- {why}") for why in report.ask)
    yield from ("", "CAUTIONS")
    yield from (_wrapped(f"- {caution}") for caution in report.cautions)


def _row_lines(wish: RowsWish, units: Units) -> Iterator[str]:
    found, rows = row_spacing(wish.rows, sun_hours=wish.sun_hours), wish.rows
    yield from ("", f"ROWS, {wish.count} one behind the other, running {rows.runs_deg:.0f}°")
    deep = show_length(found.spacing_mm * (wish.count - 1), units)
    yield f"  {show_length(found.spacing_mm, units)} apart, {deep} from the first to the last"
    yield _wrapped(found.why)
    if found.ray:
        sun = found.ray.sun
        yield f"  The sun that decides: {sun.altitude_deg:.0f}° high in {sun.bearing_deg:.0f}°"
    yield _wrapped(f"[{found.source}]")


def _wire_lines(wires: Sequence[LoadedWire], units: Units) -> Iterator[str]:
    """Wires that carry the same share one block."""
    yield "WIRES        even load   in the middle   tension        sag"
    for _, alike in groupby(wires, key=lambda wire: [(case.case, case.load_n_m, case.point_n) for case in wire.cases]):
        block = list(alike)
        heights = ", ".join(show_length(wire.height_mm, units) for wire in block)
        yield f"  wire {', '.join(str(wire.number) for wire in block)} at {heights}"
        for case in block[0].cases:
            yield (
                f"    {case.load_n_m:12.2f} N/m  {case.point_n:9.0f} N  {case.tension_n:8.0f} N  {case.sag_mm:7.1f} mm"
                f"  {CASE_WORDS[case.case]}{' (would stretch)' if case.stretches else ''}"
            )


def _part_lines(check: PartCheck) -> Iterator[str]:
    sign = "at least" if check.is_floor else "at most"
    unit = f" {check.unit}" if check.unit else ""
    yield f"  {VERDICT_WORDS[check.verdict]:<14} {check.part}"
    yield _wrapped(f"{check.question} {_number(check.demand)}{unit}, {sign} {_number(check.limit)}{unit}.", indent=17)
    if check.verdict != "fine":
        for note in check.notes:
            yield _wrapped(note, indent=17)
        if check.cure:
            yield _wrapped(f"Cure: {check.cure}", indent=17)
        yield _wrapped(f"{check.formula} [{check.source}]", indent=17)


def _bill_lines(bill: Bill) -> Iterator[str]:
    yield "TO BUY"
    for line in bill.lines:
        packs = f" ({line.packs})" if line.packs else ""
        yield f"  {line.quantity:8g} {line.unit:<6} {line.text}{packs}, {line.mass_kg:.2f} kg"
    yield f"  {bill.mass_kg:8.1f} kg     in all"
    yield "WORK of one trained person"
    for labour in bill.labour:
        yield f"  {labour.minutes:8.0f} min    {labour.text} ({labour.units:g} × {labour.unit})"
    yield f"  {bill.minutes:8.0f} min    in all"


def _wire(wire: LoadedWire) -> dict[str, Any]:
    load = wire.load
    return {
        "number": wire.number,
        "height_mm": wire.height_mm,
        "own_n_m": _round(load.own_n_m, 3),
        "crop_n_m": _round(load.crop_n_m, 2),
        "green_n_m": _round(load.green_n_m, 2),
        "wind_n_m": _round(load.wind_n_m, 2),
        "ice_n_m": _round(load.ice_n_m, 2),
        "cases": [
            {
                "case": case.case,
                "words": CASE_WORDS[case.case],
                "load_n_m": _round(case.load_n_m, 2),
                "point_n": _round(case.point_n),
                "warmer_c": case.warmer_c,
                "tension_n": _round(case.tension_n),
                "sag_mm": _round(case.sag_mm),
                "elastic_n": _round(case.elastic_n),
                "would_stretch": case.stretches,
            }
            for case in wire.cases
        ],
    }


def _part(check: PartCheck) -> dict[str, Any]:
    return {
        "rule": check.rule,
        "part": check.part,
        "question": check.question,
        "demand": _round(check.demand, 3),
        "limit": _round(check.limit, 3),
        "unit": check.unit,
        "limit_is": "at least" if check.is_floor else "at most",
        "share_used": _round(check.ratio, 3),
        "verdict": check.verdict,
        "words": VERDICT_WORDS[check.verdict],
        "formula": check.formula,
        "source": check.source,
        "cure": check.cure,
        "notes": list(check.notes),
        "assumed": list(check.assumed),
    }


def _wrapped(text: str, indent: int = 2) -> str:
    return fill(text, width=WIDTH, initial_indent=" " * indent, subsequent_indent=" " * (indent + 2))


def _number(value: float) -> str:
    return f"{value:.0f}" if abs(value) >= 100 else f"{value:.3g}"


def _round(value: float, digits: int = 1) -> float | None:
    """Rounded for JSON, which knows no infinity."""
    return round(value, digits) if isfinite(value) else None
