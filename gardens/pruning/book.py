"""The year of a species at a site, reckoned once and kept: which tasks, which windows, what is closed."""

from __future__ import annotations

from dataclasses import dataclass, field

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
class SpeciesYear:
    """One species in one form at one site in one tree-year, with everything dated. Build it with `YearBook.year`."""

    species: Species
    season: Season
    traits: Traits
    knowledge: Knowledge
    days: YearDays
    tasks: tuple[Task, ...]
    watches: tuple[Watch, ...]
    closed: tuple[Closed, ...]
    closures: tuple[DatedClosure, ...]
    _dated: dict[int, tuple[DatedTask, ...]] = field(default_factory=dict)

    def dated(self, away: int = 0) -> tuple[DatedTask, ...]:
        """Every task that speaks of this tree, with its windows in the year so many seasons away (-1 … 1)."""
        if away not in self._dated:
            self._dated[away] = tuple(date_task(task, self.days, self.closures, away) for task in self.tasks)
        return self._dated[away]

    def around(self) -> tuple[tuple[int, DatedTask], ...]:
        """Every dated task of the years before, of and after the season."""
        return tuple((away, dated) for away in NEIGHBOURS for dated in self.dated(away))


class YearBook:
    """Keeps each species' year once per site season. Not shared between threads while it fills."""

    def __init__(self, knowledge: Knowledge) -> None:
        self.knowledge = knowledge
        self._years: dict[tuple[object, ...], SpeciesYear] = {}
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
            self._years[key] = _species_year(species, season, known, self.knowledge)
        return self._years[key]

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


def _species_year(species: Species, season: Season, traits: Traits, knowledge: Knowledge) -> SpeciesYear:
    days = YearDays(species, season)
    closed = tuple(rule for rule in species.closed if _speaks_of(rule, season, traits))
    return SpeciesYear(
        species=species,
        season=season,
        traits=traits,
        knowledge=knowledge,
        days=days,
        tasks=tuple(task for task in species.tasks if _speaks_of(task, season, traits)),
        watches=tuple(watch for watch in species.watches if _speaks_of(watch, season, traits)),
        closed=closed,
        closures=closed_spans(closed, days),
    )


def _speaks_of(rule: Applies, season: Season, traits: Traits) -> bool:
    return (
        season.profile in rule.profiles
        and applies_to_form(rule, traits.form, form_group(traits.form))
        and applies_to_cultivar(rule, traits.cultivar)
        and (not rule.if_disease or rule.if_disease in traits.diseases)
        and (not rule.unless_disease or rule.unless_disease not in traits.diseases)
    )
