"""One class per kind of row, and how a row of text becomes one."""

from __future__ import annotations

import difflib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, time
from itertools import pairwise
from typing import get_args

from business.errors import BadInput, Fault
from gardens.climate.values import STAGES
from gardens.knowledge import resolve_species
from gardens.knowledge.form_schema import rootstocks
from gardens.services.book import fields
from gardens.services.book.fields import Cells
from gardens.services.book.tables import TextRow
from gardens.training.state import FORMS, STARTS, WORK_KINDS, MeasuredWhat, SeenWhat

SHORTEST_SPAN_MM, LONGEST_SPAN_MM = 200, 15_000
"""From eye to eye or post to post, as the supports core takes it."""

LENGTH_MEASURES = {"leader_height", "limb_length", "trunk_girth", "season_growth"}
LENGTH_WORK = {"head_back", "shorten_arms"}
ANGLE_WORK = {"tie_in", "lower_arms"}


@dataclass(frozen=True, kw_only=True)
class ClientRow:
    row: TextRow
    code: str
    name: str
    greeting: str
    kind: str
    address: str
    country: str
    email: str
    phone: str
    units: str
    note: str


@dataclass(frozen=True, kw_only=True)
class SiteRow:
    row: TextRow
    code: str
    client: str
    name: str
    address: str
    latitude_deg: float
    longitude_deg: float
    elevation_m: float
    time_zone: str
    climate_profile: str
    station: str
    access_notes: str
    hazards: str
    phone: str
    access_week: str
    access_from: time | None
    access_until: time | None


@dataclass(frozen=True, kw_only=True)
class SupportRow:
    row: TextRow
    site: str
    code: str
    name: str
    kind: str
    length_mm: int
    height_mm: int
    wire_heights_mm: tuple[int, ...]
    wire_diameter_mm: float | None
    faces_deg: int
    gap_mm: int
    post_spacing_mm: int | None
    walk_order: int
    note: str


@dataclass(frozen=True, kw_only=True)
class TreeRow:
    row: TextRow
    site: str
    support: str
    code: str
    label: str
    species: str
    cultivar: str
    rootstock: str
    form: str
    tiers: int
    position_mm: int
    run_left_mm: int | None
    run_right_mm: int | None
    planted_on: date
    start: str
    tiers_at_start: int
    note: str


@dataclass(frozen=True, kw_only=True)
class RecordRow:
    row: TextRow
    site: str
    tree: str
    support: str
    on: date
    kind: str
    what: str
    limb: str
    value: float | None
    text: str


def client_row(row: TextRow) -> tuple[ClientRow | None, list[Fault]]:
    cells = Cells(row)
    code = cells.need("code", fields.code, "ashdown")
    name = cells.need("name", fields.plain, "Mr and Mrs Ashdown")
    email = cells.text("email")
    if email and not _looks_like_mail(email):
        cells.fault("email", f"{email!r} is not a mail address", "write it as name@example.com")
    country = cells.read("country", _country, "")
    kind = cells.read("kind", fields.one_of(("person", "organisation")), "person")
    units = cells.read("units", fields.one_of(("metric", "imperial")), "")
    if cells.faults or code is None or name is None:
        return None, cells.faults
    made = ClientRow(
        row=row,
        code=code,
        name=name,
        greeting=cells.text("greeting"),
        kind=kind,
        address=_lines(cells.text("address")),
        country=country,
        email=email,
        phone=cells.text("phone"),
        units=units,
        note=cells.text("note"),
    )
    return made, []


