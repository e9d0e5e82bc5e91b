"""A support from a document (a JSON file, a form, rows turned into a dict): built whole, or refused with every fault.

The document of a wall::

    {"kind": "wall", "run": "3.6 m", "height": "2 m", "wire_heights": ["40 cm", "80 cm", "120 cm", "160 cm"],
     "wire": {"size": "2 mm", "grade": "soft_galvanised"}, "tension_n": 200, "hold_gap": "1.8 m",
     "wall": "sound_brick", "end_fixing": {"kind": "eye_bolt", "diameter": "10 mm", "anchor": "resin_stud"},
     "plants": [{"species": "apple_spur", "form": "horizontal_tiers"}], "place": {"gust_m_s": 22, "exposure": "town"}}

Lengths are written as people write them; a plain number is millimetres, or the unit stands in the key ("run_m": 3.6).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, cast

from business.errors import BadInput
from gardens.knowledge.load import resolve_species
from gardens.knowledge.material_book import Materials, materials
from gardens.knowledge.words import FORMS
from gardens.supports.laid import LayoutWish
from gardens.supports.layout import lay_out_support
from gardens.supports.measures import bearing_faults, wire_height_faults
from gardens.supports.read_parts import read_end, read_fixing, read_place, read_post, read_wire
from gardens.supports.read_rows import read_rows
from gardens.supports.sheet import Sheet
from gardens.supports.values import SUPPORT_KINDS, End, Fixing, Plant, Post, Support, SupportKind

FACE_BEYOND_MM = 200
"""Leaf reaches so far below the lowest and above the highest wire, unless the document says otherwise."""


def read_support(document: Mapping[str, Any], *, where: str = "support", book: Materials | None = None) -> Support:
    """The support that a document describes; what it leaves out is assumed and listed in ``surroundings.assumed``.

    Raises:
        BadInput: with every fault of the document, each with its place and what would be right.
    """
    sheet = Sheet(document, where=where, book=book or materials())
    support = _read(sheet)
    sheet.close()
    if sheet.faults or support is None:
        raise BadInput(dict.fromkeys(sheet.faults))
    return support


def _read(sheet: Sheet) -> Support | None:
    """Every key is read whether or not another was wrong."""
    kind = sheet.choice("kind", SUPPORT_KINDS, None)
    run, height = sheet.length("run", 300, 500_000), sheet.length("height", 300, 6000)
    is_row = kind == "post_and_wire" or (kind == "fence" and sheet.has("post"))
    plant_sheets = sheet.parts("plants")
    heights = _wire_heights(sheet, (kind, run, height), plant_sheets)
    wire = read_wire(sheet.part("wire"), sheet, is_row=is_row)
    tension = _tension(sheet, is_row=is_row)
    hold_gap = _hold_gap(sheet, run, is_row=is_row)
    gap = sheet.length("gap", 0, 500, 0 if is_row else round(sheet.book.limit("wall_gap_mm")))
    joint = sheet.choice("joint", sheet.book.joints, "hand_wrap" if wire is None or wire.stretches else "grip")
    slides, spring = sheet.flag("slides", is_row), sheet.number("spring_n_per_mm", 0.1, 1000)
    faces, slope = sheet.number("faces", -1e9, 1e9), sheet.number("slope_percent", -60, 60, 0)
    sheet.faults.extend(bearing_faults(faces, f"{sheet.where}, faces"))
    place = read_place(sheet.part("place"), sheet, is_row=is_row)
    wall, end_fixing, fixing = _face(sheet, kind, is_row=is_row)
    post, end = _row(sheet, heights, is_row=is_row)
    plants = _plants(plant_sheets, run, height, heights)
    rows = read_rows(
        sheet.part("rows"), height_mm=height, lowest_wire_mm=heights[0] if heights else None, faces_deg=faces
    )
    name = sheet.text("name")
    if sheet.faults or not (kind and run and height and heights and wire and tension and hold_gap and place):
        return None
    return Support(
        kind=cast(SupportKind, kind),
        run_mm=run,
        height_mm=height,
        wire_heights_mm=heights,
        wire=wire,
        tension_n=tension,
        hold_gap_mm=hold_gap,
        joint=joint or "hand_wrap",
        slides=slides,
        gap_mm=gap or 0,
        spring_n_per_mm=spring,
        wall=wall,
        end_fixing=end_fixing,
        fixing=fixing,
        post=post,
        end=end,
        plants=plants,
        surroundings=replace(place, assumed=tuple(dict.fromkeys(sheet.notes.assumed))),
        faces_deg=faces,
        slope_percent=slope or 0,
        rows=rows,
        name=name,
    )


def _wire_heights(
    sheet: Sheet, size: tuple[str | None, int | None, int | None], plants: Sequence[Sheet]
) -> tuple[int, ...] | None:
    """The heights given, else those of the first plant's form."""
    kind, run, height = size
    heights = sheet.lengths("wire_heights", 50, 6000)
    if heights is None:
        return None
    if heights:
        faults = wire_height_faults(heights, height, sheet.where)
        sheet.faults.extend(faults)
        return None if faults else heights
    form = plants[0].values.get("form") if plants else None
    if form is None:
        sheet.fault("wire_heights", "is missing", 'list them from the lowest up, as ["40 cm", "80 cm"], or give plants')
        return None
    if kind is None or run is None or height is None or form not in FORMS:
        return None
    try:
        wish = LayoutWish(kind=cast(SupportKind, kind), form=form, run_mm=run, height_mm=height)
        laid = lay_out_support(wish, book=sheet.book)
    except BadInput as refusal:
        for fault in refusal.faults:
            sheet.fault(fault.where, fault.wrong, fault.remedy)
        return None
    sheet.assume(f"wires where {form.replace('_', ' ')} wants them")
    return laid.wire_heights_mm


