"""What a tree is due in one season: the steps its form asks for and the work its species asks for, each with dates."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from functools import lru_cache

from gardens.climate.seasons import season_year
from gardens.knowledge.rule_schema import Task
from gardens.knowledge.when import month_day
from gardens.pruning.book import SpeciesYear
from gardens.pruning.heights import with_hands
from gardens.pruning.inspections import watch_window
from gardens.pruning.lifetime import season_of_tree
from gardens.pruning.minutes import Size, minutes_for, standard_for
from gardens.pruning.refine import asks_for_spurs, refined
from gardens.pruning.side_wood import SideWood
from gardens.pruning.values import Need, Window
from gardens.pruning.windows import DatedTask, passes
from gardens.training.state import Step, TreeState

STEPS_GO_FIRST = frozenset(
    {
        "renew_ties",
        "remove_ties",
        "tie_in",
        "lower_arms",
        "head_back",
        "select_shoots",
        "shorten_arms",
        "clear_wall_side",
        "remove_low_shoots",
    }
)
"""Kinds where the form knows more than the species: its steps stand in for the yearly work of the same kind."""
TIE_KINDS = frozenset({"tie_in", "renew_ties"})
TIE_MATERIAL = "tie_jute"
DONE_EARLY_DAYS = 14
NOTHING_RECORDED = SideWood()

SIDE_WOOD_KINDS = frozenset({"winter_prune", "summer_prune", "renew_wood", "pinch", "thin_spurs", "thin_fruit"})
"""Kinds where the species knows when and how; on vines the form knows how, and its step and the rule become one need."""
RENOVATING_KINDS = frozenset({"winter_prune", "renew_wood"})
"""How much of a neglected tree goes in one season is the form's to say; it is told with the species' own work."""
KIN = {"renew_wood": ("winter_prune",), "summer_prune": ("pinch",), "pinch": ("summer_prune",)}
"""Where the species has no work of a step's kind, the work of these kinds gives its dates."""


@dataclass(frozen=True, kw_only=True)
class Blocked:
    """Work that is due but finds no open day this season, and why; the office decides."""

    kind: str
    limb: str
    why: str
    source: str
    rule: str


@dataclass(frozen=True, kw_only=True)
class SeasonWork:
    """Everything due on one tree in one season."""

    needs: tuple[Need, ...]
    blocked: tuple[Blocked, ...]


def needs_for_season(
    state: TreeState, year: SpeciesYear, steps: Sequence[Step] = (), wood: SideWood = NOTHING_RECORDED
) -> tuple[Need, ...]:
    """The needs of one tree in the season of ``year``, in order of their opening day.

    Args:
        state: the tree as it stands; its form and cultivar should be those ``year`` was made for.
        year: `YearBook.year(...)` of its species and site.
        steps: the steps its form asks for in that season (`gardens.training.steps_for_season`).
        wood: what its records tell of side wood (`side_wood`); makes renewal, spurs and buds exact.
    """
    return work_of_season(state, year, steps, wood).needs


def work_of_season(
    state: TreeState, year: SpeciesYear, steps: Sequence[Step] = (), wood: SideWood = NOTHING_RECORDED
) -> SeasonWork:
    """As `needs_for_season`, and what is due but finds no window."""
    if year.species.facts.wood.renewal == "canes":
        steps = ()  # canes are no frame: what a form asks of a vine means nothing to them
    if state.stage == "lost":
        steps = [step for step in steps if step.kind == "replace_tree"]
    maker = _Maker(state, year, wood)
    found = list(maker.from_steps(steps))
    if state.stage != "lost":
        taken = {step.kind for step in steps} & STEPS_GO_FIRST
        found += maker.from_tasks(taken)
        found += maker.from_watches()
    needs = [item for item in found if isinstance(item, Need)]
    blocked = tuple(item for item in found if isinstance(item, Blocked))
    left = not_yet_done(
        sorted(needs, key=lambda need: (need.window.opens, need.window.closes, need.kind, need.limb)), state
    )
    return SeasonWork(needs=tuple(with_hands(left, Size(state))), blocked=blocked)


