"""The materials book: every file of `materials` read, checked and joined.

book = materials()
book.grade("soft_galvanised").strength_mpa
book.limit("tension_share_cold")
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel

from business.errors import BadInput, Fault
from gardens.knowledge import material_schema as schema
from gardens.knowledge.files import check, check_all, read_tables
from gardens.knowledge.ground_schema import LabourFile, SourceFile, Standard

FOLDER = Path(__file__).parent / "materials"
LABOUR = Path(__file__).parent / "labour"

FILES: Mapping[str, type[BaseModel]] = {
    "wire_gauges": schema.WireGaugeFile,
    "wire_grades": schema.WireGradeFile,
    "wire_coatings": schema.CoatingFile,
    "fixings": schema.FixingFile,
    "posts": schema.PostFile,
    "soils": schema.SoilFile,
    "loads": schema.LoadFile,
    "support_forms": schema.SupportFormFile,
    "support_limits": schema.LimitFile,
    "cautions": schema.CautionFile,
    "ties": schema.TieFile,
    "goods": schema.GoodFile,
}

Row = TypeVar("Row", bound=schema.Named)


@dataclass(frozen=True, kw_only=True)
class Materials:
    """All that is known of materials, by id. A business overlay is another `Materials` with some rows replaced."""

    gauges: Mapping[str, schema.WireGauge]
    grades: Mapping[str, schema.WireGrade]
    joints: Mapping[str, schema.Joint]
    wire_sizes_mm: tuple[float, ...]
    coatings: Mapping[str, schema.Coating]
    exposures: Mapping[str, schema.Exposure]
    clashes: tuple[schema.MetalClash, ...]
    fixings: Mapping[str, schema.FixingKind]
    shanks_mm: tuple[float, ...]
    wall_anchors: Mapping[str, schema.WallAnchor]
    walls: Mapping[str, schema.Wall]
    timbers: Mapping[str, schema.Timber]
    posts: Mapping[str, schema.PostKind]
    settings: Mapping[str, schema.Setting]
    soils: Mapping[str, schema.Soil]
    pull_outs: Mapping[str, schema.PullOut]
    row_anchors: tuple[schema.RowAnchor, ...]
    crops: tuple[schema.Crop, ...]
    covers: Mapping[str, schema.Cover]
    gusts: Mapping[str, schema.Gust]
    forms: tuple[schema.SupportForm, ...]
    limits: Mapping[str, schema.Limit]
    works: Mapping[str, Standard]
    cautions: tuple[schema.CautionText, ...]
    ties: Mapping[str, schema.Tie]
    goods: Mapping[str, schema.Good]

    def grade(self, name: str) -> schema.WireGrade:
        """The wire grade of this id or other name.

        Raises:
            BadInput: for an unknown one, with the known ones.
        """
        return find(self.grades, name, where="wire grade")

    def limit(self, limit_id: str) -> float:
        """The value of a limit."""
        return self.limits[limit_id].value

    def form(self, form: str, kind: str) -> schema.SupportForm:
        """The wire rule of a form on a wall, a fence or posts.

        Raises:
            BadInput: for a form that has no rule here.
        """
        place = "post_and_wire" if kind == "post_and_wire" else "wall"
        rows = [row for row in self.forms if row.form == form and row.place in ("any", place)]
        if not rows:
            known = ", ".join(dict.fromkeys(row.form for row in self.forms))
            raise BadInput([Fault("form", f"{form!r} has no rule for its wires", f"use one of {known}")])
        return rows[0]

    def crop(self, species: str, form: str) -> schema.Crop:
        """The first crop row that fits; the last row of the file fits all."""
        return next(row for row in self.crops if row.fits(species, form))

    def cautions_for(self, *when: str) -> tuple[schema.CautionText, ...]:
        """The cautions that any of these bring up, in the order of the file."""
        return tuple(caution for caution in self.cautions if set(caution.when) & set(when))


def find(rows: Mapping[str, Row], name: str, *, where: str) -> Row:
    """A row by its id or another of its names, whatever the case and spacing.

    Raises:
        BadInput: naming what is known.
    """
    key = name.strip().lower()
    plain = key.replace(" ", "_").replace("-", "_")
    for row in rows.values():
        if plain == row.id or key == row.name.lower() or key in (alias.lower() for alias in row.aliases):
            return row
    raise BadInput([Fault(where, f"{name!r} is not known", f"use one of {', '.join(rows)}")])


def read_materials(folder: Path = FOLDER, labour: Path = LABOUR) -> Materials:
    """The materials of a folder, with the work on supports from the labour standards.

    Raises:
        BadInput: every fault of every file at once: file, key and what would be right.
    """
    tables = read_tables(folder)
    faults = [
        Fault(f"{folder.name}/{stem}.toml", "the file is missing", "restore it from the project")
        for stem in FILES
        if stem not in tables
    ]
    rows: dict[str, Any] = {}
    for stem, table in tables.items():
        if stem not in FILES:
            known = ", ".join(FILES)
            faults.append(Fault(f"{folder.name}/{stem}.toml", "no part of the program reads it", f"known are {known}"))
            continue
        try:
            file = check(FILES[stem], table, where=f"{folder.name}/{stem}.toml")
            rows |= {key: getattr(file, key) for key in type(file).model_fields}
        except BadInput as refusal:
            faults.extend(refusal.faults)
    try:
        rows["work"] = _support_work(labour)
    except BadInput as refusal:
        faults.extend(refusal.faults)
    if not faults:
        faults = _dangling(rows)
    if faults:
        raise BadInput(faults)
    return _join(rows)


@cache
def materials() -> Materials:
    """The materials that come with the program, read once."""
    return read_materials()


def _support_work(labour: Path) -> tuple[Standard, ...]:
    """The labour standards that a bill or a care asks for by id: those that say what is done."""
    sources = check(SourceFile, read_tables(labour.parent)["sources"], where="sources.toml").source
    files = check_all(LabourFile, read_tables(labour), folder=labour.name, context={"sources": sources})
    return tuple(row for file in files.values() for row in file.standard if row.text)


def _dangling(rows: Mapping[str, Any]) -> list[Fault]:
    """Rows that name a good the goods file does not have."""
    goods = {good.id for good in rows["good"]}
    naming = [("fixings.toml", row) for row in rows["fixing"]] + [("ties.toml", row) for row in rows["tie"]]
    return [
        Fault(f"materials/{name}, {row.id}, good", f"{row.good!r} is not in goods.toml", "add it there, or mend the id")
        for name, row in naming
        if row.good not in goods
    ]


def _join(rows: Mapping[str, Any]) -> Materials:
    def by_id(key: str) -> dict[str, Any]:
        return {row.id: row for row in rows[key]}

    return Materials(
        gauges=by_id("wire_gauge"),
        grades=by_id("wire_grade"),
        joints=by_id("joint"),
        wire_sizes_mm=tuple(sorted(row.diameter_mm for row in rows["wire_size"])),
        coatings=by_id("coating"),
        exposures=by_id("exposure"),
        clashes=rows["metal_clash"],
        fixings=by_id("fixing"),
        shanks_mm=tuple(sorted(size for row in rows["shank"] for size in row.diameters_mm)),
        wall_anchors=by_id("wall_anchor"),
        walls=by_id("wall"),
        timbers=by_id("timber"),
        posts=by_id("post"),
        settings=by_id("setting"),
        soils=by_id("soil"),
        pull_outs=by_id("pull_out"),
        row_anchors=rows["row_anchor"],
        crops=rows["crop"],
        covers=by_id("cover"),
        gusts=by_id("gust"),
        forms=rows["support_form"],
        limits=by_id("limit"),
        works=by_id("work"),
        cautions=rows["caution"],
        ties=by_id("tie"),
        goods=by_id("good"),
    )
