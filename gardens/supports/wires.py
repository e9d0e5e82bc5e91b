"""Wire: its size by millimetre or gauge, what it is drawn from, what it weighs and at what pull it breaks."""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import pi, pow

from business.errors import BadInput, Fault
from gardens.knowledge.material_book import Materials, find, materials
from gardens.knowledge.material_schema import WireGauge

STANDARD_GRAVITY = 9.80665
"""[m/s²], ISO 80000-3."""

MM_PER_INCH = 25.4
THINNEST_MM, THICKEST_MM = 1.0, 6.0
"""Between these a straining wire for trained fruit lies; what is outside was mistyped."""

_FRACTIONS = {"½": 0.5, "¼": 0.25, "¾": 0.75}
_SIZE_MM = re.compile(r"^\s*(\d+(?:[.,]\d+)?)\s*mm\s*$", re.IGNORECASE)
_SIZE_INCH = re.compile(r"^\s*(\d*\.\d+)\s*(?:in|inch|\")\s*$", re.IGNORECASE)
_SIZE_GAUGE = re.compile(r"^\s*(\d*[½¼¾]|\d+(?:\.\d+)?)\s*(?:gauge|ga|g)?\.?\s*(.*?)\s*$", re.IGNORECASE)
_GAUGE_FIRST = re.compile(r"^\s*([a-z&][a-z&\s]*?)\s*(\d*[½¼¾]|\d+(?:\.\d+)?)\s*$", re.IGNORECASE)


@dataclass(frozen=True, kw_only=True)
class Wire:
    """A wire as it is strung.

    ``diameter_mm``, tensile strength and modulus [MPa, GPa], expansion [1/°C], density [kg/m³]. ``stretches`` is true
    for soft wire, which gives way instead of breaking. ``label`` keeps what somebody called it ("14 SWG").
    """

    diameter_mm: float
    grade: str
    coating: str
    strength_mpa: float
    modulus_gpa: float
    expansion_per_c: float
    density_kg_m3: float
    stretches: bool
    label: str = ""

    def __post_init__(self) -> None:
        if self.diameter_mm <= 0 or self.strength_mpa <= 0:
            raise ValueError("a wire needs a diameter and a strength above zero")

    @property
    def area_mm2(self) -> float:
        """Cross-section. [mm²]"""
        return pi * self.diameter_mm**2 / 4

    @property
    def mass_kg_m(self) -> float:
        """Mass of a metre. [kg/m]"""
        return self.area_mm2 * 1e-6 * self.density_kg_m3

    @property
    def weight_n_m(self) -> float:
        """Weight of a metre. [N/m]"""
        return self.mass_kg_m * STANDARD_GRAVITY

    @property
    def breaking_n(self) -> float:
        """Pull at which it breaks: strength × area. [N]"""
        return self.strength_mpa * self.area_mm2

    @property
    def stiffness_n(self) -> float:
        """E·A, the pull that would double its length were it elastic so far. [N]"""
        return self.modulus_gpa * 1e3 * self.area_mm2

    @property
    def thermal_n_per_c(self) -> float:
        """What a taut wire gains for each degree of cold: E·A·α. [N/°C]"""
        return self.stiffness_n * self.expansion_per_c

    @property
    def name(self) -> str:
        """Its size as a person says it."""
        size = f"{round(self.diameter_mm, 2):g} mm"
        return f"{size} ({self.label})" if self.label and self.label != size else size


def wire(
    diameter_mm: float,
    *,
    grade: str = "soft_galvanised",
    coating: str = "class_a",
    strength_mpa: float | None = None,
    book: Materials | None = None,
) -> Wire:
    """A wire of a size and grade.

    Args:
        diameter_mm: 1 … 6. [mm]
        grade: id or name of a grade of `wire_grades.toml`.
        coating: id or name of a coating of `wire_coatings.toml`.
        strength_mpa: from the maker's certificate; else the low end of the grade. [MPa]
        book: the materials; those of the program by default.

    Raises:
        BadInput: for an unknown grade or coating or a diameter out of range.
    """
    book = book or materials()
    if not THINNEST_MM <= diameter_mm <= THICKEST_MM:
        raise BadInput(
            [Fault("wire", f"{diameter_mm:g} mm is no straining wire", f"give {THINNEST_MM:g} to {THICKEST_MM:g} mm")]
        )
    metal = book.grade(grade)
    return Wire(
        diameter_mm=diameter_mm,
        grade=metal.id,
        coating=find(book.coatings, coating, where="coating").id,
        strength_mpa=strength_mpa or metal.strength_mpa,
        modulus_gpa=metal.modulus_gpa,
        expansion_per_c=metal.expansion_per_c,
        density_kg_m3=metal.density_kg_m3,
        stretches=metal.stretches,
    )


