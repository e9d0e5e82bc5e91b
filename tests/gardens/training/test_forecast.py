"""How well the forecast foretells, and what it answers at the edges."""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

import numpy as np
import pytest

from gardens.training import TrainingPractice, fold, forecast, project
from gardens.training.ahead import Ahead, share_of_draws
from gardens.training.growth import ARMS, learn, prior_for
from gardens.training.outlook import years_between
from gardens.training.resume import resume
from gardens.training.state import FORMS
from tests.gardens.training.grown_forms import GrownForm
from tests.gardens.training.simulated import GrownTree
from tests.gardens.training.trees import measured, of_form, seen, tree

TREES = 200


def some_trees() -> list[GrownTree]:
    dice = random.Random(20260101)
    grown = []
    for _ in range(TREES):
        wires, run = dice.choice([2, 3, 4]), dice.randrange(800, 1800)
        facts = tree(
            wire_heights_mm=tuple(400 + 400 * wire for wire in range(wires)),
            run_left_mm=run,
            run_right_mm=run,
            rootstock=dice.choice(["M9", "M26", "MM106"]),
        )
        grown.append(GrownTree(facts, dice).grow())
    return grown


def test_eighty_percent_range_holds_the_truth_in_four_of_five():
    """Simulated trees, forecast at planting and after two and four measured seasons: 75–85 % lie in the range."""
    held = asked = 0
    for grown in some_trees():
        for on in (date(2025, 12, 20), date(2027, 11, 25), date(2029, 11, 25)):
            state = fold(grown.facts, grown.records, on)
            if state.full_since is not None:
                continue
            told = forecast(state, minutes=lambda work: 0.0)
            truth = math.floor(grown.full_at or math.inf) if grown.full_at else 9999
            asked += 1
            held += (told.full_p10 or 9998) <= truth <= (told.full_p90 or 9999)
    assert asked > 2 * TREES
    assert 0.75 <= held / asked <= 0.85, held / asked


OTHER_FORMS = (
    "fan",
    "oblique_cordon",
    "upright_cordon",
    "oblique_palmette",
    "candelabra_palmette",
    "u_form",
    "vine_rod_and_spur",
    "vine_tiers",
    "vine_cane_replacement",
)
OF_ONE_SEASON = ("vine_rod_and_spur", "vine_tiers", "vine_cane_replacement")
"""A vine fills its place so surely that one season, or two, hold nearly all that may come."""
ASKED_ON = (date(2025, 12, 20), date(2027, 11, 25), date(2029, 11, 25))


def some_of_form(form: str, count: int = 260) -> Iterator[GrownForm]:
    dice = random.Random(20260202)
    for _ in range(count):
        room: dict[str, int] = {"run_left_mm": dice.randrange(900, 2200)}
        room["run_right_mm"] = room["run_left_mm"]
        if "cordon" in form:
            room = {"height_mm": dice.randrange(1700, 2500)}
        yield GrownForm(of_form(form, **room), dice).grow()


@dataclass
class Hits:
    """How often truths lay in what was told: as moments, as whole seasons."""

    asked: int = 0
    moments: int = 0
    seasons: int = 0


def hits_of(form: str) -> Hits:
    hits = Hits()
    for grown in some_of_form(form):
        truth = grown.full_at or math.inf
        for on in ASKED_ON:
            state = fold(grown.facts, grown.records, on)
            if state.full_since is not None:
                continue
            ahead = Ahead(resume(state), "other")
            ahead.run()
            moments = np.sort(ahead.full_at.max(axis=0))
            first, _, last = years_between(moments)
            hits.asked += 1
            hits.moments += share_of_draws(moments, 0.1) <= truth <= share_of_draws(moments, 0.9)
            hits.seasons += (first or math.inf) <= truth < (last or math.inf) + 1
    return hits


@pytest.mark.parametrize("form", OTHER_FORMS)
def test_eighty_percent_range_holds_for_every_family(form: str):
    """Simulated fans, cordons, palmettes, U forms, vines at planting, after two and after four measured seasons.

    The moment a form is full lies between the 10 % and the 90 % mark for 75–85 %. What is told are whole seasons: they
    hold as many, and more only where so little is left open that one season or two hold nearly all of it.
    """
    hits = hits_of(form)
    assert hits.asked > 400
    assert 0.75 <= hits.moments / hits.asked <= 0.85, hits
    if form in OF_ONE_SEASON:
        assert hits.seasons / hits.asked >= 0.75, hits
    else:
        assert 0.75 <= hits.seasons / hits.asked <= 0.85, hits


