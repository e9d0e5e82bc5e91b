"""One question, one answer: how a tree stands on a day, what is due, what may be done, when the form is full."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from business.errors import BadInput, Fault
from gardens.climate import (
    DailyWeather,
    MonthlyNormals,
    Place,
    StageDate,
    climate_profile,
    estimated_normals,
    phenology_of,
    season_year,
    stage_dates,
    wet_season_starts,
)
from gardens.knowledge import Knowledge, load_knowledge
from gardens.knowledge import form_schema as forms
from gardens.knowledge.schema import Species
from gardens.knowledge.when import Frame
from gardens.knowledge.words import PROFILES
from gardens.pruning.book import SpeciesYear, Traits, YearBook
from gardens.pruning.diseases import diseases_holding
from gardens.pruning.gates import Situation
from gardens.pruning.marks import WET_MM_PER_WEEK, site_marks
from gardens.pruning.needs import Blocked, work_of_season
from gardens.pruning.seasons import Season
from gardens.pruning.side_wood import side_wood
from gardens.pruning.values import Need, Verdict, Warning
from gardens.pruning.verdicts import verdicts_on
from gardens.pruning.warnings import warnings_for, with_verdicts
from gardens.training import (
    FORM_ONLY,
    TrainingPractice,
    fold,
    forecast,
    leaning_run_mm,
    project,
    spacing_for,
    steps_for_season,
    vigour_class,
)
from gardens.training.state import FORMS, Forecast, Record, TreeFacts, TreeState

AHEAD = timedelta(days=365)
NEAR = timedelta(days=60)
USUAL_RUN_MM = 1500

PHENOLOGY_GROUPS = {"cane": "soft", "ribes": "soft"}


@dataclass(frozen=True, kw_only=True)
class AdviceRequest:
    """What is asked. Lengths in mm; None where the program should take the usual.

    ``normals`` and ``profile`` are guessed from the place where not given; ``weather`` are daily temperatures up to the
    day; ``observed`` are stages seen this season; ``records`` what was recorded at the tree.
    """

    species: str
    form: str
    planted_on: date
    on: date
    place: Place
    tiers: int | None = None
    rootstock: str | None = None
    leader_mm: int | None = None
    cultivar: str = ""
    weather: Sequence[DailyWeather] = ()
    normals: MonthlyNormals | None = None
    profile: str | None = None
    observed: Mapping[str, date] = field(default_factory=dict)
    records: Sequence[Record] = ()
    facts: TreeFacts | None = None
    situation: Situation | None = None
    practice: TrainingPractice = FORM_ONLY
    """How the business trains. The form asks for its frame only: the care of side wood is the species' business."""


@dataclass(frozen=True, kw_only=True)
class Advice:
    """What is answered. ``allowed`` and ``forbidden`` speak of the very day; ``due`` of the twelve months from it."""

    species: str
    form: str
    profile: str
    state: TreeState
    stages: Mapping[str, StageDate]
    due: tuple[Need, ...]
    verdicts: tuple[Verdict, ...]
    blocked: tuple[Blocked, ...]
    warnings: tuple[Warning, ...]
    forecast: Forecast

    @property
    def allowed(self) -> tuple[Verdict, ...]:
        """Kinds that may be done on the day."""
        return tuple(verdict for verdict in self.verdicts if verdict.is_allowed)

    @property
    def forbidden(self) -> tuple[Verdict, ...]:
        """Kinds that may not, and why."""
        return tuple(verdict for verdict in self.verdicts if not verdict.is_allowed)


def advise(request: AdviceRequest, knowledge: Knowledge | None = None) -> Advice:
    """Answer one question about one tree, without a database.

    Raises:
        BadInput: for an unknown species or form, or a value out of range; every fault at once.
    """
    knowledge = knowledge or load_knowledge()
    if faults := faults_of_request(request, knowledge):
        raise BadInput(faults)
    species_id, note = knowledge.resolve(request.species)
    species = knowledge.species[species_id]
    facts = request.facts or usual_facts(request, species_id)
    normals = request.normals or estimated_normals(request.place)
    profile = request.profile or climate_profile(request.place, normals).profile
    asked = _Asked(request, knowledge, species, facts, normals, profile)
    return asked.answer(note)


