"""The parts of a support document: wire, fixings, posts, ends, the place."""

from __future__ import annotations

from dataclasses import replace
from typing import cast

from business.errors import BadInput
from gardens.supports.sheet import Sheet
from gardens.supports.values import END_KINDS, Anchor, End, EndKind, Fixing, Post, Surroundings
from gardens.supports.wires import THICKEST_MM, THINNEST_MM, Wire, read_wire_size, wire

METALS = ("hot_dip", "electroplated", "stainless", "aluminium")
USUAL_WALL_WIRE_MM, USUAL_ROW_WIRE_MM = 2.0, 2.5


def read_wire(sheet: Sheet | None, outer: Sheet, *, is_row: bool) -> Wire | None:
    """The wire; without one the usual one of its kind of support, noted as assumed."""
    usual = USUAL_ROW_WIRE_MM if is_row else USUAL_WALL_WIRE_MM
    usual_grade = "high_tensile" if is_row else "soft_galvanised"
    if sheet is None:
        outer.assume(f"wire: {usual:g} mm {outer.book.grades[usual_grade].name}")
        return wire(usual, grade=usual_grade, book=outer.book)
    size, label = _wire_size(sheet, usual)
    grade = sheet.choice("grade", sheet.book.grades, usual_grade)
    is_stainless = bool(grade and grade.startswith("stainless"))
    coating = sheet.choice("coating", sheet.book.coatings, "stainless" if is_stainless else "class_a")
    strength = sheet.number("strength_mpa", 200, 2500)
    if size is None or grade is None or coating is None:
        return None
    strung = wire(size, grade=grade, coating=coating, strength_mpa=strength, book=sheet.book)
    return replace(strung, label=label)


def _wire_size(sheet: Sheet, usual: float) -> tuple[float | None, str]:
    """Diameter and label from "size": "14 SWG", "2.5 mm" or a number of millimetres."""
    for key in ("diameter", "size"):
        if sheet.has(key):
            size = sheet.size(key, usual)
            if size is not None and not THINNEST_MM <= size <= THICKEST_MM:
                sheet.fault(key, f"{size:g} mm is no straining wire", f"give {THINNEST_MM:g} to {THICKEST_MM:g} mm")
                size = None
            label = sheet.values.get(key)
            return size, _label(label) if size is not None and isinstance(label, str) else ""
    sheet.assume(f"wire: {usual:g} mm")
    return usual, ""


def _label(text: str) -> str:
    try:
        return read_wire_size(text)[1]
    except BadInput:
        return ""


def read_fixing(sheet: Sheet | None, outer: Sheet, usual: Fixing, what: str) -> Fixing:
    """A fixing; without one the usual one, noted as assumed."""
    if sheet is None:
        outer.assume(f"{what}: {outer.book.fixings[usual.kind].name}, {usual.diameter_mm:g} mm")
        return usual
    anchors = {**sheet.book.wall_anchors, "wood": None}
    kind = sheet.choice("kind", sheet.book.fixings, usual.kind) or usual.kind
    bolt_gap = sheet.length("bolt_gap", 20, 1000, 100 if kind == "bracket" else 0)
    return Fixing(
        kind=kind,
        diameter_mm=_between(sheet, "diameter", usual.diameter_mm, 3, 30),
        bolt_gap_mm=bolt_gap or 0,
        anchor=sheet.choice("anchor", anchors, usual.anchor) or usual.anchor,
        thread_mm=sheet.length("thread", 10, 200, 0 if usual.anchor != "wood" else usual.thread_mm) or 0,
        timber=sheet.choice("timber", sheet.book.timbers, usual.timber) or usual.timber,
        tested_n=sheet.number("tested_n", 10, 50_000),
        metal=sheet.choice("metal", METALS, usual.metal) or usual.metal,
    )


