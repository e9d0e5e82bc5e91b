"""Pruning: what a tree is due this year, when, how and why; what may be done on a day and what not.

    advise(AdviceRequest(…))                 one answer about one tree, without a database
    YearBook(knowledge).year(species, season, traits)   the species' year at a site, reckoned once
    needs_for_season(state, year, steps, wood)          what one tree is due in that year
    verdicts_on(day, year, situation)        allowed or forbidden, with the reason
    side_wood(records, on=…)                 laterals, canes, spur counts and prunings out of the records

No framework, no clock, no database: dates are arguments, values are frozen.
"""

from gardens.pruning.advice import Advice, AdviceRequest, advise, faults_of_request, usual_facts
from gardens.pruning.advice_report import advice_as_dict, advice_as_text
from gardens.pruning.book import SpeciesYear, Traits, YearBook
from gardens.pruning.changes import Moved, NeedChanges, compare_needs
from gardens.pruning.crop import (
    CropLimit,
    chill_need,
    chosen_spacing_cm,
    crop_limit,
    crop_outlook,
    fruits_along,
    girth_mm_for,
    trunk_section_cm2,
)
from gardens.pruning.gates import Situation, shut_gate
from gardens.pruning.lifetime import season_of_tree
from gardens.pruning.marks import site_marks
from gardens.pruning.minutes import Size, minutes_for, standard_for
from gardens.pruning.needs import Blocked, SeasonWork, needs_for_season, work_of_season
from gardens.pruning.planting import planting_doubts
from gardens.pruning.renewal import Renewal, renew_after_picking, renew_canes, thin_spur_systems
from gardens.pruning.seasons import Season
from gardens.pruning.side_wood import SideShoot, SideWood, side_wood
from gardens.pruning.values import Closure, Need, Verdict, Warning, Window
from gardens.pruning.verdicts import verdict_on, verdicts_on
from gardens.pruning.vine_buds import BudLoad, balanced_buds, extra_for_dead_buds, spread_over_spurs
from gardens.pruning.warnings import chill_warning, warnings_for

__all__ = [
    "Advice",
    "AdviceRequest",
    "Blocked",
    "BudLoad",
    "Closure",
    "CropLimit",
    "Moved",
    "Need",
    "NeedChanges",
    "Renewal",
    "Season",
    "SeasonWork",
    "SideShoot",
    "SideWood",
    "Situation",
    "Size",
    "SpeciesYear",
    "Traits",
    "Verdict",
    "Warning",
    "Window",
    "YearBook",
    "advice_as_dict",
    "advice_as_text",
    "advise",
    "balanced_buds",
    "chill_need",
    "chill_warning",
    "chosen_spacing_cm",
    "compare_needs",
    "crop_limit",
    "crop_outlook",
    "extra_for_dead_buds",
    "faults_of_request",
    "fruits_along",
    "girth_mm_for",
    "minutes_for",
    "needs_for_season",
    "planting_doubts",
    "renew_after_picking",
    "renew_canes",
    "season_of_tree",
    "shut_gate",
    "side_wood",
    "site_marks",
    "spread_over_spurs",
    "standard_for",
    "thin_spur_systems",
    "trunk_section_cm2",
    "usual_facts",
    "verdict_on",
    "verdicts_on",
    "warnings_for",
    "work_of_season",
]