def site_row(row: TextRow) -> tuple[SiteRow | None, list[Fault]]:
    cells = Cells(row)
    code = cells.need("code", fields.code, "ashdown-walled-garden")
    client = cells.need("client", fields.code, "ashdown")
    name = cells.need("name", fields.plain, "Walled garden")
    latitude = cells.need("latitude", fields.between(-90, 90), "51.02")
    longitude = cells.need("longitude", fields.between(-180, 180), "-2.74")
    elevation = cells.read("elevation", fields.between(-430, 5000), 0.0)
    time_zone = cells.read("time_zone", fields.zone, "")
    profile = cells.read("climate_profile", fields.one_of(("maritime", "continental_cold", "mediterranean")), "")
    week = cells.read("access_days", fields.week, "1111100")
    start = cells.read("access_from", fields.clock_time, None)
    end = cells.read("access_until", fields.clock_time, None)
    station = cells.read("station", fields.code, "")
    if start and end and start >= end:
        cells.fault("access_until", f"{end:%H:%M} is not after {start:%H:%M}", "put the later time here")
    if cells.faults or code is None or client is None or name is None or latitude is None or longitude is None:
        return None, cells.faults
    made = SiteRow(
        row=row,
        code=code,
        client=client,
        name=name,
        address=_lines(cells.text("address")),
        latitude_deg=latitude,
        longitude_deg=longitude,
        elevation_m=elevation,
        time_zone=time_zone,
        climate_profile=profile,
        station=station,
        access_notes=_lines(cells.text("access_notes")),
        hazards=_lines(cells.text("hazards")),
        phone=cells.text("phone"),
        access_week=week,
        access_from=start,
        access_until=end,
    )
    return made, []


def support_row(row: TextRow) -> tuple[SupportRow | None, list[Fault]]:
    cells = Cells(row)
    site = cells.need("site", fields.code, "ashdown-walled-garden")
    code = cells.need("code", fields.code, "south-wall")
    kind = cells.need("kind", fields.one_of(("wall", "fence", "post_and_wire")), "wall")
    length = cells.need("length", fields.length, "12 m")
    height = cells.need("height", fields.length, "2.2 m")
    no_wires: tuple[int, ...] = ()
    wires = cells.read("wires", fields.lengths, no_wires)
    diameter = cells.read("wire_diameter_mm", fields.wire_size, None)
    faces = cells.read("faces", fields.bearing, 180)
    gap = cells.read("gap", fields.length, 0 if kind == "post_and_wire" else 150)
    spacing = cells.read("post_spacing", fields.length, None)
    walk_order = cells.read("walk_order", fields.whole, 0)
    for size, column in ((length, "length"), (height, "height")):
        if size == 0:
            cells.fault(column, "is zero", "write for example 12 m")
    if spacing is not None and not SHORTEST_SPAN_MM <= spacing <= LONGEST_SPAN_MM:
        cells.fault(
            "post_spacing",
            f"{spacing / 10:g} cm is no span of wire",
            f"give {SHORTEST_SPAN_MM / 10:g} cm to {LONGEST_SPAN_MM / 1000:g} m, or leave it empty",
        )
    if any(low >= high for low, high in pairwise(wires)):
        cells.fault("wires", "do not rise from wire to wire", "write them lowest first, such as 45 cm; 85 cm; 125 cm")
    if height is not None and wires and max(wires) > height > 0:
        cells.fault(
            "wires",
            f"the top wire at {max(wires) / 10:g} cm is above the support of {height / 10:g} cm",
            "lower the wire or correct the height",
        )
    if wires and wires[0] == 0:
        cells.fault("wires", "the lowest wire lies on the ground", "write its height, such as 45 cm")
    if cells.faults or site is None or code is None or kind is None or length is None or height is None:
        return None, cells.faults
    made = SupportRow(
        row=row,
        site=site,
        code=code,
        name=cells.text("name") or code,
        kind=kind,
        length_mm=length,
        height_mm=height,
        wire_heights_mm=wires,
        wire_diameter_mm=diameter,
        faces_deg=faces,
        gap_mm=gap,
        post_spacing_mm=spacing,
        walk_order=walk_order,
        note=cells.text("note"),
    )
    return made, []


