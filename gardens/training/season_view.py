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
from gardens.training.practice import TrainingPractice
from gardens.training.state import Step, TreeFacts, TreeState
from gardens.training.walk import Growing, Walk
from gardens.units import Units, show_length

Part = Literal["dormant", "spring", "summer", "autumn", "any"]
PARTS: tuple[Part, ...] = ("dormant", "spring", "summer", "autumn", "any")


@dataclass(frozen=True)
class SeasonView:
    """What stands at the start of the acts still open in a season, and how to write them down."""

    state: TreeState
    walk: Walk
    units: Units = "metric"
    with_upkeep: bool = True

    @property
    def facts(self) -> TreeFacts:
        return self.walk.facts

    @property
    def form(self) -> FormRecord:
        return self.walk.form

    @property
    def practice(self) -> TrainingPractice:
        return self.walk.practice

    @property
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
        """When the frame is cut: stone fruit and figs as growth starts, all others while dormant."""
        return "spring" if self.group in ("stone", "fig") else "dormant"

    def is_open(self, part: Part) -> bool:
        """Whether acts of this part of the season are still to be asked for."""
        return self.walk.today <= self.walk.day(self.year, seasons.OFFERED_UNTIL[part])

    def is_done(self, kind: str, limb: str, part: Part | None = None) -> bool:
        """Whether this act was recorded since the season began."""
        start = self.walk.day(self.year, seasons.SEASON_STARTS)
        return any(
            on >= start and done == kind and key in (limb, "whole") and (part is None or self.part_of(on) == part)
            for on, done, key in self.state.done
        )

    def part_of(self, day: date) -> Part:
        """The part of the season a day lies in."""
        for part in PARTS[:-1]:
            if day <= self.walk.day(self.year, seasons.OFFERED_UNTIL[part]):
                return part
        return "any"

    @cached_property
    def limbs(self) -> tuple[Growing, ...]:
        return tuple(self.walk.limbs.values())

    @cached_property
    def before_growth(self) -> bool:
        return self.walk.today < self.walk.day(self.year, seasons.GROWTH_STARTS)

    @cached_property
    def starting(self) -> tuple[Growing, ...]:
        """The limbs whose shoots break this season: begun already, or about to after this season's cuts."""
        begun = tuple(limb for limb in self.limbs if limb.season == self.year and limb.status != "lost")
        return begun + tuple(limb for limb in self.about_to_start if limb not in begun)

    @cached_property
    def about_to_start(self) -> tuple[Growing, ...]:
        if not self.before_growth:
            return ()
        wave = self.cut[0] if self.cut and self.reaches else None
        return tuple(
            limb
            for limb in self.limbs
            if limb.season == 0
            and limb.status != "lost"
            and ((limb.place.bearer == "leader" and limb.place.wave == wave) or self.walk.may_rise(limb, self.year))
        )

    @cached_property
    def cut(self) -> tuple[int, float] | None:
        """The leader's next cut: (wave, height), None when there is none this season."""
        if self.walk.plan.stem or self.walk.headed_season == self.year or self.year < self.walk.first_season:
            return None
        return self.walk.next_cut()

    @property
    def reaches(self) -> bool:
        """Whether the leader is long enough for its next cut."""
        return self.cut is not None and self.walk.leader.length >= self.cut[1]

    @cached_property
    def standing(self) -> tuple[Growing, ...]:
        """Limbs of earlier seasons that are alive."""
        return tuple(limb for limb in self.limbs if 0 < limb.season < self.year and limb.status != "lost")

    @property
    def leader_goes_on(self) -> bool:
        """Whether a leader grows this season."""
        if self.walk.leader_ended or self.walk.plan.stem:
            return False
        return not (self.cut and self.reaches and self.cut[0] == self.walk.plan.leader_waves[-1][0])

    def length(self, mm: float) -> str:
        """A length in the user's units."""
        return show_length(round(mm), self.units)

    def wire(self, wave: int) -> tuple[int, str]:
        """The height of a wave's wire and its name."""
        from gardens.training.words import ordinal

        height = next(cut for number, cut, _ in self.walk.plan.leader_waves if number == wave)
        wires = self.facts.wire_heights_mm
        number = wires.index(height) + 1 if height in wires else wave
        return height, f"the {ordinal(number)} wire"

    def step(
        self,
        rule: str,
        limb: str,
        instruction: str,
        *,
        part: Part | None = None,
        kind: str | None = None,
        at_mm: float | None = None,
        to_angle_deg: float | None = None,
    ) -> Iterable[Step]:
        """A step with the reason and source of its rule, unless its time is over or it was recorded."""
        grounds = self.form.rule(rule)
        season, act = part or grounds.season, kind or grounds.kind
        if not self.is_open(season) or self.is_done(act, limb, season if act in _TWICE_A_YEAR else None):
            return ()
        return (
            Step(
                kind=act,
                limb=limb,
                instruction=instruction,
                why=grounds.why,
                source=grounds.source,
                season=season,
                at_mm=None if at_mm is None else round(at_mm),
                to_angle_deg=to_angle_deg,
            ),
        )


_TWICE_A_YEAR = ("tie_in", "summer_prune", "lower_arms", "renew_ties", "remove_ties", "inspect", "pinch")
