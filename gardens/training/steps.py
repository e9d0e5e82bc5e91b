"""The steps of a season: what the form asks for, limb by limb, in the order of the year."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from gardens.knowledge.form_schema import FormRecord
from gardens.training import seasons
from gardens.training.plan import family_of
from gardens.training.practice import USUAL, TrainingPractice
from gardens.training.resume import look_at, resume
from gardens.training.season_view import PARTS, SeasonView
from gardens.training.standing import state_of
from gardens.training.state import Step, TreeState
from gardens.units import Units


def next_steps(
    state: TreeState,
    *,
    practice: TrainingPractice = USUAL,
    units: Units = "metric",
    form: FormRecord | None = None,
) -> tuple[Step, ...]:
    """What the form asks for in the season of the state's day: what is still open of it, to the end of its autumn.

    Before the first season of a tree these are the steps of that season.

    Args:
        state: the tree as it stands.
        practice: how the business trains; its ``asks_for_upkeep`` says whether the care of side wood is included.
        units: what lengths are said in.
        form: another record of the form than the one in its file.
    """
    first = seasons.first_season(state.facts.planted_on, southern=state.facts.is_southern)
    if seasons.season_of(state.on, southern=state.facts.is_southern) < first:
        return steps_for_season(state, first, practice=practice, units=units, form=form)
    if state.stage == "lost":
        return ()
    view = SeasonView(state, look_at(state, practice=practice, form=form), units)
    return tuple(sorted(family_of(view.form).steps(view), key=lambda step: PARTS.index(step.season)))


def steps_for_season(
    state: TreeState,
    year: int,
    *,
    practice: TrainingPractice = USUAL,
    units: Units = "metric",
    form: FormRecord | None = None,
) -> tuple[Step, ...]:
    """The steps of a season (the year of its spring), the tree carried forward to its beginning if it lies ahead.

    A season that is over, or lies before the tree's first, has none.
    """
    southern = state.facts.is_southern
    season = seasons.season_of(state.on, southern=southern)
    if year < season or year < seasons.first_season(state.facts.planted_on, southern=southern):
        return ()
    if year > season:
        start = seasons.day_of(year, seasons.SEASON_STARTS, southern=southern)
        state = project(state, start, practice=practice, form=form)
    return next_steps(state, practice=practice, units=units, form=form)


def project(
    state: TreeState, on: date, *, practice: TrainingPractice = USUAL, form: FormRecord | None = None
) -> TreeState:
    """The tree on a later day, if it grows as expected and its work is done as planned."""
    walk = resume(state, practice=practice, form=form)
    walk.advance(on)
    return replace(state_of(walk), estimated=True)
