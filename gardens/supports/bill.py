"""What must be bought and how long it takes to build: counted, with waste, rounded up to what is sold."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import ceil, pi, radians, sin

from gardens.knowledge.material_book import Materials, materials
from gardens.supports.ends import diagonal_m
from gardens.supports.posts import post_mass_kg
from gardens.supports.values import End, Fixing, Post, Support

TENSIONER_REACH_M = 50
"""One tensioner serves this much of a wire."""

EYE_LOOP_MM, TENSIONER_TAIL_MM, POST_WRAP_MM, STAY_SPARE_M = 150, 300, 300, 0.6
STAPLES_PER_WIRE_END, BOLTS_PER_BRACKET, PINS_PER_BRACE, TIES_PER_CANE = 3, 2, 2, 2


@dataclass(frozen=True, kw_only=True)
class Allowances:
    """What is added: to each wire at its two ends [mm], for each join or tensioner in the run [mm], for waste of wire
    and for spare fixings [shares]. None takes the usual lengths for eyes or posts.

    Source: house default; published: cut 30 to 46 cm over the run (Tightening the wires, NW Fruit).
    """

    ends_mm: tuple[int, int] | None = None
    join_mm: int = 300
    joins: int | None = None
    wire_waste: float = 0.05
    spare: float = 0.10

    def __post_init__(self) -> None:
        if self.wire_waste < 0 or self.spare < 0 or self.join_mm < 0 or (self.joins or 0) < 0:
            raise ValueError("waste, spares and joins are not below zero")


@dataclass(frozen=True, kw_only=True)
class BillLine:
    """One line to buy. ``good`` is the id in `goods.toml`, ``needed`` the amount before spares and rounding up,
    ``mass_kg`` of the whole line, ``packs`` how it is sold, ``how`` the sum behind it, ``size`` what tells it from other
    sizes of the same good ("2-5mm")."""

    good: str
    text: str
    quantity: float
    unit: str
    needed: float
    mass_kg: float
    how: str
    packs: str = ""
    size: str = ""

    @property
    def price_codes(self) -> tuple[str, ...]:
        """Where its price may stand in a price list: of this very size, else of the good."""
        return (f"{self.good}-{self.size}", self.good) if self.size else (self.good,)


@dataclass(frozen=True, kw_only=True)
class LabourLine:
    """Work of one trained person on a number of things. [min]"""

    work: str
    kind: str
    text: str
    units: float
    unit: str
    minutes: float
    source: str


@dataclass(frozen=True, kw_only=True)
class Bill:
    """What to buy and what work it makes."""

    lines: tuple[BillLine, ...]
    labour: tuple[LabourLine, ...]

    @property
    def minutes(self) -> float:
        """Time of one trained person. [min]"""
        return sum(line.minutes for line in self.labour)

    @property
    def mass_kg(self) -> float:
        """Of everything. [kg]"""
        return sum(line.mass_kg for line in self.lines)

    def line(self, good: str) -> BillLine | None:
        """The line of a good, or None."""
        return next((line for line in self.lines if line.good == good), None)

    def amount(self, good: str) -> float:
        """How much of a good is bought, over all its lines; 0 where it is not needed."""
        return sum(line.quantity for line in self.lines if line.good == good)


def bill_of_materials(support: Support, *, allowances: Allowances | None = None, book: Materials | None = None) -> Bill:
    """Everything that the support is built of, and canes and ties for plants that are new on it.

    Args:
        support: as planned; its holds are counted from run and distance.
        allowances: lengths added, waste and spares.
        book: the materials.
    """
    book, allowances = book or materials(), allowances or Allowances()
    counter = _Counter(book, allowances)
    lines = [counter.wire(support), counter.tensioners(support)]
    lines += counter.row(support) if support.is_row else counter.face(support)
    lines += counter.plants(support)
    return Bill(lines=tuple(line for line in lines if line.quantity > 0), labour=tuple(_labour(support, book)))


def fixing_counts(support: Support) -> tuple[int, int]:
    """Fixings at the ends and in between, all wires: 2 a wire, and one at each hold between two spans."""
    wires = len(support.wire_heights_mm)
    return 2 * wires, (support.spans - 1) * wires


def post_counts(support: Support) -> tuple[int, int]:
    """Line posts and end posts of a row: ceil(run/distance) + 1 in all."""
    return (support.spans - 1, 2) if support.is_row else (0, 0)


@dataclass(frozen=True)
class _Counter:
    book: Materials
    allowances: Allowances

    def wire(self, support: Support) -> BillLine:
        """Σ(run + ends + joins)·(1 + waste), its mass and coils."""
        run_m, wires = support.run_mm / 1000, len(support.wire_heights_mm)
        ends_m = sum(self._ends_mm(support)) / 1000
        joins_m = self._joins(support) * self.allowances.join_mm / 1000
        each_m = run_m + ends_m + joins_m
        length_m = wires * each_m * (1 + self.allowances.wire_waste)
        mass_kg = length_m * support.wire.mass_kg_m
        grade = self.book.grades[support.wire.grade].name
        return BillLine(
            good="straining_wire",
            text=f"{support.wire.name} {grade}, {self.book.coatings[support.wire.coating].name}",
            quantity=round(length_m, 1),
            unit="m",
            needed=wires * run_m,
            mass_kg=mass_kg,
            how=f"{wires} × ({run_m:g} + {ends_m:.2f} + {joins_m:.2f}) m + {self.allowances.wire_waste:.0%} waste",
            packs=coils(mass_kg, self.book.goods["straining_wire"].packs_kg),
            size=size_code(support.wire.diameter_mm),
        )

    def tensioners(self, support: Support) -> BillLine:
        wires = len(support.wire_heights_mm)
        each = ceil(support.run_mm / 1000 / TENSIONER_REACH_M)
        return self._pieces("tensioner", wires * each, f"{wires} wires × {each}")

    def face(self, support: Support) -> Iterator[BillLine]:
        """Eyes, brackets and anchors of a wall or fence."""
        ends, middles = fixing_counts(support)
        wanted: dict[tuple[str, float, str], int] = {}
        for fixing, count in ((support.end_fixing, ends), (support.fixing, middles)):
            if fixing and count:
                key = (fixing.kind, fixing.diameter_mm, fixing.anchor)
                wanted[key] = wanted.get(key, 0) + count
        anchors: dict[str, int] = {}
        for (kind, diameter, anchor), count in wanted.items():
            row = self.book.fixings[kind]
            line = self._pieces(row.good, count, f"{count} holds", text=f"{row.name}, {diameter:g} mm")
            yield replace(line, size=size_code(diameter))
            if anchor != "wood":
                each = BOLTS_PER_BRACKET if row.holds == "bracket" else 1
                anchors[anchor] = anchors.get(anchor, 0) + count * each
        for anchor, count in anchors.items():
            yield self._pieces(anchor, count, f"{count} holes", spare=self.allowances.spare)

    def row(self, support: Support) -> Iterator[BillLine]:
        """Posts, staples and both ends of a row."""
        post, end = support.post, support.end
        if post is None or end is None:
            return
        line_posts, end_posts = post_counts(support)
        wires = len(support.wire_heights_mm)
        yield self._posts("line_post", post, line_posts, f"ceil(run/{support.hold_gap_mm} mm) − 1")
        yield self._posts("end_post", end.post, end_posts, "2 ends")
        passing = ceil(wires * line_posts * (1 + self.allowances.spare) - 1e-9)
        at_ends = 2 * wires * STAPLES_PER_WIRE_END
        yield self._pieces(
            "staple",
            passing + at_ends,
            f"{wires} × {line_posts} + {self.allowances.spare:.0%}, and {STAPLES_PER_WIRE_END} at each wire end",
        )
        yield from self._ends(end)
        for what, count in ((post, line_posts), (end.post, end_posts)):
            yield self._fill(what, count)

    def plants(self, support: Support) -> Iterator[BillLine]:
        """Canes and ties for plants in their first season on the wires."""
        new = [plant for plant in support.plants if plant.age_years < 1]
        canes = sum(plant.count * self.book.form(plant.form, support.kind).canes_per_plant for plant in new)
        first_arms_m = sum(plant.count * plant.width_mm for plant in new) / 1000
        ties = ceil(first_arms_m * 1000 / self.book.limit("tie_gap_mm") - 1e-9) + TIES_PER_CANE * canes
        yield self._pieces("cane_2400", canes, "one for each arm while it slants and one for the leader")
        yield self._pieces(
            "tie_soft_tube", ties, f"{first_arms_m:g} m of arms × {1000 / self.book.limit('tie_gap_mm'):g} + 2 a cane"
        )

    def _ends(self, end: End) -> Iterator[BillLine]:
        height_m, reach_m = end.height_mm / 1000, end.reach_mm / 1000
        if end.kind == "tie_back":
            stay_m = 2 * end.stay_strands * (height_m / sin(radians(end.angle_deg))) + 2 * STAY_SPARE_M
            good = "screw_anchor" if end.anchor.kind == "screw_plate" else "anchor_post"
            text = f"{end.anchor.plate_mm} mm plate, {end.anchor.depth_mm} mm deep" if good == "screw_anchor" else None
            yield self._pieces(good, 2, "1 at each end", text=text and f"screw anchor, {text}")
            yield self._stay(end, stay_m, f"2 × ({end.stay_strands} × h/sin θ + {STAY_SPARE_M} m)")
            yield self._pieces("wire_grip", 2, "1 at each end")
        if end.kind == "h_brace":
            stay_m = 2 * (end.stay_strands * diagonal_m(height_m=height_m, reach_m=reach_m) + STAY_SPARE_M)
            yield self._posts("brace_post", end.post, 2, "1 at each end")
            yield self._pieces("brace_rail", 2, "1 at each end", text=f"rail, {end.rail_mm} mm, {reach_m:g} m")
            yield self._stay(end, stay_m, f"2 × ({end.stay_strands} × √(h² + s²) + {STAY_SPARE_M} m)")
            yield self._pieces("brace_pin", 2 * PINS_PER_BRACE, f"{PINS_PER_BRACE} at each end")
        if end.kind == "strut":
            length_m = diagonal_m(height_m=height_m, reach_m=reach_m)
            yield self._pieces("brace_rail", 2, "1 at each end", text=f"strut, {end.rail_mm} mm, {length_m:.2f} m")
            yield self._pieces("strut_plate", 2, "1 at each end")
            yield self._pieces("brace_pin", 2, "1 at each end")

    def _stay(self, end: End, length_m: float, how: str) -> BillLine:
        mass_kg = length_m * pi * end.stay_mm**2 / 4 * 7850e-6
        return BillLine(
            good="stay_wire",
            text=f"stay wire, {end.stay_mm:g} mm",
            quantity=round(length_m, 1),
            unit="m",
            needed=length_m,
            mass_kg=mass_kg,
            how=how,
            packs=coils(mass_kg, self.book.goods["stay_wire"].packs_kg),
            size=size_code(end.stay_mm),
        )

    def _posts(self, good: str, post: Post, count: int, how: str) -> BillLine:
        text = f"{self.book.posts[post.kind].name}, {post.size_mm} mm, {post.length_mm / 1000:g} m"
        return BillLine(
            good=good,
            text=text,
            quantity=count,
            unit="piece",
            needed=count,
            mass_kg=count * post_mass_kg(post, book=self.book),
            how=how,
            size=size_code(post.size_mm),
        )

    def _fill(self, post: Post, count: int) -> BillLine:
        """n·π/4·(D_hole² − D²)·d of concrete or rammed stone, where a post is dug in."""
        hole_m, post_m = max(post.collar_mm, 0) / 1000, post.size_mm / 1000
        volume = count * pi / 4 * max(hole_m**2 - post_m**2, 0) * post.depth_mm / 1000
        if post.setting == "driven":
            volume = 0.0
        return BillLine(
            good="concrete",
            text=self.book.goods["concrete"].name,
            quantity=ceil(volume * 100 - 1e-9) / 100,
            unit="m³",
            needed=volume,
            mass_kg=volume * (self.book.goods["concrete"].mass_kg or 0),
            how=f"{count} × π/4·(D_hole² − D²)·depth",
        )

    def _pieces(self, good: str, count: int, how: str, *, text: str | None = None, spare: float = 0) -> BillLine:
        row = self.book.goods[good]
        quantity = ceil(count * (1 + spare) - 1e-9)
        return BillLine(
            good=good,
            text=text or row.name,
            quantity=quantity,
            unit=row.unit,
            needed=count,
            mass_kg=quantity * (row.mass_kg or 0),
            how=how + (f" + {spare:.0%}" if spare else ""),
        )

    def _ends_mm(self, support: Support) -> tuple[int, int]:
        if self.allowances.ends_mm is not None:
            return self.allowances.ends_mm
        if support.end is not None and support.is_row:
            wrap = round(pi * support.end.post.size_mm) + POST_WRAP_MM
            return wrap, wrap
        return EYE_LOOP_MM, TENSIONER_TAIL_MM

    def _joins(self, support: Support) -> int:
        if self.allowances.joins is not None:
            return self.allowances.joins
        needed = ceil(support.run_mm / 1000 / TENSIONER_REACH_M)
        return needed if support.is_row else needed - 1


def size_code(size_mm: float) -> str:
    """A size as it stands in a price code: 2.5 → "2-5mm"."""
    return f"{size_mm:g}mm".replace(".", "-")


def coils(mass_kg: float, packs_kg: tuple[float, ...]) -> str:
    """How wire of a mass is bought: "1 coil of 2 kg". The smallest coil that holds it, else so many of the largest."""
    if not packs_kg or mass_kg <= 0:
        return ""
    for pack in sorted(packs_kg):
        if pack >= mass_kg:
            return f"1 coil of {pack:g} kg"
    biggest = max(packs_kg)
    return f"{ceil(mass_kg / biggest)} coils of {biggest:g} kg"


def _labour(support: Support, book: Materials) -> Iterator[LabourLine]:
    wires, run_m = len(support.wire_heights_mm), support.run_mm / 1000
    if support.is_row and support.post:
        driven = support.post.setting == "driven"
        yield from _work("post_driven" if driven else "post_dug", post_counts(support)[0], book)
        yield from _work("end_assembly", 2, book)
    else:
        timber = _in_timber(support.end_fixing) or _in_timber(support.fixing)
        yield from _work("eye_in_timber" if timber else "eye_in_brick", sum(fixing_counts(support)), book)
    yield from _work("wire_run", wires, book, metres=wires * run_m)


def _in_timber(fixing: Fixing | None) -> bool:
    return fixing is not None and fixing.anchor == "wood"


def _work(work_id: str, units: int, book: Materials, *, metres: float = 0) -> Iterator[LabourLine]:
    if units <= 0:
        return
    row = book.works[work_id]
    yield LabourLine(
        work=row.id,
        kind=row.kinds[0],
        text=row.text,
        units=units,
        unit=row.unit,
        minutes=row.fixed + row.per_unit * units + row.per_metre * metres,
        source="; ".join(part for part in (*row.source, row.anchor) if part),
    )
