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
from gardens.training.state import TreeFacts
from gardens.training.suitability import width_taken_mm
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
        self.length = _spread([limb.length for limb in self.limbs])
        self.grown = _spread([limb.grown for limb in self.limbs])
        self.begun: Ints = np.repeat(
            np.array([[limb.season if limb.is_alive else NEVER] for limb in self.limbs], dtype=np.int64), DRAWS, axis=1
        )
        """The season each limb's shoot breaks in, or broke in; NEVER while it has not."""
        self.end = np.array([[float(limb.wanted)] for limb in self.limbs])
        self.goal = self.end * walk.practice.full_share
        self.is_full: Bools = (self.length >= self.goal) & (self.begun < NEVER)
        self.full_at = np.where(self.is_full, -np.inf, np.inf)
        self.leader = np.full(DRAWS, walk.leader.length)
        self.leader_grown = np.full(DRAWS, walk.leader.grown)
        self.pending: Ints = np.zeros(DRAWS, dtype=np.int64)
        self.last_expected: Floats | None = None
        self.work: list[YearOfWork] = []
        self._prepare_places()
        self._prepare_growth()
        self._prepare_cuts()

    def _prepare_places(self) -> None:
        """What springs from what, and in which cuts of the leader."""
        limbs, index = self.limbs, {limb.key: row for row, limb in enumerate(self.limbs)}
        self.waves = _waves_ahead(self.walk)
        self.of_wave = {
            wave: [row for row, limb in enumerate(limbs) if limb.place.bearer == LEADER and limb.place.wave == wave]
            for wave in (1, *(wave for wave, _ in self.waves))
        }
        pairs = sorted((index[limb.place.bearer], row) for row, limb in enumerate(limbs) if limb.place.bearer in index)
        self.bearers, self.side = [bearer for bearer, _ in pairs], [row for _, row in pairs]
        places = [limbs[row].place for row in self.side]
        self.waits = np.array(
            [[place.wave - limbs[b].place.wave] for place, b in zip(places, self.bearers, strict=True)]
        )
        self.springs_at = np.array([[float(place.cut_mm)] for place in places])
        self.kept_to = np.array([[float(place.along_mm + ONE_BUD_MM)] for place in places])
        self.first_of_bearer = [
            at for at, bearer in enumerate(self.bearers) if not at or self.bearers[at - 1] != bearer
        ]
        self.lost = [(row, limb.lost_in) for row, limb in enumerate(limbs) if limb.status == "lost"]
        self.bent = [(row, limb) for row, limb in enumerate(limbs) if limb.place.bends_leader]

    def _prepare_growth(self) -> None:
        prior, limbs = self.walk.prior, self.limbs
        # Row by row: nothing before a limb has begun, then its growth by age.
        means = [(0.0, *means_by_age(prior, limb.place.first_angle_deg, limb.final_angle)) for limb in limbs]
        self.means = np.array(means, dtype=np.float64).ravel()
        self.oldest = prior.bearing_age + 1
        self.row_starts = np.arange(len(limbs), dtype=np.int64)[:, None] * (self.oldest + 1)
        feet = [limb.foot for limb in limbs]
        self.feet = np.array(feet)[:, None] if any(feet) else None
        self.foot_means = np.array((0.0, *means_by_age(prior, FOOT_ANGLE_DEG, FOOT_ANGLE_DEG)))
        self.own, self.lead = self._factors()
        self.arm_sd, self.lead_sd = self.walk.learnt[ARMS].season_sd, self.walk.learnt[LEADER].season_sd

    def _prepare_cuts(self) -> None:
        shares = [limb.place.winter_share for limb in self.limbs]
        self.form_share = np.array([[0.0 if share is None else share] for share in shares])
        self.by_form = np.array([[share is not None] for share in shares])
        self.all_by_form, self.some_by_form = None not in shares, any(share is not None for share in shares)
        self.cuts_twice = self.walk.form.family == "fans" or bool(self.bent)
        self.is_never_cut = self.all_by_form and not any(shares) and not self.cuts_twice
        self.arms = np.array([[limb.place.limb.kind == "arm"] for limb in self.limbs])
        self.angles = np.array([[limb.final_angle] for limb in self.limbs])
        self.all_of_end = max(1.0, float(self.end.sum()))
        self.area = face_m2(self.walk.facts)

    def _factors(self) -> tuple[Floats, Floats]:
        """Each limb's lasting factor of growth, and the leader's, one for each draw, given what was measured."""
        arms, leader = self.walk.learnt[ARMS], self.walk.learnt[LEADER]
        for_leaders, for_this_leader, for_arms = tree_draws()
        tree = arms.group.mean + arms.group.sd * for_arms
        of_limbs = arms.limb_sd * limb_draws(len(self.limbs))
        if arms.measured:
            measured = [arms.measured.get(limb.key, (0.0, 0.0)) for limb in self.limbs]
            mean = np.array([[mean] for mean, _ in measured])
            share = np.array([[share] for _, share in measured])
            own = tree + share * (mean - tree) + np.sqrt(1 - share) * of_limbs
        else:
            own = tree + of_limbs
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
            if np.count_nonzero(np.logical_and.reduce(self.is_full, axis=0)) >= ENOUGH * DRAWS:
                break
            share, is_worked, year = 1.0, False, year + 1

    def walk_season(self, year: int, step: int, *, share: float = 1.0, is_worked: bool = False) -> None:
        """One season: its dormant work unless that is over, then the share of its growth that is still to come."""
        raised, headed, cut = 0, 0.0, 0.0
        if not is_worked and year >= self.walk.first_season and not self.walk.is_neglected(year):
            raised, headed, cut = self._do_dormant_work(year)
        self._count_work(year, raised, headed, cut)
        self._grow(year, step, share)

    def _do_dormant_work(self, year: int) -> tuple[int, float, float]:
        """Head, shorten, raise; returns how many limbs begin in all draws, how many leaders and limbs are cut in one."""
        walk = self.walk
        starts = self._rising(year)
        headed = 0.0
        if walk.headed_season != year:
            headed = self._head(year, starts)
            if (cut := walk.stem_cut(year)) is not None:
                self.length = np.minimum(self.length, cut)
        cuts = self._shorten(year)
        for row, lost_in in self.lost:
            if year > lost_in:  # a lost limb that was not accepted is taken as raised again in the next season
                starts[row] |= self.begun[row] == NEVER
        raised = int(np.count_nonzero(starts))
        if raised:
            self.begun[starts] = year
            self.length[starts] = 0.0
            self._bend(starts)
        return raised, headed, cuts

    def _rising(self, year: int) -> Bools:
        """Side limbs whose bearer is old and long enough to raise them."""
        starts = np.zeros(self.begun.shape, dtype=bool)
        if not self.side:
            return starts
        waiting = self.begun[self.side] == NEVER
        if np.count_nonzero(waiting):
            bearers = self.bearers
            waiting &= year - self.begun[bearers] >= self.waits
            waiting &= self.length[bearers] >= self.springs_at
            starts[self.side] = waiting
        return starts

    def _head(self, year: int, starts: Bools) -> float:
        walk = self.walk
        if not self.waves or walk.is_rooting(year) or self.pending.min() == len(self.waves):
            return 0.0
        if walk.goes_to_two_buds(year):
            self.leader = np.minimum(self.leader, TWO_BUDS_MM)
            return 1.0
        reached = 0
        pending = self.pending
        for number, (wave, height) in enumerate(self.waves):
            here = pending == number
            if not np.count_nonzero(here):
                continue
            below = self.waves[number - 1][1] if number else walk.trunk_top
            if walk.practice.wait_for_strong_first_arms and wave == 2:
                waits = here & self._first_are_weak(year)
                self.leader = np.where(waits, np.minimum(self.leader, below + ONE_BUD_MM), self.leader)
                here &= ~waits
            reach = here & (self.leader >= height)
            self._cut_short(here & ~reach, below)
            if count := int(np.count_nonzero(reach)):
                self.leader = np.where(reach, height, self.leader)
                for row in self.of_wave[wave]:
                    starts[row] |= reach & (self.begun[row] == NEVER)
                self.pending = np.where(reach, number + 1, self.pending)
                reached += count
        return reached / DRAWS

    def _cut_short(self, short: Bools, below: float) -> None:
        if self.walk.form.family == "vines" or not np.count_nonzero(short):
            return
        off = np.minimum(self.leader_grown * self.walk.practice.short_leader_share, self.leader - below - ONE_BUD_MM)
        self.leader = np.where(short, self.leader - np.maximum(off, 0.0), self.leader)

    def _first_are_weak(self, year: int) -> Bools:
        first = self.begun[self.of_wave[1]]
        weak: Bools = np.logical_or.reduce((first < NEVER) & (year - first < 2), axis=0)
        return weak

    def _shorten(self, year: int) -> float:
        walk = self.walk
        if walk.plan.stem or self.is_never_cut:
            return 0.0
        off = self.grown * self.form_share if self.all_by_form or self.some_by_form else self._by_practice(year)
        if not self.all_by_form and self.some_by_form:
            off = np.where(self.by_form, off, self._by_practice(year))
        may = (self.begun < year) & (self.length < self.goal)
        if self.cuts_twice:
            off = self._second_cuts(year, off)
            may &= self.grown > 0
        room = self.length - self._borne_to() if self.side else self.length
        off = np.minimum(off, room)
        np.maximum(off, 0.0, out=off)
        off *= may
        self.length = self.length - off
        return float(np.count_nonzero(off > ONE_BUD_MM)) / DRAWS

    def _by_practice(self, year: int) -> Floats:
        rule = self.walk.practice.arm_winter_cut
        if rule == "weak_third":
            if self.last_expected is None:
                self.last_expected = self._expected(year - 1, self.length - self.grown)
            return self.grown / 3 * (self.grown < self.last_expected * WEAK_BELOW)
        if rule == "third":
            return self.grown / 3
        if rule == "by_angle":
            return self.grown * np.where(self.angles > 70, 0.5, np.where(self.angles > 15, 1 / 3, TIP_SHARE))
        return self.grown * (TIP_SHARE if rule == "tip" else 0.0)

    def _second_cuts(self, year: int, off: Floats) -> Floats:
        """The cuts some forms make once, in a limb's second season."""
        form, second = self.walk.form, self.begun == year - 1
        if form.family == "fans":
            if self.walk.facts.species == "fig":
                asked = self.length * form.number("second_cut_fig_share")
            else:
                asked = self.length - form.number("second_cut_mm")
            return np.where(second & self.arms, asked, off)
        keep, leave = form.number("one_arm_keep_mm"), form.number("one_arm_leave_below_mm")
        return np.where(second, np.where(self.length > leave, self.length - keep, 0.0), off)

    def _borne_to(self) -> Floats:
        """How far along each limb the last living limb springs from it. [mm]"""
        borne = np.zeros(self.length.shape)
        reach = self.kept_to * (self.begun[self.side] < NEVER)
        rows = [self.bearers[at] for at in self.first_of_bearer]
        borne[rows] = np.maximum.reduceat(reach, self.first_of_bearer, axis=0)
        return borne

    def _bend(self, starts: Bools) -> None:
        for row, limb in self.bent:
            bent = min(limb.wanted, max(0.0, self.walk.leader_before_cut() - limb.place.cut_mm))
            self.length[row] = np.where(starts[row], bent, self.length[row])

    def _expected(self, year: int, base: Floats) -> Floats:
        """What the prior expects of each limb in a season that it begins at a length, 0 before it begins. [mm]"""
        prior = self.walk.prior
        ages = year + 1 - self.begun
        np.maximum(ages, 0, out=ages)
        np.minimum(ages, self.oldest, out=ages)
        means = self.means.take(ages + self.row_starts)
        if self.feet is not None:
            means = np.where((base < self.feet) & (ages > 1), self.foot_means[ages], means)
        if year <= self.walk.first_season:
            means *= prior.planting_share
        return means

    def _grow(self, year: int, step: int, share: float) -> None:
        of_leader, of_limbs = season_draws(step, len(self.limbs))
        base = self.length if share == 1.0 else self.length - self.grown
        self.last_expected = self._expected(year, base)
        gain = self.arm_sd * of_limbs
        gain += self.own
        np.maximum(gain, LEAST_GROWTH, out=gain)
        gain *= self.last_expected
        if share < 1.0:
            gain *= share
        after = self.length + gain
        reached = (after >= self.goal) & (self.begun < NEVER) & ~self.is_full
        if np.count_nonzero(reached):
            part = (self.goal - self.length)[reached] / np.maximum(gain[reached], 1e-9)
            self.full_at[reached] = year + (1 - share) + share * np.minimum(part, 0.999)
            self.is_full |= reached
        self.length = np.minimum(after, self.end, out=after)
        self.grown = gain if share == 1.0 else self.grown + gain
        if self.waves:
            self._grow_leader(year, share, of_leader)

    def _grow_leader(self, year: int, share: float, of_leader: Floats) -> None:
        prior = self.walk.prior
        expected = prior.leader * (prior.planting_share if year <= self.walk.first_season else 1.0) * share
        gain = expected * np.maximum(LEAST_GROWTH, self.lead + self.lead_sd * of_leader)
        gain *= self.pending < len(self.waves)
        self.leader = self.leader + gain
        self.leader_grown = gain if share == 1.0 else self.leader_grown + gain

    def _count_work(self, year: int, raised: int, headed: float, cut: float) -> None:
        walk = self.walk
        length = float(self.length.sum()) / DRAWS
        self.work.append(
            YearOfWork(
                year=year,
                form=walk.form.id,
                group=self.group,
                metres=length / 1000,
                area_m2=self.area * min(1.0, length / self.all_of_end),
                new_limbs=raised / DRAWS,
                headings=headed,
                cut_limbs=cut,
                is_planting=year == walk.first_season and walk.today <= walk.facts.planted_on,
            )
        )


def face_m2(facts: TreeFacts) -> float:
    """The face of the support a tree has to itself. [m²]"""
    return width_taken_mm(facts) * facts.height_mm / 1e6


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
    area = face_m2(walk.facts)
    return [YearOfWork(walk.season + year, walk.form.id, group, metres, area, 0.0, 0.0, 0.0) for year in range(years)]


def share_of_draws(moments: Floats, share: float) -> float:
    """The moment by which a share of the draws has come."""
    return float(moments[min(DRAWS - 1, math.floor(share * DRAWS))])
