"""The tree carried through its days: what grows by itself, and what is taken as done where nothing was recorded.

A `Walk` is the one mutable thing in this core. `replay.fold` makes one from a tree's facts, moves it from record to
record and takes the `TreeState` it ends in; `resume` makes one from a state, to look ahead.

Between records every limb grows by the prior, corrected by what the tree's own measurements taught. Work of a season
is taken as done at the end of its part of the year, unless a record said otherwise: heading and shortening on the last
day of the dormant months, shoots chosen in late spring, tied in summer, lowered in autumn.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from gardens.knowledge.form_schema import FormRecord
from gardens.training import seasons
from gardens.training.growth import ARMS, LEADER, Learnt, Prior, learn
from gardens.training.places import Place, Plan, straight
from gardens.training.practice import TrainingPractice
from gardens.training.state import Limb, LimbStatus, Tie, TreeFacts, TreeStage, TreeState

FLAT_ENOUGH_DEG = 7.0
HEADED_NEAR_MM = 120
"""A leader cut no further than this below the planned height was cut for its tier. [mm]"""
ACCEPTED = "accepted"
UNKNOWN_MATERIAL = ""
"""The material of a tie that was taken as put on, not recorded; such ties are also taken as removed in time."""


@dataclass(slots=True)
class Growing:
    """One limb on its way. Lengths in mm, angles in degrees; ``season`` is the one its shoot broke in, 0 before."""

    place: Place
    status: LimbStatus = "wanted"
    season: int = 0
    length: float = 0.0
    angle: float = 0.0
    grown: float = 0.0
    base_known: bool = False
    is_weak: bool = False
    is_accepted: bool = False
    is_measured: bool = False
    is_recorded: bool = False
    lost_in: int = 0
    rate: float = 0.0

    @property
    def key(self) -> str:
        return self.place.limb.key

    @property
    def wanted(self) -> int:
        return self.place.limb.wanted_mm

    @property
    def final_angle(self) -> float:
        return self.place.limb.angle_deg

    def as_limb(self) -> Limb:
        final = self.final_angle
        return replace(
            self.place.limb,
            status=self.status,
            length_mm=round(self.length),
            angle_deg=self.angle if self.season else self.place.first_angle_deg,
            wanted_angle_deg=None if self.season and self.angle == final else final,
            is_weak=self.is_weak,
            season=self.season,
            grown_mm=round(self.grown),
        )


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
    leader: Growing
    trunk_top: float = 0.0
    leader_ended: bool = False
    ties: list[Tie] = field(default_factory=list)
    girth: int | None = None
    growth: list[tuple[int, str, int]] = field(default_factory=list)
    factors: list[tuple[str, str, int, float]] = field(default_factory=list)
    done: list[tuple[date, str, str]] = field(default_factory=list)
    headed_season: int = 0
    shortened: set[tuple[int, str]] = field(default_factory=set)
    rates_for: int = 0
    full_since: int | None = None
    is_lost: bool = False
    renovation_over: bool = False
    estimated: bool = False
    learnt: dict[str, Learnt] = field(default_factory=dict)

    @property
    def season(self) -> int:
        return seasons.season_of(self.today, southern=self.facts.is_southern)

    def day(self, season: int, month_day: tuple[int, int]) -> date:
        return seasons.day_of(season, month_day, southern=self.facts.is_southern)

    # -- moving through time ------------------------------------------------------------------------------------

    def advance(self, to: date) -> None:
        """Let the tree grow up to and including a day, with the work of its seasons taken as done."""
        while self.today < to and not self.is_lost:
            moment, act = self._next_event()
            self._grow(min(moment, to))
            if moment <= to:
                act(self)
        self.today = max(self.today, to)

    def _next_event(self) -> tuple[date, Act]:
        season = self.season
        for month_day, act in _YEAR:
            moment = self.day(season, month_day)
            if moment > self.today:
                return moment, act
        return self.day(season + 1, _YEAR[0][0]), _YEAR[0][1]

    def _grow(self, to: date) -> None:
        southern = self.facts.is_southern
        season = self.season
        before = seasons.share_grown(self.today, southern=southern)
        after = seasons.share_grown(to, southern=southern)
        self.today = to
        share = after - before
        if share <= 0:
            return
        if self.rates_for != season:
            self._set_rates(season)
        for limb in self._on_the_move():
            gain = max(0.0, min(limb.rate * share, self.limit(limb) - limb.length))
            limb.length += gain
            limb.grown += gain
            self.estimated = True
        self.note_if_full()

    def _on_the_move(self) -> list[Growing]:
        moving = [limb for limb in self.limbs.values() if limb.season and limb.status != "lost"]
        if not self.plan.stem and not self.leader_ended:
            moving.append(self.leader)
        return moving

    def limit(self, limb: Growing) -> float:
        """How far a limb is let grow where nobody measured it: to the end of its place. [mm]"""
        if limb is not self.leader or self.plan.stem:
            return limb.wanted
        cut = self.next_cut()
        return max(self.facts.height_mm, cut[1] if cut else 0)

    def _set_rates(self, season: int) -> None:
        self.rates_for = season
        self.relearn()
        planting = self.prior.planting_share if season <= self.first_season else 1.0
        for limb in self._on_the_move():
            limb.rate = self.expected(limb, season) * planting * self.learnt[self.group(limb)].factor(limb.key)

    def relearn(self) -> None:
        for group in (LEADER, ARMS):
            pairs = [(key, factor) for name, key, _, factor in self.factors if name == group]
            self.learnt[group] = learn(self.prior, group, pairs)

    def group(self, limb: Growing) -> str:
        return LEADER if limb is self.leader and not self.plan.stem else ARMS

    def expected(self, limb: Growing, season: int) -> float:
        """What the prior expects of a limb in a season, at its present angle. [mm]"""
        is_leader = limb is self.leader and not self.plan.stem
        return self.prior.mean(limb.angle, season - limb.season, is_leader=is_leader)

    # -- work taken as done --------------------------------------------------------------------------------------

    def do_dormant_work(self) -> None:
        """Head the leader, raise new limbs, shorten arms: what nobody recorded by the end of the dormant months."""
        season = self.season
        if season >= self.first_season:
            if self.headed_season != season:
                self.head(season)
            self.raise_side_limbs(season)
            for limb in self.limbs.values():
                if (season, limb.key) not in self.shortened:
                    limb.length -= self.winter_cut(limb, season)
        for limb in self.limbs.values():
            limb.length = min(limb.length, limb.wanted)
            limb.grown = 0.0
        self.leader.grown = 0.0

    def head_at(self, height: float | None) -> None:
        """The leader was headed, at a height if one was recorded, else where the form asks for it."""
        self.headed_season = self.season
        if height is None:
            self.head(self.season)
            return
        cut = self.next_cut()
        reaches = cut is not None and height >= cut[1] - HEADED_NEAR_MM and self.season >= self.first_season
        self.leader.length = height
        self.leader.base_known = True
        if cut and reaches:
            self.open_wave(cut[0], self.season, height)

    def open_for(self, limb: Growing, season: int) -> None:
        """A limb exists though the estimate had not raised it yet: the cuts up to its own have been made."""
        place = limb.place
        if place.bearer in self.limbs and not self.limbs[place.bearer].season:
            self.open_for(self.limbs[place.bearer], season - 1)
        if place.bearer != "leader":
            self.begin(limb, season)
            return
        while limb.season == 0 and (cut := self.next_cut()):
            self.leader.length = max(self.leader.length, cut[1])
            self.open_wave(cut[0], season, cut[1])
        self.begin(limb, season)

    def lose(self, limb: Growing, *, accepted: bool) -> None:
        """A limb is dead or missing; ``accepted`` if it will not be replaced."""
        limb.status, limb.length, limb.grown, limb.is_weak = "lost", 0.0, 0.0, False
        limb.is_accepted, limb.lost_in = accepted, self.season
        self.ties = [tie for tie in self.ties if tie.limb != limb.key]

    def head(self, season: int) -> None:
        """Cut the leader for the next tier, or shorten it where it is too short."""
        self.headed_season = season
        cut = self.next_cut()
        if cut is None or self.plan.stem:
            return
        wave, height = cut
        if self.leader.length >= height:
            self.leader.length = height
            self.leader.base_known = False
            self.open_wave(wave, season, height)
        elif self.leader.grown > 0:
            self.leader.length -= self.leader.grown * self.practice.short_leader_share

    def next_cut(self) -> tuple[int, float] | None:
        """The next cut of the leader: (wave, height above ground), None when all are made."""
        if self.leader_ended:
            return None
        for wave, height, takes_margin in self.plan.leader_waves:
            if any(
                p.wave == wave and self.limbs[p.limb.key].season == 0 and self.limbs[p.limb.key].status != "lost"
                for p in self.plan.places
                if p.bearer == "leader"
            ):
                return wave, self.cut_height(wave, height, takes_margin)
        return None

    def cut_height(self, wave: int, height: int, takes_margin: bool) -> float:
        """Where the leader is cut for a wave, with the margin the business works with. [mm above ground]"""
        if wave == 1 and self.practice.first_cut_mm is not None:
            return self.practice.first_cut_mm
        if not takes_margin:
            return height
        margin = self.practice.heading_margin_mm
        if margin is None:
            margin = int(self.form.number("heading_margin_mm")) if self.form.has("heading_margin_mm") else 0
        return height + margin

    def open_wave(self, wave: int, season: int, height: float) -> None:
        """The leader has been cut: the shoots of a wave will break, and the leader ends if it was the last one."""
        self.trunk_top = height
        for place in self.plan.places:
            if place.bearer == "leader" and place.wave == wave:
                self.begin(self.limbs[place.limb.key], season)
        if wave == self.plan.leader_waves[-1][0]:
            self.leader_ended = True

    def begin(self, limb: Growing, season: int) -> None:
        """A limb's shoot breaks this season."""
        if limb.season == 0 and limb.status != "lost":
            limb.season = season
            limb.length = limb.grown = 0.0
            limb.angle = limb.place.first_angle_deg
            limb.base_known = True

    def raise_side_limbs(self, season: int) -> None:
        """Limbs that spring from other limbs: they break once their bearer is long enough, one wave a season."""
        for limb in self.limbs.values():
            if limb.season == 0 and self.may_rise(limb, season):
                self.begin(limb, season)

    def may_rise(self, limb: Growing, season: int) -> bool:
        """Whether a side limb's bearer is old and long enough to raise it in a season."""
        bearer = self.limbs.get(limb.place.bearer)
        if bearer is None or not bearer.season or limb.status == "lost":
            return False
        return season - bearer.season >= limb.place.wave - bearer.place.wave and bearer.length >= limb.place.cut_mm

    def winter_cut(self, limb: Growing, season: int) -> float:
        """How much of a limb's new growth comes off in the dormant months (0 for a limb that is full). [mm]"""
        if not limb.season or limb.season >= season or limb.grown <= 0 or limb.status == "lost":
            return 0.0
        if limb.length >= limb.wanted * self.practice.full_share or limb.key == self.plan.stem:
            return 0.0
        if self.form.family == "fans" and limb.place.limb.kind == "arm" and season - limb.season == 1:
            return max(0.0, limb.length - self.form.number("second_cut_mm"))
        return limb.grown * self.winter_share(limb, season)

    def winter_share(self, limb: Growing, season: int) -> float:
        """The share of the new growth that the business takes off an arm in winter."""
        rule = self.practice.arm_winter_cut
        if self.form.has("rib_cut_share"):
            return self.form.number("rib_cut_share")
        if rule == "third":
            return 1 / 3
        if rule == "by_angle":
            return 0.5 if limb.angle > 70 else 1 / 3 if limb.angle > 15 else 0.03
        if rule == "weak_third":
            last = self.prior.mean(limb.angle, season - 1 - limb.season)
            last *= self.prior.planting_share if season - 1 <= self.first_season else 1.0
            return 1 / 3 if limb.grown < last * 0.999 else 0.0
        return 0.0

    def choose_shoots(self) -> None:
        self._move_on("wanted", "chosen")

    def tie_shoots(self) -> None:
        for limb in self._move_on("chosen", "tied"):
            self.put_tie(limb.key, UNKNOWN_MATERIAL)

    def lower_limbs(self) -> None:
        """Autumn: last summer's shoots come to their final place, and ties of the year before come off."""
        self.ties = [tie for tie in self.ties if tie.material != UNKNOWN_MATERIAL or not self._is_a_season_old(tie)]
        for limb in self.limbs.values():
            waits = 1 if limb.is_recorded else 0
            if limb.status in ("chosen", "tied") and limb.season and self.season >= limb.season + waits:
                self.set_limb(limb)

    def _is_a_season_old(self, tie: Tie) -> bool:
        return self.today - tie.since > timedelta(days=300)

    def _move_on(self, old: LimbStatus, new: LimbStatus) -> list[Growing]:
        moved = [limb for limb in self.limbs.values() if limb.season == self.season and limb.status == old]
        for limb in moved:
            limb.status = new
        return moved

    def set_limb(self, limb: Growing) -> None:
        """A limb comes to its final place."""
        limb.status = "set"
        limb.angle = limb.final_angle

    def put_tie(self, key: str, material: str) -> None:
        """A tie goes on a limb in place of any that was there."""
        self.ties = [tie for tie in self.ties if tie.limb != key]
        self.ties.append(Tie(limb=key, since=self.today, material=material))

    def note_if_full(self) -> None:
        """Remember the season in which the form was first full."""
        if self.full_since is None and self.is_full():
            self.full_since = self.season

    # -- how the tree stands -------------------------------------------------------------------------------------

    def is_full(self) -> bool:
        """Every limb fills its place, apart from lost ones that were accepted."""
        share = self.practice.full_share
        return bool(self.limbs) and all(
            limb.is_accepted or (limb.status != "lost" and limb.season > 0 and limb.length >= limb.wanted * share)
            for limb in self.limbs.values()
        )

    def stage(self) -> TreeStage:
        """The stage of the tree today."""
        if self.is_lost:
            return "lost"
        if self.is_renovating():
            return "renovating"
        counted = [limb for limb in self.limbs.values() if not limb.is_accepted]
        if self.season < self.first_season or not any(limb.season for limb in counted):
            return "planted"
        if (
            self.plan.stem
            and self.season == self.first_season
            and self.today < self.day(self.season, seasons.GROWTH_STARTS)
        ):
            return "planted"
        if any(limb.status != "set" for limb in counted):
            return "forming"
        return "full" if self.is_full() else "extending"

    def is_renovating(self) -> bool:
        """Whether a neglected tree is still on its way back."""
        if self.facts.start != "neglected" or self.renovation_over:
            return False
        return self.season < self.first_season + self.practice.renovation_seasons

    def tiers_set(self) -> int:
        """How many tiers stand in their final place."""
        tiers: dict[int, bool] = {}
        for limb in self.limbs.values():
            tier = limb.place.limb.tier
            tiers[tier] = tiers.get(tier, True) and (limb.is_accepted or limb.status == "set")
        return sum(tiers.values())

    def leader_height(self) -> float:
        """How high the leader, or a slanted stem, reaches. [mm above ground]"""
        if self.plan.stem:
            stem = self.limbs[self.plan.stem]
            return stem.length * math.sin(math.radians(stem.angle))
        return self.leader.length

    def state(self) -> TreeState:
        """The tree as it stands today."""
        self.relearn()
        limbs = [limb.as_limb() for limb in self.limbs.values()]
        if not self.plan.stem:
            limbs = [*self._stem_limbs(), *limbs]
        return TreeState(
            facts=self.facts,
            on=self.today,
            stage=self.stage(),
            tiers_set=self.tiers_set(),
            leader_height_mm=round(self.leader_height()),
            limbs=tuple(limbs),
            ties=tuple(self.ties),
            girth_mm=self.girth,
            growth_mm=tuple(self.growth),
            done=tuple(self.done),
            estimated=self.estimated,
            full_since=self.full_since,
            vigour=tuple((group, learnt.group.mean) for group, learnt in self.learnt.items()),
        )

    def _stem_limbs(self) -> list[Limb]:
        height = round(self.leader.length)
        top = round(self.trunk_top)
        if not top:
            top = 0
        trunk = replace(
            straight(
                "trunk",
                "trunk",
                (0, 0),
                0,
                90.0,
                max((c for _, c, _ in self.plan.leader_waves), default=height),
                parent="",
            ),
            length_mm=top,
            status="set" if top else "wanted",
            season=self.first_season,
        )
        if self.leader_ended or height <= top:
            return [trunk]
        cut = self.next_cut()
        wanted = (cut[1] - top) if cut else 0
        leader = replace(
            straight("leader", "leader", (0, top), 0, 90.0, wanted),
            length_mm=height - top,
            status="chosen",
            season=self.first_season,
            grown_mm=round(self.leader.grown),
        )
        return [trunk, leader]


Act = Callable[["Walk"], None]
_YEAR: tuple[tuple[tuple[int, int], Act], ...] = (
    (seasons.DORMANT_WORK_DONE, Walk.do_dormant_work),
    (seasons.SHOOTS_CHOSEN, Walk.choose_shoots),
    (seasons.SHOOTS_TIED, Walk.tie_shoots),
    (seasons.ARMS_LOWERED, Walk.lower_limbs),
)
