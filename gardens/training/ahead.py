"""All draws of one tree walked forward together, by the same rules as `walk`. Arrays run (limb, draw)."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from gardens.training import seasons
from gardens.training.draws import DRAWS, HORIZON, MOST_LIMBS, Floats, limb_draws, season_draws, tree_draws
from gardens.training.effort import YearOfWork
from gardens.training.growing import FOOT_ANGLE_DEG
from gardens.training.growth import ARMS, LEADER, means_by_age
from gardens.training.leader_work import ONE_BUD_MM, TWO_BUDS_MM
from gardens.training.walk import TIP_SHARE, WEAK_BELOW, Walk

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
NEVER = 10**6
LEAST_GROWTH = 0.05
"""No season is taken to bring less than this share of what was expected."""
ENOUGH = 0.92
"""The walk ends when this share of the draws is full: the 90 % mark is then known."""


class Ahead:
    """One tree, walked forward season by season until most draws are full."""

    def __init__(self, walk: Walk, group: str) -> None:
        self.walk = walk
        self.group = group
        self.limbs = [limb for limb in walk.limbs.values() if not limb.is_accepted][:MOST_LIMBS]
        self.index = {limb.key: row for row, limb in enumerate(self.limbs)}
        self.length = _spread([limb.length for limb in self.limbs])
        self.grown = _spread([limb.grown for limb in self.limbs])
        self.begun: Ints = _spread([limb.season if limb.is_alive else 0 for limb in self.limbs]).astype(np.int64)
        self.end = np.array([[float(limb.wanted)] for limb in self.limbs])
        self.goal = self.end * walk.practice.full_share
        self.full_at = np.where((self.length >= self.goal) & (self.begun > 0), -np.inf, np.inf)
        self.set_at: Ints = np.where(self.begun > 0, self.begun, NEVER)
        self.leader = np.full(DRAWS, walk.leader.length)
        self.leader_grown = np.full(DRAWS, walk.leader.grown)
        self.waves = _waves_ahead(walk)
        self.pending: Ints = np.zeros(DRAWS, dtype=np.int64)
        self.side_limbs = [
            (row, self.index[limb.place.bearer], limb)
            for row, limb in enumerate(self.limbs)
            if limb.place.bearer in self.index
        ]
        self.last_expected: Floats | None = None
        self.work: list[YearOfWork] = []
        self._prepare_growth()
        self._prepare_cuts()

    def _prepare_growth(self) -> None:
        walk, prior = self.walk, self.walk.prior
        self.means = np.array(
            [means_by_age(prior, limb.place.first_angle_deg, limb.final_angle) for limb in self.limbs], dtype=np.float64
        )
        feet = [limb.foot for limb in self.limbs]
        self.feet = np.array(feet)[:, None] if any(feet) else None
        self.foot_means = np.array(means_by_age(prior, FOOT_ANGLE_DEG, FOOT_ANGLE_DEG))
        self.rows = np.arange(len(self.limbs))[:, None]
        self.own, self.lead = self._factors()
        self.arm_sd, self.lead_sd = walk.learnt[ARMS].season_sd, walk.learnt[LEADER].season_sd

    def _prepare_cuts(self) -> None:
        shares = [limb.place.winter_share for limb in self.limbs]
        self.form_share = np.array([[0.0 if share is None else share] for share in shares])
        self.by_form = np.array([[share is not None] for share in shares])
        self.all_by_form = bool(self.by_form.all())
        self.arms = np.array([[limb.place.limb.kind == "arm"] for limb in self.limbs])
        self.angles = np.array([[limb.final_angle] for limb in self.limbs])

    def _factors(self) -> tuple[Floats, Floats]:
        """Each limb's lasting factor of growth, and the leader's, one for each draw, given what was measured."""
        arms, leader = self.walk.learnt[ARMS], self.walk.learnt[LEADER]
        for_leaders, for_this_leader, for_arms = tree_draws()
        tree = arms.group.mean + arms.group.sd * for_arms
        measured = [arms.measured.get(limb.key, (0.0, 0.0)) for limb in self.limbs]
        mean = np.array([[mean] for mean, _ in measured])
        share = np.array([[share] for _, share in measured])
        own = tree + share * (mean - tree) + arms.limb_sd * np.sqrt(1 - share) * limb_draws(len(self.limbs))
        lead = leader.group.mean + leader.group.sd * for_leaders
        seen, weight = leader.measured.get(LEADER, (0.0, 0.0))
        return own, lead + weight * (seen - lead) + leader.limb_sd * (1 - weight) ** 0.5 * for_this_leader

    # -- the seasons ----------------------------------------------------------------------------------------------

    def run(self) -> None:
        """Walk until enough draws are full."""
        walk, year = self.walk, self.walk.season
        share = 1 - seasons.share_grown(walk.today, southern=walk.facts.is_southern)
        is_worked = walk.today >= walk.day(year, seasons.DORMANT_WORK_DONE)
        for step in range(HORIZON):
            self.walk_season(year, step, share=share, is_worked=is_worked)
            if np.count_nonzero(self.full_at.max(axis=0) < np.inf) >= ENOUGH * DRAWS:
                break
            share, is_worked, year = 1.0, False, year + 1

    def walk_season(self, year: int, step: int, *, share: float = 1.0, is_worked: bool = False) -> None:
        """One season: its dormant work unless that is over, then the share of its growth that is still to come."""
        before, cuts = self.begun > 0, (0.0, 0.0)
        if not is_worked and year >= self.walk.first_season and not self.walk.is_neglected(year):
            cuts = self._do_dormant_work(year)
        self._count_work(year, before, cuts)
        self._grow(year, step, share)

    def _do_dormant_work(self, year: int) -> tuple[float, float]:
        """Head, shorten, raise; returns the expected number of leader cuts and of shortened limbs."""
        walk = self.walk
        starts = self._rising(year)
        headed = 0.0
        if walk.headed_season != year:
            headed = self._head(year, starts)
            if (cut := walk.stem_cut(year)) is not None:
                self.length = np.minimum(self.length, cut)
        cuts = self._shorten(year)
        self._restart_lost(year, starts)
        self.begun = np.where(starts, year, self.begun)
        self.set_at = np.minimum(self.set_at, np.where(starts, year, NEVER))
        self._bend(starts)
        return headed, cuts

    def _rising(self, year: int) -> Bools:
        starts = np.zeros(self.begun.shape, dtype=bool)
        for row, bearer, limb in self.side_limbs:
            waves = limb.place.wave - self.limbs[bearer].place.wave
            begun = self.begun[bearer]
            starts[row] = (
                (self.begun[row] == 0)
                & (begun > 0)
                & (year - begun >= waves)
                & (self.length[bearer] >= limb.place.cut_mm)
            )
        return starts

    def _head(self, year: int, starts: Bools) -> float:
        walk = self.walk
        alive = self.pending < len(self.waves)
        if not alive.any() or walk.is_rooting(year):
            return 0.0
        if walk.goes_to_two_buds(year):
            self.leader = np.minimum(self.leader, TWO_BUDS_MM)
            return 1.0
        reached = 0.0
        pending = self.pending
        for number, (wave, height) in enumerate(self.waves):
            here = pending == number
            if not here.any():
                continue
            members = [
                row for row, limb in enumerate(self.limbs) if limb.place.bearer == "leader" and limb.place.wave == wave
            ]
            waits = self._must_wait(wave, year)
            reach = here & ~waits & (self.leader >= height)
            short = here & ~waits & ~reach
            below = self.waves[number - 1][1] if number else walk.trunk_top
            self._cut_short(short, below)
            self.leader = np.where(here & waits, np.minimum(self.leader, below + ONE_BUD_MM), self.leader)
            self.leader = np.where(reach, height, self.leader)
            for row in members:
                starts[row] |= reach & (self.begun[row] == 0)
            self.pending = np.where(reach, number + 1, self.pending)
            reached += float(np.count_nonzero(reach)) / DRAWS
        return reached

    def _cut_short(self, short: Bools, below: float) -> None:
        if self.walk.form.family == "vines":
            return
        off = np.minimum(self.leader_grown * self.walk.practice.short_leader_share, self.leader - below - ONE_BUD_MM)
        self.leader = np.where(short, self.leader - np.maximum(off, 0.0), self.leader)

    def _must_wait(self, wave: int, year: int) -> Bools:
        if not self.walk.practice.wait_for_strong_first_arms or wave != 2:
            return np.zeros(DRAWS, dtype=bool)
        first = [row for row, limb in enumerate(self.limbs) if limb.place.bearer == "leader" and limb.place.wave == 1]
        waits = (self.begun[first] > 0) & (year - self.begun[first] < 2)
        any_waits: Bools = np.logical_or.reduce(waits, axis=0)
        return any_waits

    def _shorten(self, year: int) -> float:
        walk = self.walk
        if walk.plan.stem:
            return 0.0
        may = (self.begun > 0) & (self.begun < year) & (self.length < self.goal) & (self.grown > 0)
        off = self.grown * self.form_share
        if not self.all_by_form:
            off = np.where(self.by_form, off, self._by_practice(year))
        off = self._second_cuts(year, off)
        room = self.length - self._borne_to() if self.side_limbs else self.length
        off = np.maximum(0.0, np.minimum(off, room)) * may
        self.length = self.length - off
        return float(np.count_nonzero(off > ONE_BUD_MM)) / DRAWS

    def _by_practice(self, year: int) -> Floats:
        rule = self.walk.practice.arm_winter_cut
        if rule == "weak_third":
            if self.last_expected is None:
                self.last_expected = self._expected(year - 1, self.length - self.grown)
            return np.where(self.grown < self.last_expected * WEAK_BELOW, self.grown / 3, 0.0)
        if rule == "third":
            return self.grown / 3
        if rule == "by_angle":
            return self.grown * np.where(self.angles > 70, 0.5, np.where(self.angles > 15, 1 / 3, TIP_SHARE))
        return self.grown * (TIP_SHARE if rule == "tip" else 0.0)

    def _second_cuts(self, year: int, off: Floats) -> Floats:
        """The cuts some forms make once, in a limb's second season."""
        form, second = self.walk.form, year - self.begun == 1
        if form.family == "fans":
            if self.walk.facts.species == "fig":
                asked = self.length * form.number("second_cut_fig_share")
            else:
                asked = self.length - form.number("second_cut_mm")
            return np.where(second & self.arms, asked, off)
        if any(limb.place.bends_leader for limb in self.limbs):
            keep, leave = form.number("one_arm_keep_mm"), form.number("one_arm_leave_below_mm")
            return np.where(second, np.where(self.length > leave, self.length - keep, 0.0), off)
        return off

    def _borne_to(self) -> Floats:
        borne = np.zeros(self.length.shape)
        for row, bearer, limb in self.side_limbs:
            borne[bearer] = np.maximum(
                borne[bearer], np.where(self.begun[row] > 0, limb.place.along_mm + ONE_BUD_MM, 0.0)
            )
        return borne

    def _restart_lost(self, year: int, starts: Bools) -> None:
        """A lost limb that was not accepted is taken as raised again in the next season."""
        for row, limb in enumerate(self.limbs):
            if limb.status == "lost" and year > limb.lost_in:
                starts[row] |= self.begun[row] == 0

    def _bend(self, starts: Bools) -> None:
        self.length = np.where(starts, 0.0, self.length)
        for row, limb in enumerate(self.limbs):
            if limb.place.bends_leader:
                bent = min(limb.wanted, max(0.0, self.walk.leader_before_cut() - limb.place.cut_mm))
                self.length[row] = np.where(starts[row], bent, self.length[row])

    def _expected(self, year: int, base: Floats) -> Floats:
        """What the prior expects of each limb in a season that it begins at a length. [mm]"""
        prior = self.walk.prior
        ages = np.minimum(year - self.begun, prior.bearing_age)
        means = self.means[self.rows, ages]
        if self.feet is not None:
            means = np.where((base < self.feet) & (ages > 0), self.foot_means[ages], means)
        return means * prior.planting_share if year <= self.walk.first_season else means

    def _grow(self, year: int, step: int, share: float) -> None:
        of_leader, of_limbs = season_draws(step, len(self.limbs))
        base = self.length if share == 1.0 else self.length - self.grown
        self.last_expected = self._expected(year, base)
        factor = np.maximum(LEAST_GROWTH, self.own + self.arm_sd * of_limbs)
        gain = self.last_expected * factor * (self.begun > 0)
        if share < 1.0:
            gain *= share
        after = self.length + gain
        reached = (after >= self.goal) & (self.full_at == np.inf) & (self.begun > 0)
        if reached.any():
            part = np.minimum((self.goal - self.length) / np.maximum(gain, 1e-9), 0.999)
            self.full_at = np.where(reached, year + (1 - share) + share * part, self.full_at)
        self.length = np.minimum(after, self.end)
        self.grown = gain if share == 1.0 else self.grown + gain
        if self.waves:
            self._grow_leader(year, share, of_leader)

    def _grow_leader(self, year: int, share: float, of_leader: Floats) -> None:
        prior = self.walk.prior
        expected = prior.leader * (prior.planting_share if year <= self.walk.first_season else 1.0) * share
        gain = expected * np.maximum(LEAST_GROWTH, self.lead + self.lead_sd * of_leader)
        gain = np.where(self.pending < len(self.waves), gain, 0.0)
        self.leader = self.leader + gain
        self.leader_grown = gain if share == 1.0 else self.leader_grown + gain

    def _count_work(self, year: int, before: Bools, cuts: tuple[float, float]) -> None:
        walk = self.walk
        metres = float(self.length.sum()) / DRAWS / 1000
        area = (walk.facts.run_left_mm + walk.facts.run_right_mm) * walk.facts.height_mm / 1e6
        filled = min(1.0, float(self.length.sum()) / DRAWS / max(1.0, float(self.end.sum())))
        new = float(np.count_nonzero((self.begun > 0) & ~before)) / DRAWS
        planting = year == walk.first_season and walk.today <= walk.facts.planted_on
        self.work.append(
            YearOfWork(
                year, walk.form.id, self.group, metres, area * filled, new, cuts[0], cuts[1], is_planting=planting
            )
        )


def _spread(values: Sequence[float]) -> Floats:
    return np.repeat(np.array(values, dtype=np.float64)[:, None], DRAWS, axis=1)


def _waves_ahead(walk: Walk) -> list[tuple[int, float]]:
    if walk.leader_ended or walk.plan.stem:
        return []
    return [
        (wave, walk.cut_height(wave, height, takes_margin=margin))
        for wave, height, margin in walk.plan.leader_cuts
        if any(limb.season == 0 and limb.status != "lost" for limb in walk.on_leader(wave))
    ]


def years_of_a_settled_tree(walk: Walk, group: str, years: int) -> list[YearOfWork]:
    """The same work every year: what a full tree asks for."""
    metres = sum(limb.length for limb in walk.limbs.values()) / 1000
    area = (walk.facts.run_left_mm + walk.facts.run_right_mm) * walk.facts.height_mm / 1e6
    return [YearOfWork(walk.season + year, walk.form.id, group, metres, area, 0.0, 0.0, 0.0) for year in range(years)]


def share_of_draws(moments: Floats, share: float) -> float:
    """The moment by which a share of the draws has come."""
    return float(moments[min(DRAWS - 1, math.floor(share * DRAWS))])
