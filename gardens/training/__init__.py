"""Training: how far a tree is, the next step for each limb, the season its form is full.

    plan_limbs(facts)            the limbs the form is to have on this support
    fold(facts, records, on)     the tree as it stands: the same records always give the same state
    next_steps(state)            what the form asks for in the season of the state's day
    steps_for_season(state, y)   the same for another season, with the tree carried forward to it
    project(state, on)           the tree on a later day, if all goes as planned
    forecast(state)              in which season each tier is set and the form full, with 10, 50 and 90 %
    girdling_alarm(tie, state)   the day a tie should be off
    doubts(facts)                what speaks against a tree as planned: form, stock, room, wires
    suitability(species, form)   how well a form suits a species, with reason and source
    spacing_for(form, vigour)    the room a form asks for with a stock
    plan_and_reality(…)          every season beside what was expected of it
    practice_of(choices)         how a business trains, where it does otherwise than usual

No framework, no clock, no database: dates are arguments, values are frozen.
"""

from gardens.training.compare import SeasonSeen, plan_and_reality
from gardens.training.effort import YearOfWork, usual_minutes
from gardens.training.growth import find_rootstock, vigour_class
from gardens.training.outlook import forecast
from gardens.training.places import course, wanted_course
from gardens.training.plan import plan_limbs
from gardens.training.practice import FORM_ONLY, USUAL, TrainingPractice, choices_of, practice_of, read_practice
from gardens.training.replay import fold
from gardens.training.state import Forecast, Limb, Record, Step, Tie, TreeFacts, TreeState
from gardens.training.steps import next_steps, project, steps_for_season
from gardens.training.suitability import (
    Doubt,
    Suitability,
    doubts,
    leaning_run_mm,
    on_support,
    spacing_for,
    suitability,
    width_taken_mm,
)
from gardens.training.ties import girdling_alarm

__all__ = [
    "FORM_ONLY",
    "USUAL",
    "Doubt",
    "Forecast",
    "Limb",
    "Record",
    "SeasonSeen",
    "Step",
    "Suitability",
    "Tie",
    "TrainingPractice",
    "TreeFacts",
    "TreeState",
    "YearOfWork",
    "choices_of",
    "course",
    "doubts",
    "find_rootstock",
    "fold",
    "forecast",
    "girdling_alarm",
    "leaning_run_mm",
    "next_steps",
    "on_support",
    "plan_and_reality",
    "plan_limbs",
    "practice_of",
    "project",
    "read_practice",
    "spacing_for",
    "steps_for_season",
    "suitability",
    "usual_minutes",
    "vigour_class",
    "wanted_course",
    "width_taken_mm",
]