def test_range_told_is_the_one_nearest_to_four_in_five():
    """Worked by hand: of 128 draws 13 fall before 2030, 12 after 2032; the three seasons between hold 103, 80.5 %."""
    moments = np.array([2028.5] * 13 + [2030.2] * 40 + [2031.7] * 33 + [2032.1] * 30 + [2034.9] * 12)
    assert years_between(moments) == (2030, 2031, 2032)
    alone = np.array([2029.9] * 6 + [2030.4] * 116 + [2031.1] * 6)
    assert years_between(alone) == (2030, 2030, 2030)
    open_end = np.array([2040.5] * 20 + [2041.5] * 60 + [math.inf] * 48)
    assert years_between(open_end) == (2041, 2041, None)
    assert years_between(np.array([2040.5] * 50 + [math.inf] * 78)) == (None, None, None)


def test_forecast_grows_sharper_with_measured_seasons():
    widths: dict[int, list[int]] = {2025: [], 2029: []}
    for grown in some_trees()[:60]:
        for year, found in widths.items():
            told = forecast(fold(grown.facts, grown.records, date(year, 12, 20)), minutes=lambda work: 0.0)
            if told.full_p10 and told.full_p90:
                found.append(told.full_p90 - told.full_p10)
    assert sum(widths[2029]) / len(widths[2029]) < 0.7 * sum(widths[2025]) / len(widths[2025])


def test_draws_of_one_season_spread_as_the_prior_says():
    """Tree, limb and season together make up the whole spread of one limb's first season."""
    ahead = Ahead(resume(fold(tree(), [], date(2025, 12, 20))), "pome")
    ahead.walk_season(2026, step=0)
    prior = prior_for(tree())
    first = ahead.length[0]
    assert first.std() / first.mean() == pytest.approx(prior.arm_cv, rel=0.08)
    assert first.mean() == pytest.approx(prior.mean(45, 0) * prior.planting_share, rel=0.02)
    leader = ahead.leader - 450
    assert leader.std() / leader.mean() == pytest.approx(prior.leader_cv, rel=0.1)


def test_full_tree_answers_the_season_it_became_full():
    facts = tree(planted_on=date(2010, 1, 10))
    state = fold(facts, [], date(2026, 1, 10))
    told = forecast(state)
    assert state.stage == "full"
    assert (told.full_p10, told.full_p50, told.full_p90) == (state.full_since,) * 3
    assert state.full_since is not None
    assert 2014 < state.full_since < 2026


@pytest.mark.parametrize("form", FORMS)
def test_every_form_is_foretold_in_order(form: str):
    told = forecast(fold(of_form(form), [], date(2026, 1, 15)))
    assert told.full_p10 is not None
    assert told.full_p50 is not None
    assert 2026 <= told.full_p10 <= told.full_p50 <= (told.full_p90 or 9999)
    for _, low, middle, high in told.tiers:
        assert 2026 <= low <= middle <= high <= told.full_p50 + 5


def test_estimate_fills_its_form_within_the_foretold_range():
    for form in FORMS:
        told = forecast(fold(of_form(form), [], date(2026, 1, 15)))
        full = next(year for year in range(2026, 2070) if fold(of_form(form), [], date(year, 11, 1)).full_since)
        assert told.full_p10 is not None
        assert told.full_p10 - 1 <= full <= (told.full_p90 or 9999), form


def test_tiers_of_a_standing_tree_keep_the_season_they_were_set():
    told = forecast(fold(tree(start="feathered"), [], date(2029, 1, 15)))
    assert told.tiers[0] == (1, 2026, 2026, 2026)


def test_short_leader_moves_the_forecast_a_season():
    day = date(2026, 12, 20)
    short = [measured(day, "season_growth", 240), measured(day, "leader_height", 650)]
    long = [measured(day, "leader_height", 1000)]
    tier_2 = {
        name: forecast(fold(tree(), records, date(2027, 1, 5))).tiers[1][2]
        for name, records in (("short", short), ("long", long))
    }
    assert tier_2 == {"short": 2028, "long": 2027}


