"""The steps of a season: what the form asks for, limb by limb, in the order of the year."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from gardens.knowledge.form_schema import FormRecord
from gardens.training import seasons
from gardens.training.plan import family_of
from gardens.training.practice import USUAL, TrainingPractice
from gardens.training.resume import resume
from gardens.training.season_view import PARTS, SeasonView
from gardens.training.state import Step, TreeState
from gardens.units import Units


def next_steps(
    state: TreeState,
    *,
    practice: TrainingPractice = USUAL,
    units: Units = "metric",
    upkeep: bool = True,
    form: FormRecord | None = None,
) -> tuple[Step, ...]:
    """What the form asks for in the season of the state's day: what is still open of it, the rest of the year included.

    Args:
        state: the tree as it stands.
        practice: how the business trains.
        units: what lengths are said in.
        upkeep: whether the care of side wood (blossom, summer cuts, spurs) is included; the species rules know more.
        form: another record of the form than the one in its file.
    """
    if state.stage == "lost":
        return ()
    walk = resume(state, practice=practice, form=form)
    view = SeasonView(state, walk, units, upkeep)
    if view.year < walk.first_season:
        return steps_for_season(state, walk.first_season, practice=practice, units=units, upkeep=upkeep, form=form)
    found = family_of(view.form).steps(view)
    return tuple(sorted(found, key=lambda step: PARTS.index(step.season)))


def steps_for_season(
    state: TreeState,
    year: int,
    *,
    practice: TrainingPractice = USUAL,
    units: Units = "metric",
    upkeep: bool = True,
    form: FormRecord | None = None,
) -> tuple[Step, ...]:
    """The steps of another season, with the tree carried forward to the beginning of it.

    For the season of the state's own day these are its `next_steps`; an earlier season has none.
    """
    southern = state.facts.is_southern
    season = seasons.season_of(state.on, southern=southern)
    if year < season or state.stage == "lost":
        return ()
    if year > season:
        state = project(
            state, seasons.day_of(year, seasons.SEASON_STARTS, southern=southern), practice=practice, form=form
        )
    walk_season = seasons.season_of(state.on, southern=southern)
    if walk_season < seasons.first_season(state.facts.planted_on, southern=southern):
        return ()
    return next_steps(state, practice=practice, units=units, upkeep=upkeep, form=form)


def project(
    state: TreeState, on: date, *, practice: TrainingPractice = USUAL, form: FormRecord | None = None
) -> TreeState:
    """The tree on a later day, if it grows as expected and its work is done as planned."""
    walk = resume(state, practice=practice, form=form)
    walk.advance(on)
    return replace(walk.state(), estimated=True)
