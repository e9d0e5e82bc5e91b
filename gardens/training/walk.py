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
from dataclasses import dataclass, field
from datetime import date

from gardens.knowledge.form_schema import FormRecord
from gardens.training import seasons
from gardens.training.growing import Growing
from gardens.training.growth import ARMS, LEADER, Learnt, Prior, learn, unmeasured
from gardens.training.places import Plan
from gardens.training.practice import TrainingPractice
from gardens.training.state import LimbStatus, Tie, TreeFacts

HEADED_NEAR_MM = 120
"""A leader cut no further than this below the planned height was cut for its tier. [mm]"""
ONE_BUD_MM = 30
"""What is left of a leader that is cut back to one bud, and of a vine cut to two. [mm]"""
TWO_BUDS_MM = 100
TIP_SHARE = 0.03
WEAK_BELOW = 0.98
"""An arm that grew less than this share of what was expected is shortened to wake it."""
UNKNOWN_MATERIAL = ""
"""The material of a tie that was taken as put on, not recorded; such ties are also taken as removed in time."""
TIE_STAYS_DAYS = 270


@dataclass(slots=True)
class Walk:
    """A tree on its way through the days."""

    facts: TreeFacts
    form: FormRecord
    plan: Plan
    practice: TrainingPractice
    prior: Prior
    today: date
    first_season: int
    limbs: dict[str, Growing]
    grown_until: date
    leader: Growing
    """The leader; its length is its height above ground. In a form that is all stem it is that stem."""
    trunk_top: float = 0.0
    leader_ended: bool = False
    ties: list[Tie] = field(default_factory=list)
    girth: int | None = None
    growth: list[tuple[int, str, int]] = field(default_factory=list)
    factors: list[tuple[str, str, int, float]] = field(default_factory=list)
    """Measured growth ÷ expected growth: (group, limb key, season, factor)."""
    learnt: dict[str, Learnt] = field(default_factory=dict)
    done: list[tuple[date, str, str]] = field(default_factory=list)
    notes: list[tuple[date, str, str]] = field(default_factory=list)
    headed_season: int = 0
    shortened: set[tuple[int, str]] = field(default_factory=set)
    rates_for: int = 0
    full_since: int | None = None
    is_lost: bool = False
    renovation_over: bool = False

    season: int = field(init=False)
    """The season of today."""

    def __post_init__(self) -> None:
        self.turn_to(self.today)

    def turn_to(self, day: date) -> None:
        """Come to a day without letting anything grow."""
        self.today = day
        self.season = seasons.season_of(day, southern=self.facts.is_southern)

    def day(self, season: int, month_day: tuple[int, int]) -> date:
        """A day of the tree's year, on its half of the world."""
        return seasons.day_of(season, month_day, southern=self.facts.is_southern)

    # -- moving through time ------------------------------------------------------------------------------------

    def advance(self, to: date) -> None:
        """Let the tree grow up to and including a day, with the work of its seasons taken as done."""
        while self.today < to and not self.is_lost:
            if self._is_settled():
                self.turn_to(to)
                self.grown_until = to
                self._drop_old_ties()
                return
            season = self.season
            days = seasons.work_days(season, southern=self.facts.is_southern)
            for moment, (act, needs_lengths) in zip(days, _ACTS, strict=True):
                if self.today < moment <= to:
                    self._come_to(moment, growing=needs_lengths)
                    act(self)
            self._come_to(min(to, days[-1]), growing=True)
            if days[-1] < to:
                self.turn_to(self.day(season + 1, seasons.SEASON_STARTS))
                self.grown_until = self.today

    def _is_settled(self) -> bool:
        """Whether the tree is full and set, so that nothing changes by itself any more."""
        if self.full_since is None or not (self.leader_ended or self.plan.stem):
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
            end = self._end_of_leader() if limb is free_leader else limb.wanted
            gain = min(limb.rate * share, end - limb.length)
            if gain > 0:
                limb.length += gain
                limb.grown += gain
                limb.is_estimated = True
        if self.full_since is None:
            self.note_if_full()

    def moving(self) -> list[Growing]:
        """Everything that grows: limbs that have begun and live, and a leader that goes on."""
        moving = [limb for limb in self.limbs.values() if limb.is_alive]
        if not self.plan.stem and not self.leader_ended:
            moving.append(self.leader)
        return moving

    def _end_of_leader(self) -> float:
        """How high a leader is let grow where nobody measured it. [mm above ground]"""
        cut = self.next_cut()
        return max(self.facts.height_mm, cut[1] if cut else 0)

    def _set_rates(self) -> None:
        season = self.rates_for = self.season
        self.relearn()
        planting = self.prior.planting_share if season <= self.first_season else 1.0
        for limb in self.moving():
            if limb.length >= limb.wanted and limb is not self.leader:
                limb.rate = 0.0
            elif self.is_free_leader(limb):
                limb.rate = self.prior.leader * planting * self.learnt[LEADER].factor(LEADER)
            else:
                in_place = limb.angle == limb.final_angle and season > limb.season
                mean = (
                    limb.expected(self.prior, season) if in_place else self.prior.mean(limb.angle, season - limb.season)
                )
                limb.rate = mean * planting * self.learnt[ARMS].factor(limb.key)

    def relearn(self) -> None:
        """Take in what has been measured since the last time."""
        if self.learnt:
            return
        for group in (LEADER, ARMS):
            pairs = [(key, factor) for name, key, _, factor in self.factors if name == group]
            self.learnt[group] = learn(self.prior, group, pairs) if pairs else unmeasured(self.prior, group)

    def named(self, name: str) -> list[Growing]:
        """The limbs a record speaks of: one by its key, a tier's, an arm on both sides, or all that have started."""
        if name in self.limbs:
            return [self.limbs[name]]
        if name == LEADER:
            return [self.leader]
        if name.startswith("tier:"):
            return [limb for limb in self.limbs.values() if f"tier:{limb.place.limb.tier}" == name]
        if name == "whole":
            return [limb for limb in self.limbs.values() if limb.season]
        return [limb for limb in self.limbs.values() if limb.key.startswith(f"{name}:")]

    def is_free_leader(self, limb: Growing) -> bool:
        """Whether a limb is the leader that is cut from tier to tier, not a stem that stays."""
        return limb is self.leader and not self.plan.stem

    def group_of(self, limb: Growing) -> str:
        """The group whose growth a limb's measurements tell about."""
        return LEADER if self.is_free_leader(limb) else ARMS

    def expected(self, limb: Growing, season: int) -> float:
        """What the prior expects of a limb in a season. [mm]"""
        planting = self.prior.planting_share if season <= self.first_season else 1.0
        return planting * (self.prior.leader if self.is_free_leader(limb) else limb.expected(self.prior, season))

    # -- the leader and what it bears -----------------------------------------------------------------------------

    def next_cut(self) -> tuple[int, float] | None:
        """The next cut of the leader: (wave, height above ground), None when all are made."""
        if self.leader_ended or self.plan.stem:
            return None
        for wave, height, takes_margin in self.plan.leader_cuts:
            if any(limb.season == 0 and limb.status != "lost" for limb in self.on_leader(wave)):
                return wave, self.cut_height(wave, height, takes_margin=takes_margin)
        return None

    def on_leader(self, wave: int) -> list[Growing]:
        """The limbs that spring from the leader at one cut."""
        return [limb for limb in self.limbs.values() if limb.place.bearer == "leader" and limb.place.wave == wave]

    def cut_height(self, wave: int, height: int, *, takes_margin: bool) -> float:
        """Where the leader is cut for a wave, with the margin the business works with. [mm above ground]"""
        if not takes_margin:
            return height
        if wave == 1 and self.practice.first_cut_mm is not None:
            return self.practice.first_cut_mm
        margin = self.practice.heading_margin_mm
        if margin is None:
            margin = int(self.form.number("heading_margin_mm")) if self.form.has("heading_margin_mm") else 0
        return height + margin

    def head(self, season: int) -> None:
        """Cut the leader as the form asks: for the next tier, or shorter where it is too short."""
        self.headed_season = season
        cut = self.next_cut()
        if cut is None:
            return
        if self.is_rooting(season):
            return
        if self.goes_to_two_buds(season):
            self._cut_leader(TWO_BUDS_MM)
        elif self.must_wait(cut[0], season):
            self._cut_leader(self.trunk_top + ONE_BUD_MM)
        elif self.leader.length >= cut[1]:
            self._cut_leader(cut[1])
            self.open_wave(cut[0], season, cut[1])
        else:
            self.leader.length -= self.short_cut()

    def is_rooting(self, season: int) -> bool:
        """Whether a young vine is left to root, untrained, in its first season."""
        roots = self.form.family == "vines" and self.practice.vine_first_year == "root"
        return roots and self.facts.start == "whip" and season <= self.first_season

    def goes_to_two_buds(self, season: int) -> bool:
        """Whether a vine that rooted for a season is now taken back to two buds."""
        return self.is_rooting(season - 1) and season == self.first_season + 1 and not self.trunk_top

    def stem_cut(self, season: int) -> float | None:
        """To what length the form cuts a young stem this season: a rooted vine, a whip grown as an upright cordon. [mm]"""
        if not self.plan.stem or season != self.first_season + 1 or self.facts.start != "whip":
            return None
        if self.goes_to_two_buds(season):
            return TWO_BUDS_MM
        return self.form.number("low_cut_mm") if self.form.has("low_cut_mm") else None

    def must_wait(self, wave: int, season: int) -> bool:
        """Whether the second tier waits until the first arms are strong (the strict practice)."""
        if not self.practice.wait_for_strong_first_arms or wave != 2:
            return False
        return any(limb.is_alive and season - limb.season < 2 for limb in self.on_leader(1))

    def short_cut(self) -> float:
        """How much comes off a leader that is short of its wire; nothing before it has grown, nothing off a vine. [mm]"""
        if self.form.family == "vines":
            return 0.0
        room = self.leader.length - self.trunk_top - ONE_BUD_MM
        return max(0.0, min(self.leader.grown * self.practice.short_leader_share, room))

    def head_at(self, height: float | None) -> None:
        """The leader was headed, at a height if one was recorded, else where the form asks for it."""
        if self.plan.stem or self.leader_ended:
            return
        if height is None:
            self.head(self.season)
            return
        self.headed_season = self.season
        cut = self.next_cut()
        in_time = self.first_season <= self.season and self.today <= self.day(self.season, seasons.SHOOTS_CHOSEN)
        reaches = cut is not None and in_time and height >= cut[1] - HEADED_NEAR_MM
        self._cut_leader(max(height, self.trunk_top))
        self.leader.base_known, self.leader.is_estimated = True, False
        if cut and reaches:
            self.open_wave(cut[0], self.season, max(height, self.trunk_top))

    def _cut_leader(self, height: float) -> None:
        self.leader.length = height
        self.leader.base_known = False

    def open_wave(self, wave: int, season: int, height: float) -> None:
        """The leader has been cut: the shoots of a wave will break, and the leader ends if it was the last one."""
        for limb in self.on_leader(wave):
            self.begin(limb, season)
            if limb.place.bends_leader:
                limb.length = min(limb.wanted, max(0.0, self.leader_before_cut() - height))
        self.trunk_top = max(self.trunk_top, height)
        self.leader_ended = wave == self.plan.leader_cuts[-1][0]

    def leader_before_cut(self) -> float:
        """How tall a leader is that will be bent over instead of cut. [mm]"""
        return self.prior.whip_mm

    def begin(self, limb: Growing, season: int) -> None:
        """A limb's shoot breaks this season."""
        if limb.season == 0 and limb.status != "lost":
            limb.season = season
            limb.length = limb.grown = 0.0
            limb.angle = limb.place.first_angle_deg
            limb.base_known = True

    def open_for(self, limb: Growing, season: int) -> None:
        """A limb exists though the estimate had not raised it yet: the cuts up to its own have been made."""
        place = limb.place
        if place.bearer in self.limbs and not self.limbs[place.bearer].season:
            self.open_for(self.limbs[place.bearer], season - 1)
        while place.bearer == "leader" and limb.season == 0 and (cut := self.next_cut()) and cut[0] <= place.wave:
            self._cut_leader(max(self.leader.length, cut[1]))
            self.open_wave(cut[0], season, cut[1])
        self.begin(limb, season)

    # -- limbs ----------------------------------------------------------------------------------------------------

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
        return max(0.0, min(self._cut_asked(limb, season), limb.length - self._borne_to(limb)))

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
        borne = [
            other.place.along_mm for other in self.limbs.values() if other.place.bearer == limb.key and other.is_alive
        ]
        return max(borne) + ONE_BUD_MM if borne else 0.0

    def set_limb(self, limb: Growing) -> None:
        """A limb comes to its final place."""
        limb.status = "set"
        limb.angle = limb.final_angle

    def lose(self, limb: Growing, *, accepted: bool) -> None:
        """A limb is dead or missing; ``accepted`` if it will not be replaced."""
        limb.status, limb.length, limb.grown, limb.is_weak = "lost", 0.0, 0.0, False
        limb.is_accepted, limb.lost_in = accepted, self.season
        for borne in self.limbs.values():
            if borne.place.bearer == limb.key and borne.season:
                self.lose(borne, accepted=accepted)
        self.ties = [tie for tie in self.ties if tie.limb != limb.key]

    def put_tie(self, key: str, material: str) -> None:
        """A tie goes on a limb in place of any that was there."""
        self.ties = [tie for tie in self.ties if tie.limb != key]
        self.ties.append(Tie(limb=key, since=self.today, material=material))

    # -- work taken as done ---------------------------------------------------------------------------------------

    def do_dormant_work(self) -> None:
        """Head the leader, shorten arms, raise new limbs: what nobody recorded by the end of the dormant months."""
        season = self.season
        if season < self.first_season or self.is_neglected(season):
            return
        waiting = [limb for limb in self.limbs.values() if limb.season == 0]
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
        for limb in rising:
            self.begin(limb, season)
        for limb in (*self.limbs.values(), self.leader):
            limb.grown = 0.0

    def is_neglected(self, season: int) -> bool:
        """Whether a neglected tree is still on its way back in a season."""
        if self.facts.start != "neglected" or self.renovation_over:
            return False
        return season < self.first_season + self.practice.renovation_seasons

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

    # -- full -----------------------------------------------------------------------------------------------------

    def is_full(self) -> bool:
        """Whether every limb fills its place, apart from lost ones that were accepted."""
        share = self.practice.full_share
        counted = [limb for limb in self.limbs.values() if not limb.is_accepted]
        return bool(counted) and all(limb.is_alive and limb.length >= limb.wanted * share for limb in counted)

    def note_if_full(self) -> None:
        """Remember the season in which the form was first full."""
        if self.full_since is None and self.is_full():
            self.full_since = self.season


Act = Callable[[Walk], None]
_ACTS: tuple[tuple[Act, bool], ...] = (
    (Walk.do_dormant_work, False),
    (Walk.choose_shoots, False),
    (Walk.tie_shoots, False),
    (Walk.lower_limbs, True),
)
"""The work of a season on the days of `seasons.work_days`, and whether it needs the lengths of that day."""