def test_stronger_stock_and_richer_soil_fill_sooner():
    def middle(**changes: object) -> int:
        return forecast(fold(tree(**changes), [], date(2026, 1, 15))).full_p50 or 9999

    assert middle(rootstock="MM111") < middle(rootstock="MM106") < middle(rootstock="M26")
    assert middle(soil_vigour=1.2) < middle(soil_vigour=1.0) < middle(soil_vigour=0.8)


def test_lost_arm_puts_the_full_season_off():
    facts = tree(planted_on=date(2018, 1, 10))
    lost = [seen(date(2024, 6, 1), "lost", "arm:1:left")]
    day = date(2024, 12, 1)
    with_gap = forecast(fold(facts, lost, day)).full_p50 or 9999
    assert with_gap > (forecast(fold(facts, [], day)).full_p50 or 9999)


def test_hopeless_run_is_not_promised():
    told = forecast(fold(tree(rootstock="M27", run_left_mm=9000, run_right_mm=9000), [], date(2026, 1, 15)))
    assert (told.full_p50, told.full_p90) == (None, None)


def test_minutes_are_told_for_years_and_may_be_replaced():
    state = fold(tree(), [], date(2025, 12, 10))
    usual = dict(forecast(state).minutes_per_year)
    assert usual[2026] > usual[2027]
    assert usual[2035] > usual[2028]
    metres = dict(forecast(state, minutes=lambda work: work.metres).minutes_per_year)
    assert metres[2026] == 0
    assert metres[2035] > 10


def test_forecast_never_changes_by_itself():
    state = fold(tree(), [], date(2026, 1, 15))
    assert forecast(state) == forecast(state) == forecast(project(state, date(2026, 1, 15)))


def test_practice_of_waiting_for_strong_arms_costs_a_season():
    strict = TrainingPractice(wait_for_strong_first_arms=True)
    on = date(2026, 1, 15)
    usual_tier_2 = forecast(fold(tree(), [], on)).tiers[1][2]
    assert forecast(fold(tree(), [], on, practice=strict), practice=strict).tiers[1][2] > usual_tier_2


# -- what measurements teach --------------------------------------------------------------------------------------


def test_update_agrees_with_the_normal_model_by_hand():
    """One limb, two seasons: the posterior of a normal mean with known variances (Gelman et al., BDA, §2.5, from memory)."""
    prior = prior_for(tree())
    whole = prior.arm_cv**2
    tree_var, limb_var = whole * prior.tree_share, whole * prior.limb_share
    season_var = whole - tree_var - limb_var
    learnt = learn(prior, ARMS, [("arm:1:left", 0.7), ("arm:1:left", 0.9)])
    spread = limb_var + season_var / 2
    mean = (1 / tree_var + 0.8 / spread) / (1 / tree_var + 1 / spread)
    assert learnt.group.mean == pytest.approx(mean)
    assert learnt.group.sd == pytest.approx((1 / tree_var + 1 / spread) ** -0.5)
    assert learnt.factor("arm:1:left") == pytest.approx(mean + limb_var / spread * (0.8 - mean))
    assert learnt.factor("arm:2:left") == pytest.approx(mean)


def test_update_agrees_with_a_general_gaussian_solver():
    """Three limbs, several seasons, against the conditional mean of the joint normal computed by linear algebra."""
    numpy = pytest.importorskip("numpy")
    prior = prior_for(tree())
    whole = prior.arm_cv**2
    tree_var, limb_var = whole * prior.tree_share, whole * prior.limb_share
    seen_factors = [("a", 0.8), ("a", 1.1), ("b", 0.6), ("c", 1.3), ("c", 1.2), ("c", 1.0)]
    keys = [key for key, _ in seen_factors]
    covariance = numpy.array([[tree_var + limb_var * (p == q) for q in keys] for p in keys])
    covariance += numpy.eye(len(keys)) * (whole - tree_var - limb_var)
    offset = numpy.linalg.solve(covariance, numpy.array([value - 1 for _, value in seen_factors]))
    learnt = learn(prior, ARMS, seen_factors)
    assert learnt.group.mean == pytest.approx(1 + tree_var * offset.sum())
    for limb in "abc":
        with_tree = numpy.array([tree_var + limb_var * (key == limb) for key in keys])
        assert learnt.factor(limb) == pytest.approx(1 + with_tree @ offset)
