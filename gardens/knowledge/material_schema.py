"""The files of `materials`: what supports are built of, what they carry, the limits they are held against.

One model per file; every row has a `source`. `gardens.knowledge.materials` joins them into one record.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Annotated, Literal, Protocol

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, model_validator

from gardens.knowledge.files import Wrong
from gardens.knowledge.words import FORMS

Sentence = Annotated[str, Field(min_length=3)]
Positive = Annotated[float, Field(gt=0)]
Share = Annotated[float, Field(gt=0, le=1)]
Place = Literal["any", "wall", "post_and_wire"]


class _HasId(Protocol):
    @property
    def id(self) -> str: ...


def _known_form(form: str) -> str:
    if form not in (*FORMS, "any"):
        raise Wrong(f"{form!r} is not a form", f"use any or one of {', '.join(FORMS)}")
    return form


def _once(rows: Sequence[_HasId]) -> None:
    seen: set[str] = set()
    for row in rows:
        if row.id in seen:
            raise Wrong(f"the id {row.id!r} is given twice", "give every row an id of its own")
        seen.add(row.id)


Form = Annotated[str, AfterValidator(_known_form)]
Range = tuple[float, float]


def _rising(pair: Range) -> Range:
    if pair[0] > pair[1]:
        raise Wrong(f"{list(pair)} falls", "write the low figure first")
    return pair


Rising = Annotated[Range, AfterValidator(_rising)]


class Entry(BaseModel):
    """A row of a materials file; it refuses keys it does not know and names where it comes from."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    source: Sentence


class Named(Entry):
    """A row one can ask for by id or by another name."""

    id: Annotated[str, Field(pattern=r"^[a-z0-9_]+$")]
    name: Sentence
    aliases: tuple[str, ...] = ()


