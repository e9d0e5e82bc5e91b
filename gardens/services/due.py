"""What is due on trees in a season: rows in, needs out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date

from business.queries.profile import our_profile
from gardens.climate import season_year
from gardens.models import Site, Tree
from gardens.pruning.book import SpeciesYear, Traits, YearBook
from gardens.pruning.marks import site_marks
from gardens.pruning.needs import SeasonWork, work_of_season
from gardens.pruning.seasons import Season
from gardens.services.practice import our_practice
from gardens.services.rules import our_knowledge
from gardens.services.site_season import SeasonBook, climate_profile_of
from gardens.services.standing import tree_state
from gardens.training import TrainingPractice, TreeState, steps_for_season
from gardens.units import Units


@dataclass(frozen=True, kw_only=True)
class TreeWork:
    """One tree, how it stands, and its work of a season."""

    tree: Tree
    state: TreeState
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

    def __post_init__(self) -> None:
        self.seasons = SeasonBook(self.as_of)
        self.years = YearBook(our_knowledge())
        self.practice = our_practice()
        self._fallback_profile = our_profile().climate_profile

    def species_year(self, site: Site, tree: Tree, year: int) -> SpeciesYear:
        """The year of the tree's species at its site."""
        stages = self.seasons.stages(site, tree.species, year)
        season = Season(
            place=site.place,
            profile=climate_profile_of(site, self._fallback_profile),
            year=year,
            stages={**stages, **site_marks(self.seasons.normals(site), site.place, year)},
        )
        return self.years.year(tree.species, season, Traits(form=tree.form, cultivar=tree.cultivar))

    def work_of(self, site: Site, tree: Tree, year: int) -> TreeWork:
        """What one tree is due in a season."""
        state = tree_state(tree, self.as_of, self.practice)
        steps = steps_for_season(state, year, practice=self.practice, units=self.units)
        return TreeWork(tree=tree, state=state, work=work_of_season(state, self.species_year(site, tree, year), steps))

    def work_at(self, site: Site, trees: Sequence[Tree], year: int) -> Iterator[TreeWork]:
        """What the trees of one site are due."""
        for tree in trees:
            yield self.work_of(site, tree, year)

    def year_of(self, site: Site) -> int:
        """The season the site is in now."""
        return season_year(self.as_of, is_southern=site.place.is_southern)
