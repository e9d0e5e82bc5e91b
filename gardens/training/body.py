"""A tree with its limbs, its ties and all that is known of it on one day; `walk` carries it through the days."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from gardens.knowledge.form_schema import FormRecord
from gardens.training import seasons
from gardens.training.growing import Growing
from gardens.training.growth import ARMS, LEADER, Learnt, Prior, learn, unmeasured
from gardens.training.places import Plan
from gardens.training.practice import TrainingPractice
from gardens.training.state import Tie, TreeFacts


@dataclass(slots=True)
class Body:
    """A tree on one day, and the questions others ask about it."""

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

    def moving(self) -> list[Growing]:
        """Everything that grows: limbs that have begun and live, and a leader that goes on."""
        moving = [limb for limb in self.limbs.values() if limb.season and limb.status != "lost"]
        if not self.plan.stem and not self.leader_ended:
            moving.append(self.leader)
        return moving

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

    def is_neglected(self, season: int) -> bool:
        """Whether a neglected tree is still on its way back in a season."""
        if self.facts.start != "neglected" or self.renovation_over:
            return False
        return season < self.first_season + self.practice.renovation_seasons

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
        if any(tie.limb == key for tie in self.ties):
            self.ties = [tie for tie in self.ties if tie.limb != key]
        self.ties.append(Tie(limb=key, since=self.today, material=material))

    def is_full(self) -> bool:
        """Whether every limb fills its place, apart from lost ones that were accepted."""
        share, any_counted = self.practice.full_share, False
        for limb in self.limbs.values():
            if limb.is_accepted:
                continue
            if limb.length < limb.wanted * share or not limb.is_alive:
                return False
            any_counted = True
        return any_counted

    def note_if_full(self) -> None:
        """Remember the season in which the form was first full."""
        if self.full_since is None and self.is_full():
            self.full_since = self.season
