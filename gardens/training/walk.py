"""The tree carried through its days: what grows by itself, and what is taken as done where nothing was recorded.

A `Walk` is the one mutable thing in this core. `replay.fold` makes one from a tree's facts, moves it from record to
record and takes the state it ends in; `resume` makes one from a state, to look ahead.

Between records every limb grows by the prior, corrected by what the tree's own measurements taught. Work of a season
is taken as done at the end of its part of the year, unless a record said otherwise: heading and shortening on the last
day of the dormant months, shoots chosen in late spring, tied in summer, lowered in autumn. A limb that somebody
recorded work on waits one season longer before its lowering is taken as done.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from gardens.training import seasons
from gardens.training.growing import Growing
from gardens.training.growth import ARMS, LEADER
from gardens.training.leader_work import ONE_BUD_MM, LeaderWork
from gardens.training.state import LimbStatus

TIP_SHARE = 0.03
"""How much of a limb's new growth its mere tip is."""
WEAK_BELOW = 0.98
"""An arm that grew less than this share of what was expected is shortened to wake it."""
UNKNOWN_MATERIAL = ""
"""The material of a tie that was taken as put on, not recorded; such ties are also taken as removed in time."""
TIE_STAYS_DAYS = 270


@dataclass(slots=True)
class Walk(LeaderWork):
    """A tree on its way through the days."""

    def advance(self, to: date) -> None:
        """Let the tree grow up to and including a day, with the work of its seasons taken as done."""
        southern = self.facts.is_southern
        while self.today < to and not self.is_lost:
            if self.full_since is not None and self._is_settled():
                self.turn_to(to)
                self.grown_until = to
                self._drop_old_ties()
                return
            season = self.season
            days = seasons.work_days(season, southern=southern)
            if self.today < days[0] and days[-1] <= to:
                self._pass_season(days)
            else:
                self._pass_days(days, to)
            if days[-1] < to:
                self.turn_to(self.day(season + 1, seasons.SEASON_STARTS))
                self.grown_until = self.today

    def _pass_season(self, days: tuple[date, date, date, date]) -> None:
        """A whole season of which nothing was recorded."""
        self.today, chosen, tied, lowered = days
        self.do_dormant_work()
        if any(limb.season == self.season for limb in self.limbs.values()):
            self.today = chosen
            self.choose_shoots()
            self.today = tied
            self.tie_shoots()
        self._come_to(lowered, growing=True)
        self.lower_limbs()

    def _pass_days(self, days: tuple[date, date, date, date], to: date) -> None:
        """The part of a season up to a day, with the work that falls into it."""
        for moment, (act, needs_lengths) in zip(days, _ACTS, strict=True):
            if self.today < moment <= to:
                self._come_to(moment, growing=needs_lengths)
                act(self)
        self._come_to(min(to, days[-1]), growing=True)

    def _is_settled(self) -> bool:
        """Whether the tree is full and set, so that nothing changes by itself any more."""
        if not (self.leader_ended or self.plan.stem):
            return False
        settled = all(
            limb.is_accepted or (limb.status == "set" and limb.length == limb.wanted and not limb.grown)
            for limb in self.limbs.values()
        )
        return settled and not self.is_neglected(self.season)

    def _come_to(self, day: date, *, growing: bool) -> None:
        """Move to a later day of the same season; where lengths do not matter yet, growth is made up later."""
        self.today = max(self.today, day)
        if growing:
            southern = self.facts.is_southern
            share = seasons.share_grown(day, southern=southern) - seasons.share_grown(
                self.grown_until, southern=southern
            )
            self.grown_until = self.today
            if share > 0:
                self._grow(share)

    def _grow(self, share: float) -> None:
        """Add a share of the season's growth to everything that grows."""
        if self.rates_for != self.season:
            self._set_rates()
        free_leader = None if self.plan.stem else self.leader
        for limb in self.moving():
            room = (self._end_of_leader() if limb is free_leader else limb.wanted) - limb.length
            if room <= 0:
                continue
            gain = limb.rate * share
            if gain > room:
                gain = room
            if gain > 0:
                limb.length += gain
                limb.grown += gain
                limb.is_estimated = True
        if self.full_since is None:
            self.note_if_full()

    def _end_of_leader(self) -> float:
        """How high a leader is let grow where nobody measured it. [mm above ground]"""
        cut = self.next_cut()
        return max(self.facts.height_mm, cut[1] if cut else 0)

    def _set_rates(self) -> None:
        season = self.rates_for = self.season
        self.relearn()
        prior, factor, leader = self.prior, self.learnt[ARMS].factor, self.leader
        planting = prior.planting_share if season <= self.first_season else 1.0
        for limb in self.moving():
            if limb.length >= limb.wanted and limb is not leader:
                limb.rate = 0.0
            elif self.is_free_leader(limb):
                limb.rate = prior.leader * planting * self.learnt[LEADER].factor(LEADER)
            else:
                in_place = limb.angle == limb.final_angle and season > limb.season
                mean = limb.expected(prior, season) if in_place else prior.mean(limb.angle, season - limb.season)
                limb.rate = mean * planting * factor(limb.key)

    # -- limbs that spring from limbs, and winter cuts ---------------------------------------------------------

    def may_rise(self, limb: Growing, season: int) -> bool:
        """Whether a side limb's bearer is old and long enough to raise it in a season."""
        bearer = self.limbs.get(limb.place.bearer)
        if bearer is None or not bearer.is_alive or limb.season or limb.status == "lost":
            return False
        return season - bearer.season >= limb.place.wave - bearer.place.wave and bearer.length >= limb.place.cut_mm

    def winter_cut(self, limb: Growing, season: int) -> float:
        """How much of a limb's new growth comes off this season, 0 for one that fills its place. [mm]

        Never so much that the cut would fall below a limb that springs from it.
        """
        if not limb.is_alive or limb.season >= season or limb.grown <= 0 or limb.key == self.plan.stem:
            return 0.0
        if limb.length >= limb.wanted * self.practice.full_share:
            return 0.0
        asked = self._cut_asked(limb, season)
        return max(0.0, min(asked, limb.length - self._borne_to(limb))) if asked > 0 else 0.0

    def _cut_asked(self, limb: Growing, season: int) -> float:
        second = season - limb.season == 1
        if self.form.family == "fans" and limb.place.limb.kind == "arm" and second:
            if self.facts.species == "fig":
                return limb.length * self.form.number("second_cut_fig_share")
            return limb.length - self.form.number("second_cut_mm")
        if limb.place.bends_leader and second:
            keep, leave = self.form.number("one_arm_keep_mm"), self.form.number("one_arm_leave_below_mm")
            return limb.length - keep if limb.length > leave else 0.0
        return limb.grown * self._share_asked(limb, season)

    def _share_asked(self, limb: Growing, season: int) -> float:
        rule = self.practice.arm_winter_cut
        if limb.place.winter_share is not None:
            return limb.place.winter_share
        if rule == "third":
            return 1 / 3
        if rule == "by_angle":
            return 0.5 if limb.angle > 70 else 1 / 3 if limb.angle > 15 else TIP_SHARE
        if rule == "weak_third":
            return 1 / 3 if limb.grown < self.expected(limb, season - 1) * WEAK_BELOW else 0.0
        return TIP_SHARE if rule == "tip" else 0.0

    def _borne_to(self, limb: Growing) -> float:
        """How far along a limb the last living limb springs from it. [mm]"""
        if limb.key not in self.plan.bearing_limbs:
            return 0.0
        borne = [
            other.place.along_mm for other in self.limbs.values() if other.place.bearer == limb.key and other.is_alive
        ]
        return max(borne) + ONE_BUD_MM if borne else 0.0

    # -- work taken as done ---------------------------------------------------------------------------------------

    def do_dormant_work(self) -> None:
        """Head the leader, shorten arms, raise new limbs: what nobody recorded by the end of the dormant months."""
        season = self.season
        if season < self.first_season or self.is_neglected(season):
            return
        rising: list[Growing] = []
        if self.plan.bearing_limbs:
            waiting = [limb for limb in self.limbs.values() if limb.season == 0 and limb.place.bearer != LEADER]
            rising = [limb for limb in waiting if self.may_rise(limb, season)]
        if self.headed_season != season:
            self.head(season)
            if (cut := self.stem_cut(season)) is not None:
                self.leader.length = min(self.leader.length, cut)
        for limb in self.limbs.values():
            if limb.grown > 0 and (season, limb.key) not in self.shortened:
                limb.length -= self.winter_cut(limb, season)
            if limb.length > limb.wanted:
                limb.length = limb.wanted
            limb.grown = 0.0
        self.leader.grown = 0.0
        for limb in rising:
            self.begin(limb, season)

    def choose_shoots(self) -> None:
        """Late spring: the season's new shoots have been picked."""
        self._move_on("wanted", "chosen")

    def tie_shoots(self) -> None:
        """Summer: the season's new shoots are on their slanted canes."""
        for limb in self._move_on("chosen", "tied"):
            if not any(tie.limb == limb.key for tie in self.ties):
                self.put_tie(limb.key, UNKNOWN_MATERIAL)

    def lower_limbs(self) -> None:
        """Autumn: last summer's shoots come to their final place, and ties of the year before come off."""
        self._drop_old_ties()
        for limb in self.limbs.values():
            waits = 1 if limb.is_recorded else 0
            if limb.status in ("chosen", "tied") and 0 < limb.season <= self.season - waits:
                lowered = limb.angle != limb.final_angle
                self.set_limb(limb)
                if lowered and not limb.is_recorded:
                    self.put_tie(limb.key, UNKNOWN_MATERIAL)

    def _drop_old_ties(self) -> None:
        """Ties that nobody recorded are taken as off after their season."""
        if not self.ties:
            return
        self.ties = [
            tie
            for tie in self.ties
            if tie.material != UNKNOWN_MATERIAL or (self.today - tie.since).days < TIE_STAYS_DAYS
        ]

    def _move_on(self, old: LimbStatus, new: LimbStatus) -> list[Growing]:
        moved = [limb for limb in self.limbs.values() if limb.season == self.season and limb.status == old]
        for limb in moved:
            limb.status = new
        return moved


Act = Callable[[Walk], None]
_ACTS: tuple[tuple[Act, bool], ...] = (
    (Walk.do_dormant_work, False),
    (Walk.choose_shoots, False),
    (Walk.tie_shoots, False),
    (Walk.lower_limbs, True),
)
"""The work of a season on the days of `seasons.work_days`, and whether it needs the lengths of that day."""