class File(BaseModel):
    """A whole file."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    @model_validator(mode="after")
    def _every_id_is_given_once(self) -> File:
        for key in type(self).model_fields:
            rows = getattr(self, key)
            if rows and hasattr(rows[0], "id"):
                _once(rows)
        return self


class WireGauge(Named):
    """A system of gauge numbers: a table of diameters in inches, or a geometric series between two numbers."""

    short: str
    used_for: Sentence
    inches: dict[str, Positive] = Field(default_factory=dict)
    is_geometric: bool = False
    lowest: int = 0
    highest: int = 0

    @model_validator(mode="after")
    def _a_lower_number_is_a_thicker_wire(self) -> WireGauge:
        sizes = [inches for _, inches in sorted((float(number), inches) for number, inches in self.inches.items())]
        if any(thick <= thin for thick, thin in pairwise(sizes)):
            raise Wrong(
                f"{self.id}: the diameters do not fall as the numbers rise", "check the table against its source"
            )
        if not self.is_geometric and not self.inches:
            raise Wrong(f"{self.id} has no sizes", "add [wire_gauge.inches], or is_geometric = true")
        return self


class WireGrade(Named):
    """What a wire is drawn from. Strength and modulus in MPa and GPa, expansion in 1/°C, density in kg/m³."""

    strength_mpa: Positive
    strength_range_mpa: Rising
    modulus_gpa: Positive
    expansion_per_c: Annotated[float, Field(gt=0, lt=1e-4)]
    density_kg_m3: Positive
    stretches: bool
    bends_by_hand: bool


class Joint(Named):
    """How a wire is made fast; the part of its strength that is left."""

    factor: Share


class WireSize(Entry):
    """A diameter that is sold. [mm]"""

    diameter_mm: Positive


class CoatStep(BaseModel):
    """Zinc on wire up to a diameter. [mm, g/m²]"""

    model_config = ConfigDict(extra="forbid", frozen=True)

    up_to_mm: Positive
    mass: Annotated[float, Field(ge=0)]


class Coating(Named):
    """A coat on a wire."""

    mass_g_m2: tuple[CoatStep, ...] = ()
    published_years: Rising | None = None
    needs_none: bool = False

    @model_validator(mode="after")
    def _a_coat_has_a_mass(self) -> Coating:
        if not self.needs_none and not self.mass_g_m2:
            raise Wrong(f"{self.id} has no mass", "add mass_g_m2, or needs_none = true")
        return self


class Exposure(Named):
    """The air at a place: how much zinc it takes in a year. [µm]"""

    zinc_um_per_year: Rising


class MetalClash(Entry):
    """Two materials that spoil each other."""

    id: str
    metal: Literal["electroplated", "aluminium", "zinc_wire", "thin_zinc_wire", "hot_dip", "stainless"]
    against: Literal["preserved_timber", "stainless"]
    verdict: Literal["near_its_limit", "not_enough"]
    text: Sentence
    cure: Sentence


class FixingKind(Named):
    """What holds a wire, and how: its shank bends, two bolts share the pull, or it sits on the face."""

    holds: Literal["cantilever", "bracket", "surface"]
    good: str


class Shanks(Entry):
    """Shank diameters that are sold. [mm]"""

    diameters_mm: tuple[Positive, ...]


class WallAnchor(Named):
    """What one anchor is trusted with until it is tested. [N]"""

    allowed_n: Positive


class Wall(Named):
    """The wall itself; `cap_n` is the most any anchor in it is trusted with before a test. [N]"""

    cap_n: Positive | None = None
    is_doubtful: bool = False


class Timber(Named):
    """A kind of wood; relative density, oven dry."""

    density_ratio: Annotated[float, Field(gt=0.1, lt=1.3)]


class PostKind(Named):
    """A kind of post: allowed bending stress and modulus [MPa, GPa], sizes and lengths sold [mm]."""

    section: Literal["round", "square", "tube", "rolled"]
    allowed_mpa: Positive
    modulus_gpa: Positive
    is_timber: bool = False
    may_end: bool
    sizes_mm: tuple[int, ...]
    lengths_mm: tuple[int, ...]
    density_kg_m3: Positive | None = None
    mass_kg_per_m: Positive | None = None

    @model_validator(mode="after")
    def _its_weight_is_known(self) -> PostKind:
        if self.density_kg_m3 is None and self.mass_kg_per_m is None:
            raise Wrong(f"{self.id} has no weight", "add density_kg_m3 or mass_kg_per_m")
        return self


class Setting(Named):
    """How a post is set; a factor on what loose ground holds."""

    holding_factor: Share


class Soil(Named):
    """Ground: lateral bearing per metre depth [kPa/m], friction [°] or cohesion [kPa], weight [kN/m³], grip [kPa]."""

    bearing_kpa_m: Annotated[float, Field(ge=0)]
    friction_deg: Annotated[float, Field(gt=0, lt=50)] | None = None
    cohesion_kpa: Positive | None = None
    weight_kn_m3: Positive
    skin_kpa: Annotated[float, Field(ge=0)]
    is_doubtful: bool = False


class PullOut(Named):
    """What keeps an end from rising; the ultimate pull where it was measured. [N]"""

    ultimate_n: Positive | None = None


class RowAnchor(Entry):
    """The longest row that an anchor plate of a size serves. [mm, m]"""

    plate_mm: int
    longest_m: Positive


class Crop(Entry):
    """Crop of one grown plant [kg] and the part of its load that the wires carry for good."""

    id: str
    species: tuple[str, ...]
    forms: tuple[Form, ...]
    kg: Rising
    kg_per_tier_over_two: float = 0
    share: Share | None = None

    def fits(self, species: str, form: str) -> bool:
        """Whether this row speaks of the species on the form."""
        return (species in self.species or "any" in self.species) and (form in self.forms or "any" in self.forms)


class Cover(Named):
    """How much wind a face catches, as a drag coefficient on its outline."""

    drag: Annotated[float, Field(gt=0, le=2)]


class Gust(Named):
    """A gust to reckon with. [m/s]"""

    speed_m_s: Positive


class SupportForm(Entry):
    """Where the wires of a form go, and the room a tree takes. [mm]"""

    form: Form
    place: Place = "any"
    first_wire_mm: int
    first_range_mm: Rising
    spacing_mm: int
    spacing_range_mm: Rising
    most_wires: int = 12
    tree_gap_mm: int
    tree_gap_range_mm: Rising
    top_mm: int
    carrier: Literal["all", "lowest"] = "all"
    canes_per_plant: int = 1
    arms_are_level: bool = False

    @model_validator(mode="after")
    def _figures_lie_in_their_ranges(self) -> SupportForm:
        for value, span, key in (
            (self.first_wire_mm, self.first_range_mm, "first_wire_mm"),
            (self.spacing_mm, self.spacing_range_mm, "spacing_mm"),
            (self.tree_gap_mm, self.tree_gap_range_mm, "tree_gap_mm"),
        ):
            if not span[0] <= value <= span[1]:
                raise Wrong(
                    f"{self.form}: {key} {value} lies outside {list(span)}", "widen the range or mend the figure"
                )
        return self


class Limit(Entry):
    """A number a check holds against."""

    id: str
    value: Positive
    unit: str
    text: Sentence


class CautionText(Entry):
    """A caution and what brings it up."""

    id: str
    when: tuple[
        Literal["always", "wire", "drilling", "masonry", "digging", "assumed", "freestanding", "height", "qualified"],
        ...,
    ]
    text: Sentence


class Tie(Named):
    """What holds a shoot: seasons it may stay on young and on old wood, the wood it is for, and how much thicker the wood
    may grow under it. [mm]"""

    good: str
    young_seasons: Annotated[int, Field(ge=0)]
    old_seasons: Annotated[int, Field(ge=0)]
    from_mm: Annotated[float, Field(ge=0)]
    to_mm: Annotated[float, Field(ge=0)]
    gives_mm: Annotated[float, Field(ge=0)]
    rots: bool = False
    gives: bool = False
    cuts_in: bool = False
    advised_against: bool = False


class Good(Named):
    """A thing that is bought and carried."""

    kind: Literal["wire", "fixing", "tensioner", "post", "anchor", "tie", "cane", "small_part", "tool"]
    unit: str
    packs: tuple[Positive, ...] = ()
    packs_kg: tuple[Positive, ...] = ()
    mass_kg: Positive | None = None
    length_mm: int | None = None


class WireGaugeFile(File):
    wire_gauge: tuple[WireGauge, ...]


class WireGradeFile(File):
    wire_grade: tuple[WireGrade, ...]
    joint: tuple[Joint, ...]
    wire_size: tuple[WireSize, ...]


class CoatingFile(File):
    coating: tuple[Coating, ...]
    exposure: tuple[Exposure, ...]
    metal_clash: tuple[MetalClash, ...]


class FixingFile(File):
    fixing: tuple[FixingKind, ...]
    shank: tuple[Shanks, ...]
    wall_anchor: tuple[WallAnchor, ...]
    wall: tuple[Wall, ...]
    timber: tuple[Timber, ...]


class PostFile(File):
    post: tuple[PostKind, ...]
    setting: tuple[Setting, ...]


class SoilFile(File):
    soil: tuple[Soil, ...]
    pull_out: tuple[PullOut, ...]
    row_anchor: tuple[RowAnchor, ...]


class LoadFile(File):
    crop: tuple[Crop, ...]
    cover: tuple[Cover, ...]
    gust: tuple[Gust, ...]


class SupportFormFile(File):
    support_form: tuple[SupportForm, ...]


class LimitFile(File):
    limit: tuple[Limit, ...]


class CautionFile(File):
    caution: tuple[CautionText, ...]


class TieFile(File):
    tie: tuple[Tie, ...]


class GoodFile(File):
    good: tuple[Good, ...]
