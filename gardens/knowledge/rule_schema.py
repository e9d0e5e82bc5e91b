"""What a rule of the trade may say: a task with its window, a closed season, a thing to look for, a caution."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, PlainValidator, ValidationInfo, model_validator

from gardens.knowledge.files import Wrong
from gardens.knowledge.when import When, WhenError
from gardens.knowledge.words import (
    FORM_GROUPS,
    FORMS,
    HARD_CUTS,
    PLAIN_SOURCES,
    PROFILES,
    SEASONS,
    TREE_STAGES,
    WORK_KINDS,
)


class Rule(BaseModel):
    """A record of a rule file: frozen, and closed to keys it does not know."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)


def _listed(value: Any) -> Any:
    return (value,) if isinstance(value, str) else value


def _spelled_out(value: Any, info: ValidationInfo) -> str:
    """The title of a source named by its key in sources.toml; a plain source as it stands."""
    if not isinstance(value, str) or not value.strip():
        raise Wrong(f"{value!r} is not a source", f"name a key of sources.toml or one of {', '.join(PLAIN_SOURCES)}")
    known: Mapping[str, Any] | None = (info.context or {}).get("sources")
    if known is not None and value not in known and value not in PLAIN_SOURCES:
        raise Wrong(f"{value!r} is not a source", f"add it to sources.toml, or use {', '.join(PLAIN_SOURCES)}")
    return str(known[value].title) if known is not None and value in known else value


def _day(value: Any) -> When:
    if isinstance(value, When):
        return value
    if not isinstance(value, str):
        raise Wrong(f"{value!r} is not a day of the tree's year", 'write a text such as "leaf_fall+14d"')
    try:
        return When.parse(value)
    except WhenError as error:
        raise Wrong(error.wrong, error.remedy) from error


def _one_of(known: tuple[str, ...], noun: str) -> PlainValidator:
    def pick(value: Any) -> str:
        if value not in known:
            raise Wrong(f"{value!r} is not a {noun}", f"use one of {', '.join(known)}")
        return str(value)

    return PlainValidator(pick)


Day = Annotated[When, PlainValidator(_day)]
Source = Annotated[
    tuple[Annotated[str, PlainValidator(_spelled_out)], ...], BeforeValidator(_listed), Field(min_length=1)
]
Kind = Annotated[str, _one_of(WORK_KINDS, "kind of work")]
Profile = Annotated[str, _one_of(PROFILES, "climate profile")]
FormOrGroup = Annotated[str, _one_of((*FORM_GROUPS, *FORMS), "form or group of forms")]
TreeStage = Annotated[str, _one_of(TREE_STAGES, "stage of a tree")]
Season = Annotated[str, _one_of(SEASONS, "part of the year")]
Months = Annotated[tuple[Annotated[int, Field(ge=1, le=12)], ...], Field(max_length=12)]
Slug = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*$")]
Sentence = Annotated[str, Field(min_length=3)]

NumberKey = Literal[
    "leaves_from_limb",
    "leaves_from_spur",
    "leaves_in_summer",
    "leaves_after_picking",
    "leave_uncut_below_cm",
    "buds",
    "spur_buds",
    "cane_buds",
    "stub_cm",
    "share_of_old_wood",
    "spacing_cm",
    "height_cm",
    "lateral_cm",
    "beyond_bud_cm",
]


class Applies(Rule):
    """To which trees a rule applies; empty means to all.

    ``cultivars`` are words looked for in the tree's cultivar ("male", "Irish Peach"). ``if_disease`` and
    ``unless_disease`` name a disease of diseases.toml, which says where and how long a record of it holds.
    """

    profiles: tuple[Profile, ...] = PROFILES
    forms: tuple[FormOrGroup, ...] = ()
    not_forms: tuple[FormOrGroup, ...] = ()
    cultivars: tuple[str, ...] = ()
    not_cultivars: tuple[str, ...] = ()
    if_disease: str = ""
    unless_disease: str = ""