class _Maker:
    """Makes the needs of one tree."""

    def __init__(self, state: TreeState, year: SpeciesYear, wood: SideWood) -> None:
        self._wood = wood
        self._told_by_form: dict[str, str] = {}
        self._renovation: dict[str, Step] = {}
        self._begun: set[tuple[str, str]] = set()
        self._state = state
        self._year = year
        self._size = Size(state)
        self._kinds = year.by_kind
        self._age = season_of_tree(state.facts.planted_on, year.season.year, is_southern=year.season.place.is_southern)

    def from_steps(self, steps: Iterable[Step]) -> Iterator[Need | Blocked]:
        for step in steps:
            if step.limb == "whole" and step.kind in SIDE_WOOD_KINDS:
                tasks = self._tasks_like(step)
                if tasks:
                    if self._state.stage == "renovating" and step.kind in RENOVATING_KINDS:
                        self._renovation.setdefault(tasks[0].task.id, step)
                    elif self._year.species.facts.wood.renewal == "vine":
                        self._told_by_form |= {dated.task.id: step.instruction for dated in tasks}
                    continue
            yield self._from_step(step)

    def _tasks_like(self, step: Step) -> list[DatedTask]:
        """The due tasks of the species that a step on the whole tree tells how to do."""
        for kinds in ((step.kind,), KIN.get(step.kind, ())):
            due = [
                self._year.date(task)
                for kind in kinds
                for task in self._kinds.get(kind, ())
                if task.role == "upkeep" and self._is_due(task)
            ]
            if due:
                return due
        return []

    def _from_step(self, step: Step) -> Need | Blocked:
        dated = self._dates_for(step)
        if dated is None or dated.best is None:
            why = dated.why_none if dated is not None else "no rule of the species dates this work"
            rule = dated.task.rule if dated is not None else ""
            return Blocked(kind=step.kind, limb=step.limb, why=why, source=step.source, rule=rule)
        task = dated.task
        has_begun = (step.kind, task.rule) in self._begun
        self._begun.add((step.kind, task.rule))
        return Need(
            kind=step.kind,
            limb=step.limb,
            instruction=step.instruction,
            window=dated.best,
            minutes=self._minutes(step.kind, step.limb, has_begun=has_begun),
            why=f"{step.why} When: {task.why}.",
            source=self._cited((step.source, *task.source)),
            rule=task.rule,
            materials=self._materials(step.kind, step.limb),
            skill=task.skill,
            weather_rule=self._gates(task),
            at_mm=step.at_mm,
            to_angle_deg=step.to_angle_deg,
        )

    def _dates_for(self, step: Step) -> DatedTask | None:
        """The species' dates for a step: of its kind, those of the part of the year the form names first."""
        kinds = (step.kind, *KIN.get(step.kind, ()))
        tasks = [task for kind in kinds for task in self._kinds.get(kind, ()) if not self._is_outgrown(task)]
        of_kind = self._dated_around(step, tasks)

        def fits(dated: DatedTask) -> tuple[bool, ...]:
            task = dated.task
            in_season = (
                step.season == "any" or step.season in task.seasons or _is_in(dated.best, step.season, self._year)
            )
            has_kind = task.kind == step.kind
            return dated.best is not None, has_kind, in_season, not task.always, task.role == "training"

        return max(of_kind, key=fits, default=None)

    def _dated_around(self, step: Step, tasks: Sequence[Task]) -> Sequence[DatedTask]:
        """The season's dates; for work on shoots that are still to grow, those of the autumn that ends it.

        A tree-year opens with leaf fall, so the dates of autumn work lie at both of its ends. Shoots that stand tied
        already are worked on at once; those of the coming summer not before they have grown.
        """
        dated = [self._year.date(task) for task in tasks]
        if step.season != "autumn" or self._stands_tied(step.limb):
            return dated
        autumn = month_day(self._year.season.frame, 9, 1)
        return [
            self._year.date(one.task, 1) if one.best is None or one.best.best_until < autumn else one for one in dated
        ]

    def _stands_tied(self, key: str) -> bool:
        kind, _, rest = key.partition(":")
        limbs = [
            limb
            for limb in self._state.limbs
            if limb.key == key or (kind == "tier" and rest.isdigit() and limb.tier == int(rest))
        ]
        return any(limb.status == "tied" for limb in limbs)

    def _is_outgrown(self, task: Task) -> bool:
        return task.until_year is not None and self._age > task.until_year

    def from_tasks(self, taken: set[str]) -> Iterator[Need | Blocked]:
        for task in self._year.tasks:
            if task.role != "upkeep" or task.kind in taken or not self._is_due(task):
                continue
            dated = self._year.date(task)
            if dated.best is None:
                yield Blocked(
                    kind=task.kind, limb="whole", why=dated.why_none, source=self._cited(task.source), rule=task.rule
                )
                continue
            windows = passes(dated.best, task.passes)
            for number, window in enumerate(windows, start=1):
                need = self._need(task, window, number, len(windows))
                yield from refined(need, task, self._state, self._wood, self._year)

    def _need(self, task: Task, window: Window, number: int, count: int) -> Need:
        instruction = task.instruction
        if task.id in self._told_by_form:
            instruction = f"{self._told_by_form[task.id]}\n{task.care}".strip()
        why = task.why
        if renovation := self._renovation.get(task.id):
            instruction, why = f"{renovation.instruction}\n{instruction}", f"{renovation.why} {why}"
        if count > 1:
            instruction = f"Pass {number} of {count}.\n{instruction}"
        return Need(
            kind=task.kind,
            limb="whole",
            instruction=instruction,
            window=window,
            minutes=self._minutes(task.kind, "whole", task.standard),
            why=why,
            source=self._cited((renovation.source, *task.source) if renovation else task.source),
            rule=task.rule,
            materials=self._materials(task.kind, "whole"),
            skill=task.skill,
            weather_rule=self._gates(task),
            is_optional=task.optional,
        )

    def _is_due(self, task: Task) -> bool:
        """Whether the tree's stage, age and last turn ask for a task this season."""
        if task.stages and self._state.stage not in task.stages:
            return False
        if self._age < task.from_year or self._is_outgrown(task):
            return False
        if task.kind in ("pick", "thin_fruit") and not task.until_year and not self._bears():
            return False
        return task.every_years == 1 or self._turn_has_come(task) or self._is_crowded(task)

    def _is_crowded(self, task: Task) -> bool:
        return task.kind == "thin_spurs" and asks_for_spurs(self._state, self._wood, self._year.species)

    def _bears(self) -> bool:
        bearing = self._year.species.facts.bearing
        return bearing is None or self._age >= max(bearing.first_crop_year[0], bearing.no_fruit_until_year + 1)

    def _turn_has_come(self, task: Task) -> bool:
        is_southern = self._year.season.place.is_southern
        turns = [season_year(day, is_southern=is_southern) for day, kind, _ in self._state.done if kind == task.kind]
        before = [turn for turn in turns if turn < self._year.season.year]
        if before:
            return self._year.season.year - max(before) >= task.every_years
        return (self._age - task.from_year) % task.every_years == 0

    def from_watches(self) -> Iterator[Need]:
        for watch in self._year.watches:
            window = watch_window(watch, self._year)
            if window is None:
                continue
            yield Need(
                kind="inspect",
                limb="whole",
                instruction=f"Look for {watch.look_for}.\n{watch.act[:1].upper()}{watch.act[1:]}.",
                window=window,
                minutes=self._minutes("inspect", "whole", "watch"),
                why="these show themselves now",
                source=self._cited(watch.source),
                rule=watch.rule,
                is_optional=True,
            )

    def _minutes(self, kind: str, limb: str, named: str = "", *, has_begun: bool = False) -> float:
        key = (kind, named)
        standards, knowledge = self._year.standards, self._year.knowledge
        if key not in standards:
            standards[key] = standard_for(kind, self._year.species, self._year.traits.form, knowledge, named)
        return minutes_for(standards[key], self._size, limb, knowledge.factors, has_begun=has_begun)

    def _materials(self, kind: str, limb: str) -> tuple[tuple[str, float], ...]:
        if kind not in TIE_KINDS:
            return ()
        return ((TIE_MATERIAL, round(self._size.units("tie", limb))),)

    def _gates(self, task: Task) -> str:
        """The gates of the climate core that decide on the day, in the order of the rule."""
        gates = self._year.knowledge.gates
        return " ".join(dict.fromkeys(gates[name].asks for name in task.gates))

    def _cited(self, sources: tuple[str, ...]) -> str:
        return _joined(sources)