def tree_row(row: TextRow) -> tuple[TreeRow | None, list[Fault]]:
    cells = Cells(row)
    site = cells.need("site", fields.code, "ashdown-walled-garden")
    support = cells.need("support", fields.code, "south-wall")
    code = cells.need("code", fields.code, "pear-1")
    species = cells.need("species", _species, "pear_european")
    form = cells.need("form", fields.one_of(FORMS), "horizontal_tiers")
    position = cells.need("position", fields.length, "2.4 m")
    planted = cells.need("planted", fields.day, "2022-11-20")
    start = cells.read("start", fields.one_of(STARTS), "whip")
    tiers = cells.read("tiers", fields.whole, 0)
    tiers_at_start = cells.read("tiers_at_start", fields.whole, 0)
    run_left = cells.read("run_left", fields.length, None)
    run_right = cells.read("run_right", fields.length, None)
    rootstock = cells.read("rootstock", _rootstock, "")
    if tiers and tiers_at_start > tiers:
        cells.fault("tiers_at_start", f"{tiers_at_start} is more than the {tiers} tiers", "write what was bought")
    if cells.faults or not (site and support and code and species and form and position is not None and planted):
        return None, cells.faults
    made = TreeRow(
        row=row,
        site=site,
        support=support,
        code=code,
        label=cells.text("label") or code,
        species=species,
        cultivar=cells.text("cultivar"),
        rootstock=rootstock,
        form=form,
        tiers=tiers,
        position_mm=position,
        run_left_mm=run_left,
        run_right_mm=run_right,
        planted_on=planted,
        start=start,
        tiers_at_start=tiers_at_start,
        note=cells.text("note"),
    )
    return made, []


def record_row(row: TextRow) -> tuple[RecordRow | None, list[Fault]]:
    cells = Cells(row)
    site = cells.need("site", fields.code, "ashdown-walled-garden")
    on = cells.need("date", fields.day, "2025-05-14")
    kind = cells.need("kind", fields.one_of(("measured", "seen", "done")), "measured")
    words = {"measured": get_args(MeasuredWhat), "seen": get_args(SeenWhat), "done": WORK_KINDS}
    what = cells.need("what", fields.one_of(words.get(kind or "", WORK_KINDS)), "leader_height")
    tree, support = cells.read("tree", fields.code, ""), cells.read("support", fields.code, "")
    if bool(tree) == bool(support):
        cells.fault("tree", "a record is about one tree or one support", "fill in one of the columns tree, support")
    value = cells.read("value", _value_reader(what or ""), None)
    if kind == "measured" and value is None and not cells.faults:
        cells.fault("value", "is empty", "write what was measured, such as 95 cm")
    text = cells.text("text")
    if kind == "seen" and what == "stage" and text not in STAGES:
        cells.fault("text", f"{text!r} is not a stage", f"use one of {', '.join(STAGES)}")
    if cells.faults or site is None or on is None or kind is None or what is None:
        return None, cells.faults
    made = RecordRow(
        row=row,
        site=site,
        tree=tree,
        support=support,
        on=on,
        kind=kind,
        what=what,
        limb=cells.text("limb") or "whole",
        value=value,
        text=text,
    )
    return made, []


def _value_reader(what: str) -> Callable[[str], float | None]:
    if what in LENGTH_MEASURES | LENGTH_WORK:
        return lambda raw: float(fields.length(raw))
    if what == "limb_angle" or what in ANGLE_WORK:
        return fields.between(-90, 90)
    return fields.between(0, 1_000_000)


def _species(raw: str) -> str:
    try:
        species, _note = resolve_species(raw)
    except BadInput as error:
        fault = error.faults[0]
        raise ValueError(f"{fault.wrong}; {fault.remedy}") from error
    return species


def _rootstock(raw: str) -> str:
    """The id of a rootstock; "MM 106", "mm106" and "Quince A" are all understood."""
    known = {_letters(key): key for key in rootstocks()}
    if _letters(raw) not in known:
        near = difflib.get_close_matches(_letters(raw), known, n=3) or list(known)
        names = ", ".join(known[key] for key in near)
        raise ValueError(f"{raw!r} is not a known rootstock; use for example {names}, or leave it empty")
    return known[_letters(raw)]


def _letters(name: str) -> str:
    return "".join(letter for letter in name.lower() if letter.isalnum())


def _country(raw: str) -> str:
    if len(raw) != 2 or not raw.isalpha():
        raise ValueError(f"{raw!r} is not a country code; write two letters such as GB")
    return raw.upper()


def _looks_like_mail(raw: str) -> bool:
    name, at, host = raw.partition("@")
    return bool(name and at and "." in host and " " not in raw)


def _lines(raw: str) -> str:
    r"""Several lines in one cell are written with \n or a real line break."""
    return raw.replace("\\n", "\n")