def gauge_mm(number: float, system: str, *, book: Materials | None = None) -> float:
    """The diameter of a gauge number. The lower the number, the thicker the wire. [mm]

    Args:
        number: such as 14 or 12.5.
        system: id or name: "swg", "washburn_moen", "bwg", "awg".

    Raises:
        BadInput: for an unknown system, or a number outside its table, with the numbers it has.

    Source: Screen Technology Group 2001 (SWG, Washburn & Moen, BWG); ASTM B258 (AWG): 0.127·92^((36−n)/39).
    """
    gauge = find((book or materials()).gauges, system, where="gauge system")
    if gauge.is_geometric and gauge.lowest <= number <= gauge.highest and number == int(number):
        return 0.127 * pow(92, (36 - number) / 39)
    inches = gauge.inches.get(f"{number:g}")
    if inches is None:
        raise BadInput([Fault("gauge", f"{number:g} is not in the {gauge.name} table", _numbers(gauge))])
    return inches * MM_PER_INCH


def read_wire_size(text: str, *, book: Materials | None = None) -> tuple[float, str]:
    """A wire size as people write it: "2.5 mm", ".099 in", "14 SWG", "12½ ga W&M" → (diameter [mm], label).

    Raises:
        BadInput: for a gauge without its system (the same number names several wires), one outside its table, or
            something that is no size.
    """
    book = book or materials()
    if match := _SIZE_MM.match(text):
        return float(match.group(1).replace(",", ".")), ""
    if match := _SIZE_INCH.match(text):
        return float(match.group(1)) * MM_PER_INCH, text.strip()
    if match := _GAUGE_FIRST.match(text):
        system, number = match.group(1), match.group(2)
    elif match := _SIZE_GAUGE.match(text):
        number, system = match.group(1), match.group(2)
    else:
        raise BadInput([Fault("wire size", f"{text!r} is no size", "write it as 2.5 mm or 14 SWG")])
    count = _number(number)
    if not system or system.lower() in ("gauge", "ga"):
        raise BadInput([Fault("wire size", f"{text!r} names no gauge system", _meanings(count, book))])
    gauge = find(book.gauges, system, where="gauge system")
    return gauge_mm(count, gauge.id, book=book), f"{count:g} {gauge.short}"


def nearest_gauge(diameter_mm: float, system: str, *, book: Materials | None = None) -> tuple[str, float]:
    """The gauge number that lies nearest to a diameter, and its diameter. [mm]

    Raises:
        BadInput: for an unknown system.
    """
    gauge = find((book or materials()).gauges, system, where="gauge system")
    sizes = (
        {str(n): gauge_mm(n, gauge.id, book=book) for n in range(gauge.lowest, gauge.highest + 1)}
        if gauge.is_geometric
        else {number: inches * MM_PER_INCH for number, inches in gauge.inches.items()}
    )
    number = min(sizes, key=lambda key: abs(sizes[key] - diameter_mm))
    return number, sizes[number]


def thicker_sizes(diameter_mm: float, *, book: Materials | None = None) -> tuple[float, ...]:
    """The sizes sold that are thicker than a wire, thinnest first. [mm]"""
    return tuple(size for size in (book or materials()).wire_sizes_mm if size > diameter_mm + 1e-9)


def _number(text: str) -> float:
    """ "12½" → 12.5"""
    if text[-1] in _FRACTIONS:
        return float(text[:-1] or 0) + _FRACTIONS[text[-1]]
    return float(text)


def _numbers(gauge: WireGauge) -> str:
    if gauge.is_geometric:
        return f"use a whole number from {gauge.lowest} to {gauge.highest}, or give millimetres"
    known = sorted(float(number) for number in gauge.inches)
    halves = [f"{number:g}" for number in known if number != int(number)]
    also = f" or {', '.join(halves)}" if halves else ""
    return f"use a whole number from {known[0]:g} to {known[-1]:g}{also}, or give millimetres"


def _meanings(number: float, book: Materials) -> str:
    """What a bare gauge number could mean in each system."""
    meanings = []
    for gauge in book.gauges.values():
        try:
            meanings.append(f"{number:g} {gauge.short} is {gauge_mm(number, gauge.id, book=book):.2f} mm")
        except BadInput:
            continue
    choices = "; ".join(meanings) if meanings else "known systems are " + ", ".join(book.gauges)
    return f"say which: {choices}"