def _tension(sheet: Sheet, *, is_row: bool) -> float | None:
    usual = 900 if is_row else 200
    if sheet.values.get("tension_n") is None:
        sheet.assume(f"tension: {usual} N")
    return sheet.number("tension_n", 10, 10_000, usual)


def _hold_gap(sheet: Sheet, run: int | None, *, is_row: bool) -> int | None:
    """Distance of eyes or posts; 0 is named as what it is, a span of nothing."""
    usual = round(sheet.book.limit("post_gap_mm" if is_row else "eye_gap_mm"))
    if not sheet.has("hold_gap"):
        sheet.assume(f"{'posts' if is_row else 'eyes'}: {usual / 1000:g} m apart")
    gap = sheet.length("hold_gap", 200, 15_000, usual)
    if gap and run and gap > run:
        return run
    return gap


def _face(sheet: Sheet, kind: str | None, *, is_row: bool) -> tuple[str | None, Fixing | None, Fixing | None]:
    """Wall and fixings; a row on posts of its own has none."""
    wall_sheet = sheet.part("end_fixing"), sheet.part("fixing")
    wall = sheet.choice("wall", sheet.book.walls, "rendered")
    if is_row:
        return None, None, None
    in_wood = kind == "fence"
    usual = Fixing(kind="screw_eye", anchor="wood", thread_mm=40) if in_wood else Fixing()
    usual_end = replace(usual, kind="screw_eye" if in_wood else "eye_bolt", diameter_mm=8)
    if not in_wood:
        usual_end = replace(usual_end, anchor="sleeve")
        if sheet.values.get("wall") is None:
            sheet.assume("wall: not known, reckoned as rendered")
    ends = read_fixing(wall_sheet[0], sheet, usual_end, "end fixings")
    along = read_fixing(wall_sheet[1], sheet, usual, "eyes along the wires")
    return None if in_wood else wall, ends, along


def _row(sheet: Sheet, heights: tuple[int, ...] | None, *, is_row: bool) -> tuple[Post | None, End | None]:
    """Posts and ends; they must stand as high as the top wire."""
    post_sheet, end_sheet = sheet.part("post"), sheet.part("end")
    if not is_row:
        return None, None
    top = heights[-1] if heights else 1700
    usual = Post(length_mm=-(-(top + 750) // 100) * 100, depth_mm=750)
    post = read_post(post_sheet, sheet, usual, "line posts")
    usual_end = End(
        post=Post(size_mm=125, length_mm=-(-(top + 900) // 100) * 100, depth_mm=900), height_mm=min(1600, top)
    )
    end = read_end(end_sheet, sheet, usual_end)
    for what, other in (("post", post), ("end, post", end.post)):
        if heights and other.above_ground_mm < top:
            sheet.fault(
                what,
                f"stands {other.above_ground_mm} mm out of the ground, the top wire lies at {top} mm",
                f"give a length of at least {top + other.depth_mm} mm at this depth",
            )
    if end.kind != "bare" and end.height_mm > end.post.above_ground_mm:
        sheet.fault(
            "end, height", f"{end.height_mm} mm is above the end post", f"at most {end.post.above_ground_mm} mm"
        )
    return post, end


def _plants(
    sheets: Sequence[Sheet], run: int | None, height: int | None, heights: tuple[int, ...] | None
) -> tuple[Plant, ...]:
    plants: list[Plant] = []
    counts = [sheet.number("count", 1, 2000, 1) or 1 for sheet in sheets]
    taken = 0
    for sheet, count in zip(sheets, counts, strict=True):
        width = sheet.length("width", 100, 20_000, max(100, round((run or 3600) / sum(counts))))
        low, high = _face_of(heights, height)
        bottom, top = sheet.length("bottom", 0, 6000, low), sheet.length("top", 100, 6000, high)
        if bottom is not None and top is not None and bottom >= top:
            sheet.fault("bottom", f"{bottom} mm is not below the top, {top} mm", "give the lower edge of the leaf")
        species = _species(sheet)
        form = sheet.choice("form", FORMS, None)
        age, crop = sheet.number("age_years", 0, 200, 0), sheet.number("crop_kg", 0, 200)
        tiers = sheet.number("tiers", 0, 20, len(heights or ()) if form == "horizontal_tiers" else 0)
        taken += (width or 0) * round(count)
        if sheet.faults or not (width and top and form and species):
            continue
        plants.append(
            Plant(
                species=species,
                form=form,
                width_mm=width,
                bottom_mm=bottom or 0,
                top_mm=top,
                count=round(count),
                age_years=age or 0,
                crop_kg=crop,
                tiers=round(tiers or 0),
            )
        )
    if run and taken > 1.05 * run:
        sheets[-1].fault(
            "width", f"all plants together take {taken} mm", f"the run is {run} mm: give fewer or narrower"
        )
    return tuple(plants)


def _face_of(heights: tuple[int, ...] | None, height: int | None) -> tuple[int, int]:
    if not heights:
        return 200, height or 1800
    return max(0, heights[0] - FACE_BEYOND_MM), min(heights[-1] + FACE_BEYOND_MM, max(height or 0, heights[-1]))


def _species(sheet: Sheet) -> str | None:
    """A species by any name the rules know; what a plain name hides is noted."""
    text = sheet.text("species")
    if not text:
        sheet.fault("species", "is missing", 'give it, as "species": "apple_spur"')
        return None
    try:
        species, note = resolve_species(text)
    except BadInput as refusal:
        for fault in refusal.faults:
            sheet.fault("species", fault.wrong, fault.remedy)
        return None
    if note:
        sheet.assume(note)
    return species