@lru_cache(maxsize=4096)
def _joined(sources: tuple[str, ...]) -> str:
    return "; ".join(dict.fromkeys(source for source in sources if source))


PARTS_OF_YEAR = {"dormant": (11, 3), "spring": (3, 6), "summer": (6, 9), "autumn": (9, 11)}
"""Northern months from … to, where a task does not say its part of the year itself."""


def _is_in(window: Window | None, part: str, year: SpeciesYear) -> bool:
    if window is None or part not in PARTS_OF_YEAR:
        return False
    month = (window.best_from.month + (6 if year.season.place.is_southern else 0) - 1) % 12 + 1
    first, last = PARTS_OF_YEAR[part]
    return first <= month <= last if first <= last else month >= first or month <= last


def not_yet_done(needs: Sequence[Need], state: TreeState) -> list[Need]:
    """The needs without those that were recorded as done: each record fulfils one need of its kind, the earliest."""
    left = list(needs)
    if not left:
        return left
    kinds = {need.kind for need in left}
    opens = min(need.window.opens for need in left) - timedelta(days=DONE_EARLY_DAYS)
    recent = sorted(done for done in state.done if done[0] >= opens and done[1] in kinds)
    for day, kind, limb in recent:
        for index, need in enumerate(left):
            if need.kind != kind or need.limb not in (limb, "whole"):
                continue
            if need.window.opens - timedelta(days=DONE_EARLY_DAYS) <= day <= need.window.closes:
                del left[index]
                break
    return left
