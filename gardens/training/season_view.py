"""One season of one tree, as those who write its steps see it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Literal

from gardens.knowledge import form_schema as knowledge
from gardens.knowledge.form_schema import FormRecord
from gardens.training import seasons
from gardens.training.growing import Growing
from gardens.training.practice import TrainingPractice
from gardens.training.state import Step, TreeFacts, TreeState
from gardens.training.walk import Walk
from gardens.training.words import ordinal
from gardens.units import Units, show_length

Part = Literal["dormant", "spring", "summer", "autumn", "any"]
PARTS: tuple[Part, ...] = ("dormant", "spring", "summer", "autumn", "any")
SEVERAL_TIMES = ("tie_in", "summer_prune", "lower_arms", "renew_ties", "remove_ties", "inspect", "pinch")
"""Kinds of work that one season may ask for twice: done in one part of the year, they are still due in another."""


@dataclass(frozen=True)
class SeasonView:
    """What stands at the start of the acts still open in a season, and how to write them down."""

    state: TreeState
    walk: Walk
    units: Units = "metric"

    @property
    def facts(self) -> TreeFacts:
        return self.walk.facts

    @property
    def form(self) -> FormRecord:
        return self.walk.form

    @property
    def practice(self) -> TrainingPractice:
        return self.walk.practice

    @cached_property
    def year(self) -> int:
        return self.walk.season

    @property
    def age(self) -> int:
        """The season's number in the tree's life here, 1 for the first."""
        return self.year - self.walk.first_season + 1

    @cached_property
    def group(self) -> str:
        """The kind of tree: pome, stone, fig, vine, bush, other."""
        usual = knowledge.usual_vigours().get(self.facts.species)
        return usual.group if usual else "other"

    @property
    def frame_part(self) -> Part:
        """When wood is cut: stone fruit and figs as growth starts, all others while dormant."""
        return "spring" if self.group in ("stone", "fig") else "dormant"

    @property
    def is_renovating(self) -> bool:
        return self.walk.is_neglected(self.year)

    @cached_property
    def before_growth(self) -> bool:
        """Whether the shoots of this season have not begun to grow."""
        return self.walk.today < self.walk.day(self.year, seasons.GROWTH_STARTS)

    def is_open(self, part: Part) -> bool:
        """Whether acts of this part of the season are still to be asked for."""
        return part in self._open_parts

    @cached_property
    def _open_parts(self) -> frozenset[str]:
        today, year = self.walk.today, self.year
        return frozenset(part for part, last in seasons.OFFERED_UNTIL.items() if today <= self.walk.day(year, last))

    def is_done(self, kind: str, limb: str, part: Part | None = None) -> bool:
        """Whether this act was recorded since the season began."""
        if not self.state.done:
            return False
        start = self.walk.day(self.year, seasons.SEASON_STARTS)
        return any(
            day >= start and done == kind and key in (limb, "whole") and (part is None or self.part_of(day) == part)
            for day, done, key in self.state.done
        )

    def part_of(self, day: date) -> Part:
        """The part of the season a day lies in."""
        for part in PARTS[:-1]:
            if day <= self.walk.day(self.year, seasons.OFFERED_UNTIL[part]):
                return part
        return "any"

    # -- limbs ----------------------------------------------------------------------------------------------------

    @cached_property
    def limbs(self) -> tuple[Growing, ...]:
        return tuple(self.walk.limbs.values())

    @cached_property
    def standing(self) -> tuple[Growing, ...]:
        """Limbs of earlier seasons that are alive."""
        return tuple(limb for limb in self.limbs if limb.is_alive and limb.season < self.year)

    @cached_property
    def starting(self) -> tuple[Growing, ...]:
        """The limbs whose shoots break this season: begun already, or about to after this season's cuts."""
        begun = tuple(limb for limb in self.limbs if limb.is_alive and limb.season == self.year)
        return begun + self.about_to_start

    @cached_property
    def about_to_start(self) -> tuple[Growing, ...]:
        if not self.before_growth or self.is_renovating:
            return ()
        wave = self.cut[0] if self.cut and self.reaches else None
        waiting = [limb for limb in self.limbs if limb.season == 0 and limb.status != "lost"]
        return tuple(
            limb
            for limb in waiting
            if (limb.place.bearer == "leader" and limb.place.wave == wave) or self.walk.may_rise(limb, self.year)
        )

    @cached_property
    def has_tiers(self) -> bool:
        """Whether there are arms on more than one tier, so that their names need it."""
        return len({limb.place.limb.tier for limb in self.limbs if limb.place.limb.kind == "arm"}) > 1

    # -- the leader -----------------------------------------------------------------------------------------------

    @cached_property
    def cut(self) -> tuple[int, float] | None:
        """The leader's next cut: (wave, height above ground), None when there is none this season."""
        if self.walk.headed_season == self.year or self.is_renovating or not self.before_growth:
            return None
        return self.walk.next_cut()

    @property
    def reaches(self) -> bool:
        """Whether the leader is long enough for its next cut, and the cut is not put off."""
        walk, year = self.walk, self.year
        if (
            self.cut is None
            or walk.is_rooting(year)
            or walk.goes_to_two_buds(year)
            or walk.must_wait(self.cut[0], year)
        ):
            return False
        return self.walk.leader.length >= self.cut[1]

    @property
    def leader_goes_on(self) -> bool:
        """Whether a leader grows this season."""
        if self.walk.leader_ended or self.walk.plan.stem:
            return False
        return not (self.cut and self.reaches and self.is_last(self.cut[0]))

    def is_last(self, wave: int) -> bool:
        """Whether a wave's cut ends the leader."""
        return wave == self.walk.plan.leader_cuts[-1][0]

    # -- words ----------------------------------------------------------------------------------------------------

    def length(self, mm: float) -> str:
        """A length in the user's units."""
        return show_length(round(mm), self.units)

    def wire(self, wave: int) -> tuple[int, str]:
        """The height of a wave's place on the trunk, and the wire's name, "" where no wire is there."""
        height = next(cut for number, cut, _ in self.walk.plan.leader_cuts if number == wave)
        wires = self.facts.wire_heights_mm
        if height in wires:
            return height, f"the {ordinal(wires.index(height) + 1)} wire"
        return height, "" if wires else f"the {ordinal(wave)} wire"

    def step(
        self, rule: str, limb: str, instruction: str, *, part: Part | None = None, at: Target | None = None
    ) -> Iterable[Step]:
        """A step with the reason and source of its rule, unless its time is over or it was recorded."""
        grounds = self.form.rule(rule)
        season = part or grounds.season
        if not self.is_open(season):
            return ()
        if self.is_done(grounds.kind, limb, season if grounds.kind in SEVERAL_TIMES else None):
            return ()
        place = at or Target()
        return (
            Step(
                kind=grounds.kind,
                limb=limb,
                instruction=instruction,
                why=grounds.why,
                source=grounds.source,
                season=season,
                year=self.year,
                at_mm=None if place.mm is None else round(place.mm),
                to_angle_deg=None if place.angle_deg is None else round(place.angle_deg, 1),
            ),
        )


@dataclass(frozen=True)
class Target:
    """Where an act takes place [mm], or the angle a limb is brought to."""

    mm: float | None = None
    angle_deg: float | None = None


def at(mm: float) -> Target:
    """A place along the limb, or above ground on the leader. [mm]"""
    return Target(mm=mm)


def to(angle_deg: float) -> Target:
    """An angle above the horizontal."""
    return Target(angle_deg=angle_deg)
