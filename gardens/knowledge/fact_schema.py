"""What a species record may say besides its rules: bearing wood, forms, crop, seasons of cold and heat."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from gardens.knowledge.files import Wrong
from gardens.knowledge.rule_schema import FormOrGroup, Months, Rule, Sentence, Source

Span = Annotated[tuple[float, float], Field(description="from, to")]

BearsOn = Literal[
    "spur",
    "current_shoot",
    "one_year_shoot",
    "one_year_base",
    "one_year_tip",
    "short_shoot_tip",
    "one_year_cane",
    "current_cane",
    "outer_canopy",
]
Renewal = Literal["spurs", "one_year_shoots", "spurs_and_shoots", "vine", "arms", "canes", "light", "flowering_shoots"]


class Alias(Rule):
    """Another name of the species. ``note`` tells which choice the name hides."""

    name: str
    note: str = ""


class Wood(Rule):
    """Which wood bears, what is kept and what is taken or renewed in the winter or renewal decision."""

    bears_on: tuple[BearsOn, ...] = Field(min_length=1)
    renewal: Renewal
    bearing: Sentence
    keep: Sentence
    remove: Sentence
    source: Source


class RenewalNumbers(Rule):
    """The numbers the renewal logic works with; lengths in cm.

    ``flag_age_years``: wood of a bearing shoot this old is flagged for cutting out. ``share_per_year``: part of the old
    bearing wood taken each year. ``spacing_cm``: distance between bearing shoots or spurs along their limb.
    ``buds_per_spur`` and ``thin_from_year`` rule spur systems. The vine's ``bud_rules`` name balanced pruning.
    """

    flag_age_years: int | None = Field(default=None, ge=1, le=40)
    share_per_year: float | None = Field(default=None, gt=0, le=1)
    spacing_cm: Span | None = None
    buds_per_spur: Span | None = None
    thin_from_year: int | None = Field(default=None, ge=2, le=30)
    cane_buds: Span | None = None
    renewal_spur_buds: int | None = None
    leave_uncut_below_cm: float | None = None
    canes_per_m: Span | None = None
    source: Source


class BudRule(Rule):
    """Balanced pruning of a vine: buds kept for the first pound of winter prunings, and for each further pound.

    ``words`` are names of cultivars it is meant for; a rule without words holds for all others.
    """

    name: str
    sorts: str
    words: tuple[str, ...] = ()
    first_pound: int = Field(ge=5, le=100)
    each_further_pound: int = Field(ge=0, le=50)
    most: int = Field(ge=20, le=150)
    source: Source


class Suitability(Rule):
    """How well a form suits: 3 good, 2 possible with care, 1 poor, 0 no. Keys: groups of forms, or single forms."""

    grades: dict[FormOrGroup, Annotated[int, Field(ge=0, le=3)]]
    note: str = ""
    source: Source

    @model_validator(mode="after")
    def _covers_every_group(self) -> Suitability:
        missing = [
            group for group in ("tiers", "cordon", "fan", "palmette", "vine", "informal") if group not in self.grades
        ]
        if missing:
            raise Wrong(f"no grade for {', '.join(missing)}", "give every group of forms a grade 0 to 3")
        return self


class Thinning(Rule):
    """How far apart fruit is left, by one source. The chosen one gives the numbers of the work order."""

    use: str
    leave: str
    spacing_cm: Span | None = None
    per_cluster: Span | None = None
    at: str
    is_chosen: bool = False
    is_needed: Literal["yes", "when_heavy", "no"] = "yes"
    source: Source


class CropLoad(Rule):
    """Fruits per cm² of trunk cross-section (TCSA). [1/cm²]"""

    per_cm2: Span
    most: float
    text: str
    source: Source


class Yield(Rule):
    """Fruit of one tree in a year when full. [kg]"""

    form: FormOrGroup | Literal["free"]
    kg: Span
    source: Source


class Bearing(Rule):
    """From planting to full crop, in seasons; when it is picked; how much it bears.

    ``no_fruit_until_year``: blossom or fruitlets come off up to and with this season.
    """

    first_crop_year: Span
    full_crop_year: Span
    harvest_months: Months
    no_fruit_until_year: int = 1
    first_crop_note: str = ""
    buds_alive_for_full_crop: float | None = Field(default=None, gt=0, le=1)
    yields: tuple[Yield, ...] = ()
    source: Source


class Chill(Rule):
    """Cold and heat a bud needs: chilling hours (0–7 °C), chill portions (dynamic model), GDH from chill to bloom."""

    hours: Span | None = None
    portions: Span | None = None
    gdh: Span | None = None
    bloom_months: Months = ()
    text: str = ""
    source: Source


class Cultivar(Rule):
    """What is known of one cultivar."""

    name: str
    portions: float | None = None
    bears_as: str = ""
    note: str = ""
    source: Source


class Pollination(Rule):
    """Who pollinates whom."""

    kind: Literal["cross", "self", "partly_self", "none_needed", "male_and_female", "wind"]
    text: Sentence
    source: Source


class Hardiness(Rule):
    """Where winter cold begins to harm: [°C] from the tenderest to the hardiest sorts; USDA zones as printed."""

    damage_c: Span | None = None
    zones: str = ""
    text: Sentence
    source: Source
