"""What is due on trees in a season: rows in, needs out."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from business.queries.profile import our_profile
from gardens.climate import MonthlyNormals, StageDate, season_year
from gardens.models import Record as RecordRow
from gardens.models import Site, Tree
from gardens.pruning.book import SpeciesYear, Traits, YearBook
from gardens.pruning.diseases import DiseaseNote, diseases_holding
from gardens.pruning.marks import site_marks
from gardens.pruning.needs import SeasonWork, work_of_season
from gardens.pruning.seasons import Season
from gardens.pruning.side_wood import SideWood, side_wood
from gardens.queries.trees import standing_records
from gardens.services.practice import our_practice
from gardens.services.rules import our_knowledge
from gardens.services.site_season import SeasonBook, climate_profile_of
from gardens.services.standing import facts_of, records_of
from gardens.training import Record, TrainingPractice, TreeState, fold, steps_for_season
from gardens.units import Units


@dataclass(frozen=True, kw_only=True)
class TreeWork:
    """One tree, how it stands, what its records tell of its side wood, and its work of a season."""

    tree: Tree
    state: TreeState
    wood: SideWood
    work: SeasonWork


@dataclass
class DueBook:
    """Answers what is due; keeps every species' year at a site, so that alike trees share the reckoning."""

    as_of: date
    units: Units = "metric"
    seasons: SeasonBook = field(init=False)
    years: YearBook = field(init=False)
    practice: TrainingPractice = field(init=False)
    _fallback_profile: str = field(init=False)
    _profiles: dict[int, str] = field(default_factory=dict)
    _seasons: dict[tuple[int, str, MonthlyNormals, bool], tuple[Mapping[str, StageDate], Season]] = field(
        default_factory=dict
    )
    _notes: dict[int, tuple[DiseaseNote, ...]] | None = None

    def __post_init__(self) -> None:
        self.seasons = SeasonBook(self.as_of)
        self.years = YearBook(our_knowledge())
        self.practice = our_practice()
        self._fallback_profile = our_profile().climate_profile

    def prepare(self, sites: Iterable[Site], year: int) -> None:
        """Reckon the season of many sites together, before asking for one after the other; see `SeasonBook.prepare`."""
        self.seasons.prepare(sites, year)
        self._notes_at(0)

    def species_year(self, site: Site, tree: Tree, year: int) -> SpeciesYear:
        """The year of the tree's species at its site."""
        return self._species_year(site, tree, year, self._wood(site, records_of(tree)))

    def _species_year(self, site: Site, tree: Tree, year: int, wood: SideWood) -> SpeciesYear:
        traits = Traits(form=tree.form, cultivar=tree.cultivar, diseases=self.diseases(site, wood, year))
        return self.years.year(tree.species, self._season(site, tree, year), traits)

    def _season(self, site: Site, tree: Tree, year: int) -> Season:
        """One season for all sites that share stages, profile and normals."""
        stages = self.seasons.stages(site, tree.species, year, tree.cultivar)
        if site.pk not in self._profiles:
            self._profiles[site.pk] = climate_profile_of(site, self._fallback_profile)
        profile, normals, is_southern = self._profiles[site.pk], self.seasons.normals(site), site.latitude_deg < 0
        key = (id(stages), profile, normals, is_southern)
        if key not in self._seasons:
            dated = {**stages, **site_marks(normals, site.place, year)}
            # The stages are kept beside the season: while they live, their id cannot be given to others.
            self._seasons[key] = (stages, Season(place=site.place, profile=profile, year=year, stages=dated))
        return self._seasons[key][1]

    def diseases(self, site: Site, wood: SideWood, year: int) -> frozenset[str]:
        """The diseases whose records hold at a tree in a season."""
        in_garden = self._notes_at(site.pk)
        if not in_garden:
            return frozenset()
        known, is_southern = self.years.knowledge.diseases, site.latitude_deg < 0
        return diseases_holding(wood.disease_notes, known, year, is_southern=is_southern, in_garden=in_garden)

    def _notes_at(self, site_id: int) -> tuple[DiseaseNote, ...]:
        if self._notes is None:
            self._notes = _disease_notes()
        return self._notes.get(site_id, ())

    def _wood(self, site: Site, records: Sequence[Record]) -> SideWood:
        return side_wood(records, on=self.as_of, is_southern=site.latitude_deg < 0)

    def work_of(self, site: Site, tree: Tree, year: int) -> TreeWork:
        """What one tree is due in a season."""
        records = records_of(tree)
        state = fold(facts_of(tree), records, self.as_of, practice=self.practice)
        wood = self._wood(site, records)
        steps = steps_for_season(state, year, practice=self.practice, units=self.units)
        work = work_of_season(state, self._species_year(site, tree, year, wood), steps, wood)
        return TreeWork(tree=tree, state=state, wood=wood, work=work)

    def work_at(self, site: Site, trees: Sequence[Tree], year: int) -> Iterator[TreeWork]:
        """What the trees of one site are due."""
        for tree in trees:
            yield self.work_of(site, tree, year)

    def year_of(self, site: Site) -> int:
        """The season the site is in now."""
        return season_year(self.as_of, is_southern=site.place.is_southern)


def _disease_notes() -> dict[int, tuple[DiseaseNote, ...]]:
    """Site → what was ever written of diseases there."""
    found: dict[int, list[DiseaseNote]] = defaultdict(list)
    rows = standing_records().filter(kind=RecordRow.Kind.SEEN, what="disease", tree__isnull=False)
    for site_id, on, text, value in rows.values_list("tree__site_id", "on", "text", "value"):
        found[site_id].append(DiseaseNote(on=on, text=text, is_clear=value == 0))
    return {site_id: tuple(notes) for site_id, notes in found.items()}
