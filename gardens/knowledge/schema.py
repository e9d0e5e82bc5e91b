"""The species record: what its own file says, and what it inherits from its group and from all trees."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field

from gardens.knowledge.fact_schema import (
    Alias,
    Bearing,
    BudRule,
    Chill,
    CropLoad,
    Cultivar,
    Hardiness,
    Pollination,
    RenewalNumbers,
    Suitability,
    Thinning,
    Wood,
)
from gardens.knowledge.rule_schema import Caution, Closed, Contradiction, Day, Profile, Rule, Task, Watch, _one_of
from gardens.knowledge.when import ANCHORS, When
from gardens.knowledge.words import form_group

Anchor = Annotated[str, _one_of(ANCHORS, "stage")]
Calendar = dict[Literal["any"] | Profile, dict[Anchor, Day]]


class RuleFile(Rule):
    """What a group of species and a single species may both say.

    ``calendar`` gives the usual day of a stage, for all profiles ("any") or for one, where neither sighting nor
    weather nor normals tell better. ``drop`` names inherited tasks, closures and watches that do not hold here.
    """

    calendar: Calendar = Field(default_factory=dict)
    drop: tuple[str, ...] = ()
    task: tuple[Task, ...] = ()
    closed: tuple[Closed, ...] = ()
    watch: tuple[Watch, ...] = ()
    caution: tuple[Caution, ...] = ()
    contradiction: tuple[Contradiction, ...] = ()


class GroupFile(RuleFile):
    """groups/<group>.toml. ``inherits`` names the wider group its rules build on; the widest is "all"."""

    name: str
    inherits: str = "all"


class SpeciesFile(RuleFile):
    """species/<id>.toml"""

    name: str
    botanical: tuple[str, ...] = Field(min_length=1)
    group: str
    alias: tuple[Alias, ...] = ()
    is_evergreen: bool = False
    wood: Wood
    renewal: RenewalNumbers
    bud_rule: tuple[BudRule, ...] = ()
    suitability: Suitability
    thinning: tuple[Thinning, ...] = Field(min_length=1)
    crop_load: tuple[CropLoad, ...] = ()
    bearing: Bearing | None = None
    chill: tuple[Chill, ...] = ()
    cultivar: tuple[Cultivar, ...] = ()
    pollination: Pollination | None = None
    hardiness: Hardiness


@dataclass(frozen=True, kw_only=True)
class Species:
    """One species with everything that holds for it. ``facts`` is its own file; the rest is merged with its group."""

    id: str
    facts: SpeciesFile
    lineage: tuple[str, ...]
    """The groups it belongs to, the nearest first: ("apple", "pome", "all")."""
    tasks: tuple[Task, ...]
    closed: tuple[Closed, ...]
    watches: tuple[Watch, ...]
    cautions: tuple[Caution, ...]
    contradictions: tuple[Contradiction, ...]
    calendar: Mapping[str, Mapping[str, When]]
    """Profile → stage or mark → usual day; complete for every anchor."""

    @property
    def name(self) -> str:
        """The plain name: "apple (spur-bearing)"."""
        return self.facts.name

    @property
    def group(self) -> str:
        """The nearest group: apple, pear, pome, stone, vine, …"""
        return self.facts.group

    @property
    def kinds(self) -> tuple[str, ...]:
        """Every kind of work that makes sense for the species, or that its rules speak against all year."""
        forbidden = (kind for closure in self.closed if closure.always for kind in closure.kinds)
        return tuple(dict.fromkeys([*(task.kind for task in self.tasks), *forbidden]))

    def grade(self, form: str) -> int:
        """How well a form suits: 3 good, 2 possible with care, 1 poor, 0 no.

        Raises:
            ValueError: for an unknown form.
        """
        grades = self.facts.suitability.grades
        return grades.get(form, grades[form_group(form)])

    def task(self, task_id: str) -> Task:
        """The task of this name.

        Raises:
            KeyError: if the species has none.
        """
        for task in self.tasks:
            if task.id == task_id:
                return task
        raise KeyError(task_id)
