"""What may be done to a tree on one day: every kind of work that makes sense is either allowed or forbidden, and why."""

from __future__ import annotations

from datetime import date

from gardens.knowledge.rule_schema import Task
from gardens.knowledge.words import HARD_CUTS
from gardens.pruning.book import SpeciesYear
from gardens.pruning.gates import QUIET, Shut, Situation, shut_gate
from gardens.pruning.lifetime import season_of_tree
from gardens.pruning.values import Verdict
from gardens.pruning.windows import DatedClosure, DatedTask
from gardens.training.state import TreeState

DISTURBING = frozenset(
    {*HARD_CUTS, "clean_out", "replace_tree", "select_shoots", "rub_out", "pinch", "tie_in", "lower_arms"}
)
"""Work that disturbs a nest in the tree."""


def verdicts_on(
    on: date, year: SpeciesYear, situation: Situation = QUIET, state: TreeState | None = None
) -> tuple[Verdict, ...]:
    """One verdict for every kind of work that makes sense for the species, in the order of its rules.

    Args:
        on: the day; it should lie in the season of ``year`` or next to it.
        year: the species' year at the site.
        situation: weather, nests and diseases of the day, where known.
        state: the tree as it stands; work for other ages and stages is then left out where there is any for its own.
    """
    return tuple(verdict_on(kind, on, year, situation, state) for kind in year.species.kinds)


def verdict_on(
    kind: str, on: date, year: SpeciesYear, situation: Situation = QUIET, state: TreeState | None = None
) -> Verdict:
    """Whether one kind of work may be done on a day. The first reason that stops it is given."""
    if situation.has_nest and kind in DISTURBING:
        code = year.knowledge.codes["NEST"]
        return _no(
            kind, Shut("NEST", f"{code.why} Stop, and come back after fledging.", year.knowledge.cite(code.source))
        )
    dated = [found for _, found in year.around() if found.task.kind == kind]
    if state is not None:
        dated = [found for found in dated if suits_tree(found.task, state, year)] or dated
    open_now = [found for found in dated if found.is_open(on)]
    if not open_now:
        return _no(kind, _why_closed(kind, on, year, dated))
    shut: Shut | None = None
    for found in open_now:
        shut = shut_gate(_gates(found.task, situation), situation, year.knowledge)
        if shut is None:
            return _yes(found, on, year)
    return _no(kind, shut or Shut("WAIT", "", ""))


def suits_tree(task: Task, state: TreeState, year: SpeciesYear) -> bool:
    """Whether a task is for trees of this stage and age."""
    age = season_of_tree(state.facts.planted_on, year.season.year, is_southern=year.season.place.is_southern)
    is_of_age = task.from_year <= age and (task.until_year is None or age <= task.until_year)
    return is_of_age and (not task.stages or state.stage in task.stages)


def _gates(task: Task, situation: Situation) -> tuple[str, ...]:
    """The task's own gates; fire blight at the tree asks for a longer dry spell before any cut."""
    if "fire_blight" in situation.diseases and (task.kind in HARD_CUTS or task.kind == "clean_out"):
        return ("D48", *task.gates)
    return task.gates


def _yes(found: DatedTask, on: date, year: SpeciesYear) -> Verdict:
    task = found.task
    why, code, sources = task.why, "", list(task.source)
    for closure in year.closures:
        if (
            closure.rule.warn_only
            and task.kind in closure.rule.kinds
            and closure.shuts(on)
            and task.id not in closure.rule.allow
        ):
            why, code = f"{why}; but mind: {closure.span.why}", closure.span.code
            sources += [key for key in closure.rule.source if key not in sources]
    return Verdict(kind=task.kind, is_allowed=True, why=why, source=year.knowledge.cite(sources), code=code)


def _no(kind: str, shut: Shut) -> Verdict:
    return Verdict(kind=kind, is_allowed=False, why=shut.why, source=shut.source, code=shut.code)


def _why_closed(kind: str, on: date, year: SpeciesYear, dated: list[DatedTask]) -> Shut:
    cite = year.knowledge.cite
    for closure in _closing(kind, on, year):
        return Shut(closure.span.code, closure.span.why, cite(closure.rule.source))
    if not dated:
        return _never_here(kind, year)
    ahead = [window for found in dated for window in found.windows if window.opens > on]
    behind = [window for found in dated for window in found.windows if window.closes < on]
    sources = cite(dict.fromkeys(key for found in dated for key in found.task.source))
    if ahead:
        following = min(ahead, key=lambda window: window.opens)
        task = next(found.task for found in dated if following in found.windows)
        return Shut("WAIT", f"Wait until {_said(following.opens, on)}: {task.why}", cite(task.source))
    if behind:
        last = max(behind, key=lambda window: window.closes)
        return Shut("WAIT", f"The window closed on {_said(last.closes, on)}", sources)
    why = next((found.why_none for found in dated if found.why_none), "no window opens this year")
    return Shut("WAIT", f"Not this year: {why}", sources)


def _said(day: date, on: date) -> str:
    """A day in words, with the year where it is another one."""
    return f"{day:%-d %B}" if day.year == on.year else f"{day:%-d %B %Y}"


def _closing(kind: str, on: date, year: SpeciesYear) -> list[DatedClosure]:
    """The closures that shut a kind on a day, those of the species before those of its group."""
    shut = [
        closure
        for closure in year.closures
        if not closure.rule.warn_only and kind in closure.rule.kinds and closure.shuts(on)
    ]
    return sorted(shut, key=lambda closure: -year.closed.index(closure.rule))


def _never_here(kind: str, year: SpeciesYear) -> Shut:
    """A kind that other climates or forms know and this one does not: the closure that speaks of it, else its rules."""
    cite = year.knowledge.cite
    for closure in year.closures:
        if not closure.rule.warn_only and kind in closure.rule.kinds:
            return Shut(closure.span.code, f"Not done here: {closure.span.why}", cite(closure.rule.source))
    tasks = [task for task in year.species.tasks if task.kind == kind]
    profiles = ", ".join(dict.fromkeys(profile for task in tasks for profile in task.profiles))
    place = f"the {year.season.profile} profile as {year.traits.form}"
    return Shut(
        "WAIT",
        f"Not done in {place}; it belongs to: {profiles}",
        cite(dict.fromkeys(k for t in tasks for k in t.source)),
    )
