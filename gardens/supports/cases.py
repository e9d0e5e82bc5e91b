"""Each wire of a support under each load that may come: strung, cold night, warm day, crop, gale, ice, a hand."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot
from typing import Literal

from gardens.knowledge.material_book import Materials, materials
from gardens.supports.loads import WireLoad, wire_loads
from gardens.supports.statics import Load, Strung, loaded_tension_n, sag_under_m
from gardens.supports.values import Support

CaseName = Literal["strung", "cold", "warm", "crop", "gale", "ice", "accident"]

CASE_WORDS: dict[CaseName, str] = {
    "strung": "as strung, its own weight alone",
    "cold": "coldest night, no crop",
    "warm": "warmest day, no crop",
    "crop": "full crop and wet leaves",
    "gale": "gale in leaf with half the crop",
    "ice": "ice on the wire at freezing point",
    "accident": "somebody leans on it at mid-span",
}


@dataclass(frozen=True, kw_only=True)
class WireCase:
    """One wire under one load.

    ``tension_n`` and ``sag_mm`` as they come; where ``stretches`` is true a soft wire would be drawn out:
    ``elastic_n`` is what the tension would be if it were not, ``drawn_out`` by what part of its length it gives.
    """

    case: CaseName
    load_n_m: float
    point_n: float
    warmer_c: float
    tension_n: float
    sag_mm: float
    elastic_n: float
    stretches: bool = False
    drawn_out: float = 0.0


@dataclass(frozen=True, kw_only=True)
class LoadedWire:
    """One wire: what it carries and how it answers."""

    load: WireLoad
    cases: tuple[WireCase, ...]

    @property
    def number(self) -> int:
        """Counted from the lowest."""
        return self.load.number

    @property
    def height_mm(self) -> int:
        """Above the ground. [mm]"""
        return self.load.height_mm

    def case(self, name: CaseName) -> WireCase | None:
        """The wire under this load; None where it does not apply."""
        return next((case for case in self.cases if case.case == name), None)

    def under(self, name: CaseName) -> WireCase:
        """The wire under this load.

        Raises:
            KeyError: where it does not apply to this wire.
        """
        return {case.case: case for case in self.cases}[name]

    def most_n(self, *names: CaseName) -> float:
        """The highest tension among these loads. [N]"""
        return max((case.tension_n for case in self.cases if case.case in names), default=0.0)


def strung(support: Support, *, shared: bool = False) -> Strung:
    """The wires of a support as strung; ``shared`` when a single span is loaded and the wire slides over the others."""
    spring = support.spring_n_per_mm
    return Strung(
        wire=support.wire,
        span_m=support.span_mm / 1000,
        tension_n=support.tension_n,
        sharing_spans=support.spans if shared and support.slides else 1,
        spring_n_per_m=spring * 1000 if spring else None,
        run_m=support.run_mm / 1000,
    )


def load_wires(support: Support, *, book: Materials | None = None) -> tuple[LoadedWire, ...]:
    """Every wire of a support under every load that applies to it, lowest first."""
    book = book or materials()
    return tuple(
        LoadedWire(
            load=load,
            cases=tuple(_answer(support, name, acting, book) for name, acting in _acting(support, load, book).items()),
        )
        for load in wire_loads(support, book=book)
    )


def wire_case(support: Support, name: CaseName, acting: Load, *, book: Materials | None = None) -> WireCase:
    """How a wire of this support answers one load."""
    return _answer(support, name, acting, book or materials())


def _acting(support: Support, load: WireLoad, book: Materials) -> dict[CaseName, Load]:
    place, own = support.surroundings, load.own_n_m
    cases: dict[CaseName, Load] = {
        "strung": Load(per_metre_n=own),
        "cold": Load(per_metre_n=own, warmer_c=place.coldest_c - place.strung_at_c),
        "warm": Load(per_metre_n=own, warmer_c=place.warmest_c - place.strung_at_c),
    }
    if load.crop_n_m or load.green_n_m:
        cases["crop"] = Load(per_metre_n=own + load.crop_n_m + load.green_n_m)
        hanging = own + load.crop_n_m / 2 + load.green_n_m
        cases["gale"] = Load(per_metre_n=hypot(hanging, load.wind_n_m))
    if load.ice_n_m:
        cases["ice"] = Load(per_metre_n=own + load.ice_n_m, warmer_c=min(0.0, 0 - place.strung_at_c))
    if load.height_mm <= book.limit("accident_reach_mm"):
        cases["accident"] = Load(per_metre_n=own, point_n=book.limit("accident_n"))
    return cases


def _answer(support: Support, name: CaseName, acting: Load, book: Materials) -> WireCase:
    if name == "strung":
        elastic = support.tension_n
    else:
        elastic = loaded_tension_n(strung(support, shared=name == "accident"), acting)
    cap = book.limit("soft_cap_share") * support.wire.breaking_n
    stretches = support.wire.stretches and elastic > cap
    tension = min(elastic, cap) if stretches else elastic
    span_m = support.span_mm / 1000
    sag_m = sag_under_m(acting, span_m=span_m, tension_n=tension)
    return WireCase(
        case=name,
        load_n_m=acting.per_metre_n,
        point_n=acting.point_n,
        warmer_c=acting.warmer_c,
        tension_n=tension,
        sag_mm=sag_m * 1000,
        elastic_n=elastic,
        stretches=stretches,
        drawn_out=_drawn_out(acting, sag_m, span_m) if stretches else 0.0,
    )


def _drawn_out(acting: Load, sag_m: float, span_m: float) -> float:
    """By what part of its length a wire is longer than its span: of a bent line under a point load, else a parabola."""
    if acting.point_n:
        return hypot(1, 2 * sag_m / span_m) - 1
    return 8 * sag_m**2 / (3 * span_m**2)
