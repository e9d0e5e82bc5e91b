"""In which season each tier is set and the form is full, with its range, and the minutes of work each year asks for.

The rules of `walk` are walked forward many times at once, one time for each draw of what the tree, its limbs and its
seasons may grow. The draws are the same for every tree (a fixed stratified set), so a forecast never changes by itself.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gardens.knowledge import form_schema as knowledge
from gardens.knowledge.form_schema import FormRecord
from gardens.training import seasons
from gardens.training.effort import YearOfWork, usual_minutes
from gardens.training.growth import ARMS, LEADER
from gardens.training.practice import USUAL, TrainingPractice
from gardens.training.resume import resume
from gardens.training.state import Forecast, TreeState
from gardens.training.walk import Growing, Walk

DRAWS = 120
HORIZON = 40
LIMBS_AT_MOST = 64
LEAST_GROWTH_SHARE = 0.05
Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]


def forecast(
    state: TreeState,
    *,
    practice: TrainingPractice = USUAL,
    form: FormRecord | None = None,
    minutes: Callable[[YearOfWork], float] = usual_minutes,
) -> Forecast:
    """When the form will be full and its tiers set.

    A tree that is full answers the season in which it became full; a lost one answers nothing. Where more than half
    of the draws do not fill the form within 40 seasons, the years are None.
    """
    walk = resume(state, practice=practice, form=form)
    if walk.is_lost or not walk.limbs:
        return Forecast(full_p10=None, full_p50=None, full_p90=None)
    ahead = _Ahead(walk)
    ahead.run()
    return Forecast(
        full_p10=ahead.full_years()[0],
        full_p50=ahead.full_years()[1],
        full_p90=ahead.full_years()[2],
        tiers=ahead.tier_years(),
        minutes_per_year=tuple((work.year, round(minutes(work), 1)) for work in ahead.work),
    )


@cache
def _draws() -> Floats:
    """Standard normal draws: one column for the leader's tree effect, one for the arms', then limbs, then seasons."""
    from statistics import NormalDist

    strata = np.array([NormalDist().inv_cdf((i + 0.5) / DRAWS) for i in range(DRAWS)])
    random = np.random.default_rng(20_260_101)
    columns = 2 + LIMBS_AT_MOST + HORIZON * LIMBS_AT_MOST
    table = np.empty((columns, DRAWS))
    for column in range(columns):
        table[column] = strata[random.permutation(DRAWS)]
    return table


@dataclass(slots=True)
class _Limbs:
    keys: list[str]
    wanted: Floats
    final: Floats


class _Ahead:
    """All draws of one tree, walked forward together. Arrays run (limb, draw)."""

    def __init__(self, walk: Walk) -> None:
        self.walk = walk
        self.limbs = [limb for limb in walk.limbs.values() if not limb.is_accepted][:LIMBS_AT_MOST]
        count = len(self.limbs)
        index = {limb.key: i for i, limb in enumerate(self.limbs)}
        draws = _draws()
        self.length = _column([limb.length for limb in self.limbs], DRAWS)
        self.grown = _column([limb.grown for limb in self.limbs], DRAWS)
        self.begun = np.repeat(np.array([[limb.season] for limb in self.limbs], dtype=np.int64), DRAWS, axis=1)
        self.wanted = np.array([[float(limb.wanted)] for limb in self.limbs]) * walk.practice.full_share
        self.end = np.array([[float(limb.wanted)] for limb in self.limbs])
        self.full_at = np.full((count, DRAWS), np.inf)
        self.full_at[(self.length >= self.wanted) & (self.begun > 0)] = -np.inf
        self.leader = np.full(DRAWS, walk.leader.length)
        self.leader_grown = np.full(DRAWS, walk.leader.grown)
        self.waves = _waves(walk)
        self.wave_of = np.array([limb.place.wave if limb.place.bearer == "leader" else 0 for limb in self.limbs])
        self.pending = np.zeros(DRAWS, dtype=np.int64)
        self.side_limbs = [
            (i, index[limb.place.bearer], limb.place) for i, limb in enumerate(self.limbs) if limb.place.bearer in index
        ]
        self.factors = self._factors(draws)
        self.noise = draws[2 + LIMBS_AT_MOST :].reshape(HORIZON, LIMBS_AT_MOST, DRAWS)
        self.work: list[YearOfWork] = []
        self.set_at = np.where(self.begun > 0, self.begun, 10**6)

    def _factors(self, draws: Floats) -> tuple[Floats, Floats, float, float]:
        arms, leader = self.walk.learnt[ARMS], self.walk.learnt[LEADER]
        tree = arms.group.mean + arms.group.sd * draws[1]
        own = np.empty((len(self.limbs), DRAWS))
        for i, limb in enumerate(self.limbs):
            mean, share = arms.measured.get(limb.key, (0.0, 0.0))
            own[i] = tree + share * (mean - tree) + arms.limb_sd * (1 - share) ** 0.5 * draws[2 + i]
        mean, share = leader.measured.get("leader", (0.0, 0.0))
        lead = leader.group.mean + leader.group.sd * draws[0]
        lead = lead + share * (mean - lead)
        return own, lead, arms.season_sd, leader.season_sd

    def run(self) -> None:
        walk = self.walk
        year = walk.season
        share = 1 - seasons.share_grown(walk.today, southern=walk.facts.is_southern)
        worked = walk.today > walk.day(year, seasons.DORMANT_WORK_DONE)
        for step in range(HORIZON):
            before = self.begun > 0
            headed = 0.0
            if not worked and year >= walk.first_season:
                headed = self._dormant(year)
            self._count_work(year, before, headed)
            self._grow(year, step, share)
            if np.isfinite(self.full_at).all() or np.all(self.full_at < np.inf):
                break
            share, worked = 1.0, False
            year += 1

    def _dormant(self, year: int) -> float:
        walk, practice = self.walk, self.walk.practice
        headed = 0.0
        if self.waves:
            alive = self.pending < len(self.waves)
            heights = np.array([height for _, height in self.waves] + [np.inf])
            gate = heights[np.minimum(self.pending, len(self.waves))]
            reach = alive & (self.leader >= gate)
            short = alive & ~reach & (walk.headed_season != year)
            self.leader = np.where(reach, gate, self.leader - short * self.leader_grown * practice.short_leader_share)
            numbers = np.array([wave for wave, _ in self.waves] + [-1])
            opened = numbers[np.minimum(self.pending, len(self.waves))]
            starts = (self.wave_of[:, None] == opened[None, :]) & reach[None, :] & (self.begun == 0)
            self.pending = self.pending + reach
            headed = float(reach.mean())
        else:
            starts = np.zeros_like(self.begun, dtype=bool)
        for i, bearer, place in self.side_limbs:
            waves = place.wave - self.limbs[bearer].place.wave
            starts[i] |= (
                (self.begun[i] == 0)
                & (self.begun[bearer] > 0)
                & (year - self.begun[bearer] >= waves)
                & (self.length[bearer] >= place.cut_mm)
            )
        self._shorten(year)
        for i, limb in enumerate(self.limbs):
            if limb.status == "lost" and limb.place.bearer == "leader" and year > walk.season:
                starts[i] |= self.begun[i] == 0
        self.begun = np.where(starts, year, self.begun)
        self.set_at = np.minimum(self.set_at, np.where(starts, year, 10**6))
        self.length = np.where(starts, 0.0, self.length)
        return headed

    def _shorten(self, year: int) -> None:
        walk = self.walk
        is_open = (self.begun > 0) & (self.begun < year) & (self.length < self.wanted)
        if walk.plan.stem:
            return
        if walk.form.has("rib_cut_share"):
            cut = self.grown * walk.form.number("rib_cut_share")
            if walk.form.family == "fans":
                arms = np.array([[limb.place.limb.kind == "arm"] for limb in self.limbs])
                second = np.maximum(0.0, self.length - walk.form.number("second_cut_mm"))
                cut = np.where(arms & (year - self.begun == 1), second, cut)
        elif walk.practice.arm_winter_cut == "none":
            return
        elif walk.practice.arm_winter_cut == "weak_third":
            cut = np.where(self.grown < self._means(year - 1) * 0.999, self.grown / 3, 0.0)
        else:
            shares = np.array([[walk.winter_share(limb, year)] for limb in self.limbs])
            cut = self.grown * shares
        self.length = self.length - np.where(is_open, np.maximum(cut, 0.0), 0.0)

    def _means(self, year: int) -> Floats:
        prior = self.walk.prior
        ages = np.clip(year - self.begun, 0, prior.bearing_age)
        table = np.array(
            [
                [
                    prior.mean(limb.place.first_angle_deg if age == 0 else limb.final_angle, age)
                    for age in range(prior.bearing_age + 1)
                ]
                for limb in self.limbs
            ]
        )
        means = np.take_along_axis(table, ages, axis=1)
        return means * (prior.planting_share if year <= self.walk.first_season else 1.0)

    def _grow(self, year: int, step: int, share: float) -> None:
        own, lead, season_sd, leader_sd = self.factors
        count = len(self.limbs)
        means = self._means(year)
        gain = means * np.maximum(LEAST_GROWTH_SHARE, own + season_sd * self.noise[step, :count]) * share
        gain = np.where(self.begun > 0, gain, 0.0)
        with np.errstate(divide="ignore", invalid="ignore"):
            crossing = year + (1 - share) + share * np.where(gain > 0, (self.wanted - self.length) / gain, np.inf)
        self.length = self.length + gain
        self.grown = gain if share == 1.0 else self.grown + gain
        reached = (self.length >= self.wanted) & (self.begun > 0)
        self.full_at = np.where(reached & (self.full_at == np.inf), np.minimum(crossing, year + 0.999), self.full_at)
        self.length = np.minimum(self.length, self.end)
        if self.waves:
            expected = self.walk.prior.leader * (
                self.walk.prior.planting_share if year <= self.walk.first_season else 1.0
            )
            more = (
                expected
                * np.maximum(LEAST_GROWTH_SHARE, lead + leader_sd * self.noise[step, LIMBS_AT_MOST - 1])
                * share
            )
            alive = self.pending < len(self.waves)
            more = np.where(alive, more, 0.0)
            self.leader = self.leader + more
            self.leader_grown = more if share == 1.0 else self.leader_grown + more

    def _count_work(self, year: int, before: Bools, headed: float) -> None:
        walk = self.walk
        self.work.append(
            YearOfWork(
                year=year,
                metres=float(self.length.sum(axis=0).mean()) / 1000,
                new_limbs=float(((self.begun > 0) & ~before).sum(axis=0).mean()),
                headings=headed,
                is_planting=year == walk.first_season and walk.today <= walk.facts.planted_on,
                is_fan=walk.form.family == "fans",
                is_vine=walk.form.family == "vines",
            )
        )

    def full_years(self) -> tuple[int | None, int | None, int | None]:
        if self.walk.full_since is not None and self.walk.is_full():
            return (self.walk.full_since,) * 3
        moments = np.sort(self.full_at.max(axis=0))
        if np.isneginf(moments).all():
            return (self.walk.season,) * 3
        return _range_of(moments)

    def tier_years(self) -> tuple[tuple[int, int, int, int], ...]:
        rows = []
        for tier in range(1, self.walk.plan.tiers + 1):
            members = [i for i, limb in enumerate(self.limbs) if limb.place.limb.tier == tier]
            if not members:
                continue
            years = np.sort(self.set_at[members].max(axis=0))
            if years[DRAWS // 2] < 10**6:
                last = years[years < 10**6][-1]
                low, mid, high = (int(min(years[int(q * DRAWS)], last)) for q in (0.1, 0.5, 0.9))
                rows.append((tier, low, mid, high))
        return tuple(rows)


def _column(values: list[float], draws: int) -> Floats:
    return np.repeat(np.array(values, dtype=np.float64)[:, None], draws, axis=1)


def _waves(walk: Walk) -> list[tuple[int, float]]:
    if walk.leader_ended or walk.plan.stem:
        return []
    waiting = {
        limb.place.wave
        for limb in walk.limbs.values()
        if limb.place.bearer == "leader" and limb.season == 0 and limb.status != "lost"
    }
    return [
        (wave, walk.cut_height(wave, height, margin))
        for wave, height, margin in walk.plan.leader_waves
        if wave in waiting
    ]


def _range_of(moments: Floats) -> tuple[int | None, int | None, int | None]:
    """Whole seasons whose range holds the truth as near to 80 % as whole seasons allow.

    A season that the 10 % mark falls into counts when at least half of it lies inside; the same above.
    """

    def at(share: float) -> float:
        return float(moments[min(DRAWS - 1, int(share * DRAWS))])

    middle = at(0.5)
    if not np.isfinite(middle):
        return (None, None, None)
    p50 = int(np.floor(middle))
    low, high = at(0.1), at(0.9)
    p10 = min(p50, int(np.floor(low + 0.5))) if np.isfinite(low) else p50
    p90 = max(p50, int(np.floor(high - 0.5))) if np.isfinite(high) else None
    return p10, p50, p90
