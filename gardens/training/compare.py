"""Plan and reality over the years: what the estimate at planting foretold, and how the tree stood."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from gardens.knowledge.form_schema import FormRecord
from gardens.training import seasons
from gardens.training.plan import plan
from gardens.training.practice import USUAL, TrainingPractice
from gardens.training.replay import fold
from gardens.training.state import Limb, Record, TreeFacts, TreeStage, TreeState


@dataclass(frozen=True, kw_only=True)
class SeasonSeen:
    """One season at its end. Lengths are the sums of all limbs [mm]; shares are of the wanted length."""

    season: int
    on: date
    stage: TreeStage
    planned_stage: TreeStage
    tiers_set: int
    planned_tiers_set: int
    length_mm: int
    planned_mm: int
    wanted_mm: int
    is_measured: bool

    @property
    def share_filled(self) -> float:
        """How much of the form is there."""
        return self.length_mm / self.wanted_mm if self.wanted_mm else 0.0

    @property
    def planned_share(self) -> float:
        """How much of it the plan foretold."""
        return self.planned_mm / self.wanted_mm if self.wanted_mm else 0.0


def plan_and_reality(
    facts: TreeFacts,
    records: Sequence[Record],
    on: date,
    *,
    practice: TrainingPractice = USUAL,
    form: FormRecord | None = None,
) -> tuple[SeasonSeen, ...]:
    """Every season of a tree up to a day, beside what was expected of it when it was planted."""
    southern = facts.is_southern
    first, last = seasons.first_season(facts.planted_on, southern=southern), seasons.season_of(on, southern=southern)
    places = [place.limb for place in plan(facts, form).places]
    seen = []
    for season in range(first, last + 1):
        day = min(on, seasons.day_of(season, seasons.ARMS_LOWERED, southern=southern))
        real = fold(facts, records, day, practice=practice, form=form)
        planned = fold(facts, (), day, practice=practice, form=form)
        seen.append(
            SeasonSeen(
                season=season,
                on=day,
                stage=real.stage,
                planned_stage=planned.stage,
                tiers_set=real.tiers_set,
                planned_tiers_set=planned.tiers_set,
                length_mm=_length(real, places),
                planned_mm=_length(planned, places),
                wanted_mm=sum(limb.wanted_mm for limb in places),
                is_measured=any(year == season for year, _, _ in real.growth_mm),
            )
        )
    return tuple(seen)


def _length(state: TreeState, places: list[Limb]) -> int:
    limbs = (state.limb(place.key) for place in places)
    return sum(min(limb.length_mm, limb.wanted_mm) for limb in limbs if limb)