def read_post(sheet: Sheet | None, outer: Sheet, usual: Post, what: str) -> Post:
    """A post; without one the usual one, noted as assumed. Depth and length must leave it standing."""
    if sheet is None:
        outer.assume(
            f"{what}: {outer.book.posts[usual.kind].name}, {usual.size_mm} mm, {usual.depth_mm / 10:g} cm in the ground"
        )
        return usual
    kind = sheet.choice("kind", sheet.book.posts, usual.kind) or usual.kind
    length = sheet.length("length", 500, 6000, usual.length_mm)
    depth = sheet.length("depth", 100, 3000, min(usual.depth_mm, (length or usual.length_mm) // 3))
    if length and depth and depth >= length:
        sheet.fault("depth", f"{depth} mm of a post of {length} mm", f"give less than {length} mm, about a third of it")
    setting = sheet.choice("setting", sheet.book.settings, usual.setting) or usual.setting
    size = sheet.length("size", 15, 400, usual.size_mm) or usual.size_mm
    wall = sheet.size("wall_thickness", 0)
    if wall and wall >= size / 2:
        sheet.fault("wall_thickness", f"{wall:g} mm of a tube of {size} mm", f"give less than {size / 2:g} mm")
    section = sheet.number("section_mm3", 100, 1e7)
    collar = sheet.length("collar", 100, 1500, 0)
    if sheet.faults or length is None or depth is None:
        return usual
    return Post(
        kind=kind,
        size_mm=size,
        length_mm=length,
        depth_mm=depth,
        setting=setting,
        wall_mm=wall or 0,
        section_mm3=section,
        collar_mm=collar or 0,
    )


def read_end(sheet: Sheet | None, outer: Sheet, usual: End) -> End:
    """The ends of a row; without them the usual ones, noted as assumed."""
    if sheet is None:
        outer.assume(f"ends: {usual.kind.replace('_', ' ')} at {usual.height_mm / 10:g} cm, {usual.angle_deg:g}°")
        return usual
    kind = sheet.choice("kind", END_KINDS, usual.kind) or usual.kind
    height = sheet.length("height", 200, 4000, usual.height_mm) or usual.height_mm
    reach = {"h_brace": 2 * height, "strut": height}.get(kind, usual.reach_mm)
    return End(
        kind=cast(EndKind, kind),
        post=read_post(sheet.part("post"), sheet, usual.post, "end posts"),
        height_mm=height,
        angle_deg=sheet.number("angle_deg", 20, 80, usual.angle_deg) or usual.angle_deg,
        reach_mm=sheet.length("reach", 300, 8000, reach) or reach,
        anchor=_anchor(sheet.part("anchor"), sheet, kind),
        stay_mm=_between(sheet, "stay", usual.stay_mm, 1, 12),
        stay_strands=round(sheet.number("strands", 1, 6, usual.stay_strands) or usual.stay_strands),
        rail_mm=sheet.length("rail", 30, 200, usual.rail_mm) or usual.rail_mm,
    )


def _anchor(sheet: Sheet | None, outer: Sheet, end_kind: str) -> Anchor:
    usual = Anchor(kind="screw_plate" if end_kind == "tie_back" else "driven_post")
    if sheet is None:
        if end_kind != "bare":
            outer.assume(f"ends are held by: {outer.book.pull_outs[usual.kind].name}")
        return usual
    return Anchor(
        kind=sheet.choice("kind", sheet.book.pull_outs, usual.kind) or usual.kind,
        plate_mm=sheet.length("plate", 50, 500, usual.plate_mm) or usual.plate_mm,
        depth_mm=sheet.length("depth", 200, 3000, usual.depth_mm) or usual.depth_mm,
        is_waterlogged=sheet.flag("is_waterlogged", False),
        tested_n=sheet.number("tested_n", 10, 100_000),
    )


def read_place(sheet: Sheet | None, outer: Sheet, *, is_row: bool) -> Surroundings | None:
    """Weather, ground and air of the place; each that is not given is noted as assumed."""
    usual = Surroundings()
    if sheet is None:
        sheet = Sheet({}, where=f"{outer.where}, place", book=outer.book, notes=outer.notes)
    gust = _gust(sheet)
    coldest = _told(sheet, "coldest_c", (-60, 20), usual.coldest_c)
    warmest = _told(sheet, "warmest_c", (0, 60), usual.warmest_c)
    strung_at = sheet.number("strung_at_c", -20, 45, usual.strung_at_c)
    if None not in (coldest, warmest, strung_at) and not coldest <= strung_at <= warmest:  # type: ignore[operator]
        sheet.fault(
            "strung_at_c",
            f"{strung_at:g} °C does not lie between {coldest:g} and {warmest:g} °C",
            "coldest_c ≤ strung_at_c ≤ warmest_c",
        )
    for key, what in (("exposure", "air"), ("soil", "ground")):
        if sheet.values.get(key) is None and (key != "soil" or is_row):
            sheet.assume(f"{what}: {getattr(usual, key)}")
    exposure = sheet.choice("exposure", sheet.book.exposures, usual.exposure)
    soil = sheet.choice("soil", sheet.book.soils, usual.soil)
    cover = sheet.choice("cover", sheet.book.covers, usual.cover)
    ice = sheet.number("ice_mm", 0, 50, 0)
    people = sheet.flag("people_pass", False)
    if sheet.faults or None in (gust, coldest, warmest, strung_at, ice) or not (exposure and soil and cover):
        return None
    return Surroundings(
        coldest_c=cast(float, coldest),
        warmest_c=cast(float, warmest),
        strung_at_c=cast(float, strung_at),
        gust_m_s=cast(float, gust),
        ice_mm=cast(float, ice),
        exposure=exposure,
        soil=soil,
        cover=cover,
        people_pass=people,
    )


def _gust(sheet: Sheet) -> float | None:
    """A gust in m/s, or by kind of place: "sheltered", "open", "coast_or_hill"."""
    kind = sheet.choice("gust", sheet.book.gusts, "open")
    if sheet.values.get("gust") is None and sheet.values.get("gust_m_s") is None:
        sheet.assume(f"gust: {sheet.book.gusts['open'].speed_m_s:g} m/s")
    return sheet.number("gust_m_s", 5, 80, sheet.book.gusts[kind].speed_m_s if kind else 28)


def _told(sheet: Sheet, key: str, span: tuple[float, float], usual: float) -> float | None:
    if sheet.values.get(key) is None:
        sheet.assume(f"{key.removesuffix('_c')} temperature: {usual:g} °C")
    return sheet.number(key, *span, usual)


def _between(sheet: Sheet, key: str, usual: float, least: float, most: float) -> float:
    size = sheet.size(key, usual)
    if size is None:
        return usual
    if not least <= size <= most:
        sheet.fault(key, f"{size:g} mm is out of range", f"give {least:g} to {most:g} mm")
        return usual
    return size