def faults_of_request(request: AdviceRequest, knowledge: Knowledge | None = None) -> list[Fault]:
    """Everything that is wrong with a question; empty when it can be answered."""
    faults: list[Fault] = []
    try:
        (knowledge or load_knowledge()).resolve(request.species)
    except BadInput as refusal:
        faults.extend(refusal.faults)
    if request.form not in FORMS:
        faults.append(Fault("form", f"{request.form!r} is not a form we know", f"known are {', '.join(FORMS)}"))
    if request.planted_on > request.on:
        wrong = f"{request.planted_on} lies after {request.on}"
        faults.append(Fault("planted", wrong, "give a day of planting before the day asked about"))
    if request.tiers is not None and not 1 <= request.tiers <= 12:
        faults.append(Fault("tiers", f"{request.tiers} is out of range", "give 1 to 12"))
    if request.leader_mm is not None and not 0 <= request.leader_mm <= 12_000:
        faults.append(Fault("leader", f"{request.leader_mm / 10:g} cm is out of range", "give 0 to 1200 cm"))
    if request.profile is not None and request.profile not in PROFILES:
        faults.append(Fault("profile", f"{request.profile!r} is not a profile", f"known are {', '.join(PROFILES)}"))
    return faults


def usual_facts(request: AdviceRequest, species_id: str) -> TreeFacts:
    """The tree as its form usually stands on a support of usual measures."""
    form = forms.form(request.form)

    def number(key: str, otherwise: float) -> float:
        return form.number(key) if form.has(key) else otherwise

    first, step = number("first_wire_mm", 400), number("wire_spacing_mm", 400)
    height = number("support_height_mm", 1800)
    wires = request.tiers or round(number("usual_tiers", number("usual_wires", 0))) or int((height - first) // step) + 1
    heights = tuple(round(first + step * index) for index in range(max(wires, 1)))
    facts = TreeFacts(
        species=species_id,
        form=request.form,
        planted_on=request.planted_on,
        wire_heights_mm=heights,
        run_left_mm=USUAL_RUN_MM,
        run_right_mm=USUAL_RUN_MM,
        height_mm=max(round(height), heights[-1] + 100),
        tiers=request.tiers or 0,
        rootstock=request.rootstock,
        cultivar=request.cultivar,
        is_southern=request.place.is_southern,
    )
    run = _usual_run_mm(facts, form)
    return replace(facts, run_left_mm=run, run_right_mm=run)


def _usual_run_mm(facts: TreeFacts, form: forms.FormRecord) -> int:
    """Half the usual room between two trees of this form and stock; what leans runs up to the end of the support."""
    leaning = leaning_run_mm(form, facts.height_mm)
    if leaning is not None:
        return leaning
    room = spacing_for(form.id, vigour_class(facts))
    return round((room.low_mm + room.high_mm) / 4) if room is not None else USUAL_RUN_MM


class _Asked:
    """One question with everything looked up for it."""

    def __init__(  # noqa: PLR0913 - the question and what was looked up for it
        self,
        request: AdviceRequest,
        knowledge: Knowledge,
        species: Species,
        facts: TreeFacts,
        normals: MonthlyNormals,
        profile: str,
    ) -> None:
        self._request = request
        self._species = species
        self._normals = normals
        self._profile = profile
        self._practice = replace(request.practice, asks_for_upkeep=False)
        self._year = season_year(request.on, is_southern=request.place.is_southern)
        self._book = YearBook(knowledge)
        self._known: dict[int, dict[str, StageDate]] = {}
        self._state = fold(facts, self._records(), request.on, practice=self._practice)
        self._wood = side_wood(request.records, on=request.on, is_southern=request.place.is_southern)
        self._diseases = diseases_holding(
            self._wood.disease_notes, knowledge.diseases, self._year, is_southern=request.place.is_southern
        )
        self._traits = Traits(facts.form, facts.cultivar, self._diseases)

    def _records(self) -> tuple[Record, ...]:
        request = self._request
        measured: tuple[Record, ...] = ()
        if request.leader_mm is not None:
            height = Record(
                on=request.on, kind="measured", what="leader_height", limb="leader", value=float(request.leader_mm)
            )
            measured = (height,)
        return (*request.records, *measured)

    def answer(self, note: str) -> Advice:
        on = self._request.on
        here = self._species_year(self._year)
        due, blocked = self._due(here)
        verdicts = verdicts_on(on, here, self._situation(), self._state)
        near = [need for need in due if need.window.opens <= on + NEAR]
        warnings = (
            *((Warning(text=note[:1].upper() + note[1:] + ".", source="house default"),) if note else ()),
            *with_verdicts(verdicts),
            *warnings_for(self._state, here, near, on, self._wood),
        )
        return Advice(
            species=self._species.id,
            form=self._state.facts.form,
            profile=self._profile,
            state=self._state,
            stages=dict(sorted(here.season.stages.items(), key=lambda item: item[1].on)),
            due=due,
            verdicts=verdicts,
            blocked=blocked,
            warnings=tuple(dict.fromkeys(warnings)),
            forecast=forecast(self._state, practice=self._practice),
        )

    def _situation(self) -> Situation:
        """What is known of the day: what was told, and how long it usually stays dry."""
        told = self._request.situation or Situation()
        if told.dry_days_ahead is None and self._normals.rain_mm:
            wet = wet_season_starts(self._normals, self._request.on, WET_MM_PER_WEEK)
            told = replace(told, dry_days_ahead=(wet - self._request.on).days if wet is not None else 366)
        return replace(told, diseases=told.diseases | self._diseases)

    def _due(self, here: SpeciesYear) -> tuple[tuple[Need, ...], tuple[Blocked, ...]]:
        on = self._request.on
        needs: list[Need] = []
        blocked: list[Blocked] = []
        for year, state, with_steps in self._seasons():
            steps = steps_for_season(self._state, year, practice=self._practice) if with_steps else ()
            species_year = here if year == self._year else self._species_year(year)
            work = work_of_season(state, species_year, steps, self._wood)
            needs += [need for need in work.needs if need.window.closes >= on and need.window.opens <= on + AHEAD]
            blocked += work.blocked if year == self._year else ()
        return tuple(sorted(needs, key=lambda need: (need.window.opens, need.window.closes, need.kind))), tuple(blocked)

    def _seasons(self) -> Iterator[tuple[int, TreeState, bool]]:
        """The season before (its late work may still be open), that of the day and the next, each with the tree then."""
        yield self._year - 1, self._state, False
        yield self._year, self._state, True
        opens = Frame(self._year + 1, self._request.place.is_southern).opens
        yield self._year + 1, project(self._state, max(opens, self._request.on), practice=self._practice), True

    def _species_year(self, year: int) -> SpeciesYear:
        season = Season(
            place=self._request.place,
            profile=self._profile,
            year=year,
            stages=self._stages(year),
            before=self._stages(year - 1),
            after=self._stages(year + 1),
        )
        return self._book.year(self._species.id, season, self._traits)

    def _stages(self, year: int) -> dict[str, StageDate]:
        """Stage dates and marks of a season; further away than the next ones the same days a year off will do."""
        if abs(year - self._year) > 1:
            return {}
        if year not in self._known:
            self._known[year] = self._look_up(year)
        return self._known[year]

    def _look_up(self, year: int) -> dict[str, StageDate]:
        request = self._request
        group = next((PHENOLOGY_GROUPS.get(name, name) for name in self._species.lineage), None)
        phenology = phenology_of(self._species.id, group=group, cultivar=request.cultivar)
        known = stage_dates(
            request.place, phenology, year, request.weather, self._normals, request.observed, request.on
        )
        return {**site_marks(self._normals, request.place, year), **known}
