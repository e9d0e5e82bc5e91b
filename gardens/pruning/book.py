"""The year of a species at a site, reckoned once and kept: which tasks, which windows, what is closed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from gardens.knowledge.ground_schema import Standard
from gardens.knowledge.load import Knowledge
from gardens.knowledge.rule_schema import Applies, Closed, Task, Watch, applies_to_cultivar, applies_to_form
from gardens.knowledge.schema import Species
from gardens.knowledge.words import form_group
from gardens.pruning.seasons import Season, YearDays
from gardens.pruning.windows import NEIGHBOURS, DatedClosure, DatedTask, closed_spans, date_task


@dataclass(frozen=True)
class Traits:
    """What of a tree decides which rules speak of it: form, the words of its cultivar that rules know, diseases."""

    form: str
    cultivar: str = ""
    diseases: frozenset[str] = frozenset()


@dataclass
class _SharedDates:
    """One species' year at a site, whatever the tree: the days of its rules and the windows of its tasks, kept."""

    days: YearDays
    _closures: dict[tuple[int, ...], tuple[DatedClosure, ...]] = field(default_factory=dict)
    _tasks: dict[tuple[int, int, int], DatedTask] = field(default_factory=dict)

    def closures(self, rules: tuple[Closed, ...]) -> tuple[DatedClosure, ...]:
        key = tuple(map(id, rules))
        if key not in self._closures:
            self._closures[key] = closed_spans(rules, self.days)
        return self._closures[key]

    def dated(self, task: Task, closures: tuple[DatedClosure, ...], away: int) -> DatedTask:
        key = (id(task), id(closures), away)
        found = self._tasks.get(key)
        if found is None:
            found = self._tasks[key] = date_task(task, self.days, closures, away)
        return found


@dataclass
class SpeciesYear:
    """One species in one form at one site in one tree-year, with everything dated. Build it with `YearBook.year`."""

    species: Species
    season: Season
    traits: Traits
    knowledge: Knowledge
    tasks: tuple[Task, ...]
    watches: tuple[Watch, ...]
    closed: tuple[Closed, ...]
    closures: tuple[DatedClosure, ...]
    by_kind: Mapping[str, tuple[Task, ...]]
    """The tasks by kind of work, in the order of the rules."""
    shared: _SharedDates
    standards: dict[tuple[str, str], Standard | None] = field(default_factory=dict)
    """Labour standards looked up so far, by kind of work and the name a rule gives; shared by alike trees."""
    _dated: dict[int, tuple[DatedTask, ...]] = field(default_factory=dict)

    @property
    def days(self) -> YearDays:
        """The days the rules name."""
        return self.shared.days

    def dated(self, away: int = 0) -> tuple[DatedTask, ...]:
        """Every task that speaks of this tree, with its windows in the year so many seasons away (-1 … 1)."""
        if away not in self._dated:
            self._dated[away] = tuple(self.date(task, away) for task in self.tasks)
        return self._dated[away]

    def date(self, task: Task, away: int = 0) -> DatedTask:
        """One task with its windows; a tree asks for a part of all only."""
        return self.shared.dated(task, self.closures, away)

    def around(self) -> tuple[tuple[int, DatedTask], ...]:
        """Every dated task of the years before, of and after the season."""
        return tuple((away, dated) for away in NEIGHBOURS for dated in self.dated(away))


class YearBook:
    """Keeps each species' year once per site season. Not shared between threads while it fills."""

    def __init__(self, knowledge: Knowledge) -> None:
        self.knowledge = knowledge
        self._years: dict[tuple[object, ...], SpeciesYear] = {}
        self._shared: dict[tuple[object, ...], _SharedDates] = {}
        self._rules: dict[tuple[str, str, Traits], _Rules] = {}
        self._words: dict[str, tuple[frozenset[str], frozenset[str]]] = {}

    def year(self, species_id: str, season: Season, traits: Traits) -> SpeciesYear:
        """The year of a species for trees of these traits.

        Raises:
            KeyError: for a species that is not known; resolve names first.
            ValueError: for an unknown form.
        """
        species = self.knowledge.species[species_id]
        known = self._known_traits(species, traits)
        key = (species_id, known, season.key)
        if key not in self._years:
            self._years[key] = self._reckoned(species, season, known)
        return self._years[key]

    def _reckoned(self, species: Species, season: Season, traits: Traits) -> SpeciesYear:
        key = (species.id, season.profile, traits)
        if key not in self._rules:
            self._rules[key] = _rules_for(species, season.profile, traits)
        rules = self._rules[key]
        shared = self._shared.setdefault((species.id, season.key), _SharedDates(YearDays(species, season)))
        return SpeciesYear(
            species=species,
            season=season,
            traits=traits,
            knowledge=self.knowledge,
            tasks=rules.tasks,
            watches=rules.watches,
            closed=rules.closed,
            closures=shared.closures(rules.closed),
            by_kind=rules.by_kind,
            shared=shared,
            standards=rules.standards,
        )

    def _known_traits(self, species: Species, traits: Traits) -> Traits:
        """The traits without what no rule of the species asks for, so that alike trees share a year."""
        if species.id not in self._words:
            rules: tuple[Applies, ...] = (*species.tasks, *species.closed, *species.watches)
            cultivars = frozenset(word for rule in rules for word in (*rule.cultivars, *rule.not_cultivars))
            diseases = frozenset(word for rule in rules for word in (rule.if_disease, rule.unless_disease) if word)
            self._words[species.id] = (cultivars, diseases)
        cultivars, diseases = self._words[species.id]
        name = traits.cultivar if cultivars else ""
        return Traits(traits.form, name, traits.diseases & diseases)


@dataclass(frozen=True)
class _Rules:
    """The rules of a species that speak of trees of the same traits in one climate profile."""

    tasks: tuple[Task, ...]
    watches: tuple[Watch, ...]
    closed: tuple[Closed, ...]
    by_kind: Mapping[str, tuple[Task, ...]]
    standards: dict[tuple[str, str], Standard | None] = field(default_factory=dict)


def _rules_for(species: Species, profile: str, traits: Traits) -> _Rules:
    tasks = tuple(task for task in species.tasks if _speaks_of(task, profile, traits))
    return _Rules(
        tasks=tasks,
        by_kind={kind: tuple(task for task in tasks if task.kind == kind) for kind in {task.kind for task in tasks}},
        watches=tuple(watch for watch in species.watches if _speaks_of(watch, profile, traits)),
        closed=tuple(rule for rule in species.closed if _speaks_of(rule, profile, traits)),
    )


def _speaks_of(rule: Applies, profile: str, traits: Traits) -> bool:
    return (
        profile in rule.profiles
        and applies_to_form(rule, traits.form, form_group(traits.form))
        and applies_to_cultivar(rule, traits.cultivar)
        and (not rule.if_disease or rule.if_disease in traits.diseases)
        and (not rule.unless_disease or rule.unless_disease not in traits.diseases)
    )