class Task(Applies):
    """One piece of work and the window its wound and its purpose leave it.

    ``role`` "training" gives dates to steps the form asks for and makes no need of its own. ``always`` means that no
    season is closed. ``stages`` are those of the tree (empty: all); ``from_year`` and ``until_year`` count the seasons
    since planting, the first being 1. ``months`` are those the source prints, for the northern half; the window must touch them.
    ``passes`` splits the window into that many visits. ``cut`` is what the crew does: one act a line, verb first; ``care`` are
    lines that hold as well where the form itself says how to cut.
    ``numbers`` repeats the amounts of ``cut`` for programs.
    """

    id: Slug
    kind: Kind
    role: Literal["upkeep", "training"] = "upkeep"
    stages: tuple[TreeStage, ...] = ()
    from_year: int = Field(default=1, ge=1, le=60)
    until_year: int | None = Field(default=None, ge=1, le=60)
    seasons: tuple[Season, ...] = ()
    opens: Day | None = None
    best_from: Day | None = None
    best_until: Day | None = None
    closes: Day | None = None
    always: bool = False
    months: Months = ()
    every_years: int = Field(default=1, ge=1, le=10)
    passes: int = Field(default=1, ge=1, le=6)
    cut: str = ""
    care: str = ""
    why: Sentence
    gates: tuple[str, ...] = ()
    standard: str = ""
    skill: str = ""
    optional: bool = False
    numbers: Mapping[NumberKey, float] = Field(default_factory=dict)
    source: Source
    origin: str = ""

    @property
    def rule(self) -> str:
        """The name of the rule everywhere: "stone/formative"."""
        return f"{self.origin}/{self.id}"

    @property
    def instruction(self) -> str:
        """What the crew does, whole."""
        return "\n".join(text.strip() for text in (self.cut, self.care) if text.strip())

    @model_validator(mode="after")
    def _has_a_window(self) -> Task:
        if self.always == (self.opens is not None or self.closes is not None):
            raise Wrong(
                f"task {self.id} has no window of its own" if not self.always else f"task {self.id} has two windows",
                "give opens and closes, or always = true",
            )
        if not self.always and (self.opens is None or self.closes is None):
            raise Wrong(f"task {self.id} has half a window", "give both opens and closes")
        if self.role == "upkeep" and not self.cut:
            raise Wrong(f"task {self.id} does not say what to do", "add cut = one act a line, verb first")
        return self


class Closed(Applies):
    """A season in which kinds of work are closed, and why.

    ``from`` may lie after ``to``: the span then runs over the turn of the year. ``kinds`` are hard cuts unless named;
    ``allow`` names tasks that pass all the same. ``warn_only`` keeps the work allowed and says the reason.
    """

    id: Slug
    starts: Day | None = Field(default=None, alias="from")
    ends: Day | None = Field(default=None, alias="to")
    always: bool = False
    code: str
    why: Sentence
    kinds: tuple[Kind, ...] = HARD_CUTS
    allow: tuple[str, ...] = ()
    warn_only: bool = False
    source: Source
    origin: str = ""

    @property
    def rule(self) -> str:
        """The name of the rule everywhere: "stone/silver_leaf"."""
        return f"{self.origin}/{self.id}"

    @model_validator(mode="after")
    def _has_a_span(self) -> Closed:
        if self.always == (self.starts is not None or self.ends is not None):
            raise Wrong(f"closure {self.id} has no span of its own", "give from and to, or always = true")
        if not self.always and (self.starts is None or self.ends is None):
            raise Wrong(f"closure {self.id} has half a span", "give both from and to")
        return self


class Watch(Applies):
    """What to look for on an inspection, when, and what to do about it. ``pick`` marks work with the hands."""

    id: Slug
    months: Months = ()
    opens: Day | None = None
    closes: Day | None = None
    look_for: Sentence
    act: Sentence
    source: Source
    origin: str = ""

    @property
    def rule(self) -> str:
        """The name of the rule everywhere: "apple/codling_moth"."""
        return f"{self.origin}/{self.id}"

    @model_validator(mode="after")
    def _has_a_time(self) -> Watch:
        has_span = self.opens is not None and self.closes is not None
        if has_span == bool(self.months):
            raise Wrong(f"watch {self.id} has no time of its own", "give months = [1, 2], or opens and closes")
        return self


CautionTopic = Literal["sap", "thorns", "poison", "nest", "law", "allergy", "ladder", "disease", "wood", "chemicals"]


class Caution(Rule):
    """A danger to people, beasts or the law that a crew must know before the work. ``kinds`` empty: always."""

    topic: CautionTopic
    text: Sentence
    kinds: tuple[Kind, ...] = ()
    months: Months = ()
    source: Source


class Contradiction(Rule):
    """Where sources disagree: both stay, and the one the program follows is explained."""

    question: Sentence
    a: Sentence
    a_source: Source
    b: Sentence
    b_source: Source
    chosen: Literal["a", "b", "both", "by_profile", "middle"]
    because: Sentence


def applies_to_form(rule: Applies, form: str, group: str) -> bool:
    """Whether a rule speaks of a form. ``group`` is the form's group."""
    if rule.forms and form not in rule.forms and group not in rule.forms:
        return False
    return form not in rule.not_forms and group not in rule.not_forms


def applies_to_cultivar(rule: Applies, cultivar: str) -> bool:
    """Whether a rule speaks of a cultivar, by the words it names."""
    name = cultivar.casefold()
    if rule.cultivars and not any(_names(word, name) for word in rule.cultivars):
        return False
    return not any(_names(word, name) for word in rule.not_cultivars)


def _names(word: str, name: str) -> bool:
    return f" {word.casefold()} " in f" {name.replace(',', ' ')} "
