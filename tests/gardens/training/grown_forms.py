"""Trees of any form grown by dice, season by season, by plain rules written anew: truths to hold forecasts against.

Where each limb starts and ends is taken from the plan of its form. What happens is told here once more, in the words
of the trade: the leader is cut where it reaches its next cut, a third of a short one's growth comes off (not of a
vine's), a limb springs once its bearer is old and long enough, each winter the form takes its share of the new
growth (where it has none of its own, a third off arms that grew less than expected), the arms of a fan are cut back once in their second spring, a young vine roots for a season and goes back to two
buds. Limbs are held at the end of their run. Lengths in mm.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from datetime import date

from gardens.knowledge.form_schema import form as form_record
from gardens.training import Record, TreeFacts
from gardens.training.growth import prior_for
from gardens.training.places import Place
from gardens.training.plan import plan
from tests.gardens.training.trees import measured

FULL_SHARE = 0.95
FIRST, LAST_MEASURED = 2026, 2029
FLAT_FOOT_DEG = 20.0
ONE_BUD, TWO_BUDS = 30, 100


@dataclass
class GrownForm:
    """One tree's truth, and what was measured on it every November."""

    facts: TreeFacts
    dice: random.Random
    records: list[Record] = field(default_factory=list)
    full_at: float | None = None

    def __post_init__(self) -> None:
        self.form, self.laid, self.prior = form_record(self.facts.form), plan(self.facts), prior_for(self.facts)
        self.places = {place.limb.key: place for place in self.laid.places}
        self.length = dict.fromkeys(self.places, 0.0)
        self.grown = dict.fromkeys(self.places, 0.0)
        self.asked = dict.fromkeys(self.places, 0.0)
        self.begun: dict[str, int] = {}
        self.filled: dict[str, float] = {}
        self.height, self.height_grown, self.top = float(self.prior.whip_mm), 0.0, 0.0
        if self.laid.stem:
            self.begun[self.laid.stem] = FIRST
            self.length[self.laid.stem] = min(self.prior.whip_mm, self.places[self.laid.stem].limb.wanted_mm)

    def grow(self, seasons: int = 45) -> GrownForm:
        """Let it grow; the moment it is full is kept."""
        self._draw_what_it_is()
        for year in range(FIRST, FIRST + seasons):
            self._winter(year)
            self._summer(year)
            if year <= LAST_MEASURED:
                self._measure(year)
            if len(self.filled) == len(self.places):
                self.full_at = max(self.filled.values())
                break
        return self

    def _draw_what_it_is(self) -> None:
        prior, dice = self.prior, self.dice
        self.season_share = (1 - prior.tree_share - prior.limb_share) ** 0.5
        lead = dice.gauss(1, prior.leader_cv * prior.tree_share**0.5)
        self.lead = dice.gauss(lead, prior.leader_cv * prior.limb_share**0.5)
        tree = dice.gauss(1, prior.arm_cv * prior.tree_share**0.5)
        self.own = {key: dice.gauss(tree, prior.arm_cv * prior.limb_share**0.5) for key in self.places}

    @property
    def is_vine(self) -> bool:
        return self.facts.form.startswith("vine_")

    # -- winter ---------------------------------------------------------------------------------------------------

    def _winter(self, year: int) -> None:
        rising = [key for key, place in self.places.items() if key not in self.begun and self._springs(place, year)]
        rising += self._head(year)
        for key in self.begun:
            self._shorten(key, year)
        for key in rising:
            self.begun[key], self.length[key] = year, 0.0
        self.grown = dict.fromkeys(self.places, 0.0)

    def _springs(self, place: Place, year: int) -> bool:
        """A limb on a limb: its bearer is old and long enough."""
        bearer = place.bearer
        if bearer not in self.begun:
            return False
        waves = place.wave - self.places[bearer].wave
        return year - self.begun[bearer] >= waves and self.length[bearer] >= place.cut_mm

    def _head(self, year: int) -> list[str]:
        """The stem is cut, and the limbs of that cut will break."""
        if self.laid.stem:
            if year == FIRST + 1 and (self.is_vine or self.form.has("low_cut_mm")):
                low = TWO_BUDS if self.is_vine else self.form.number("low_cut_mm")
                self.length[self.laid.stem] = min(self.length[self.laid.stem], low)
            return []
        cuts = [
            cut
            for cut in self.laid.leader_cuts
            if any(place.bearer == "leader" and place.wave == cut[0] and key not in self.begun
                   for key, place in self.places.items())
        ]  # fmt: skip
        if not cuts or (self.is_vine and year == FIRST):
            return []
        if self.is_vine and year == FIRST + 1:
            self.height = float(TWO_BUDS)
            return []
        wave, at, takes_margin = cuts[0]
        if takes_margin and self.form.has("heading_margin_mm"):
            at += int(self.form.number("heading_margin_mm"))
        if self.height >= at:
            self.height = self.top = float(at)
            return [key for key, place in self.places.items() if place.bearer == "leader" and place.wave == wave]
        if not self.is_vine:
            self.height -= max(0.0, min(self.height_grown / 3, self.height - self.top - ONE_BUD))
        return []

    def _shorten(self, key: str, year: int) -> None:
        """The form's own cut of a limb that still has room, never below a limb that springs from it."""
        place = self.places[key]
        limb, length = place.limb, self.length[key]
        if key == self.laid.stem or self.begun[key] >= year or length >= limb.wanted_mm * FULL_SHARE:
            return
        share = place.winter_share
        if share is None:  # the business's own cut: a third off an arm that grew less than expected
            share = 1 / 3 if self.grown[key] < 0.98 * self.asked[key] else 0.0
        off = self.grown[key] * share
        if self.facts.form == "fan" and limb.kind == "arm" and year - self.begun[key] == 1:
            off = length - self.form.number("second_cut_mm")
        borne = [
            other.along_mm + ONE_BUD
            for name, other in self.places.items()
            if other.bearer == key and name in self.begun
        ]
        self.length[key] -= max(0.0, min(off, length - max(borne, default=0)))

    # -- summer ---------------------------------------------------------------------------------------------------

    def _summer(self, year: int) -> None:
        planting = self.prior.planting_share if year == FIRST else 1.0
        for key in self.begun:
            place = self.places[key]
            wanted, before = place.limb.wanted_mm, self.length[key]
            spread = self.prior.arm_cv * self.season_share
            self.asked[key] = self._expected(key, year) * planting
            gain = self.asked[key] * max(0.05, self.dice.gauss(self.own[key], spread))
            self.length[key], self.grown[key] = min(float(wanted), before + gain), gain
            if key not in self.filled and before + gain >= wanted * FULL_SHARE:
                self.filled[key] = year + (wanted * FULL_SHARE - before) / gain
        spread = self.prior.leader_cv * self.season_share
        self.height_grown = self.prior.leader * planting * max(0.05, self.dice.gauss(self.lead, spread))
        if not self._is_headed_out:
            self.height += self.height_grown

    @property
    def _is_headed_out(self) -> bool:
        return all(key in self.begun for key, place in self.places.items() if place.bearer == "leader")

    def _expected(self, key: str, year: int) -> float:
        place, age = self.places[key], year - self.begun[key]
        way = place.limb.course_mm
        foot = abs(way[1][0] - way[0][0]) if len(way) > 2 else 0
        if age and self.length[key] < foot:
            return self.prior.mean(FLAT_FOOT_DEG, age)
        return self.prior.mean(place.limb.angle_deg if age else place.first_angle_deg, age)

    def _measure(self, year: int) -> None:
        day = date(year, 11, 20)
        for key in self.begun:
            self.records.append(measured(day, "limb_length", round(self.length[key]), key))
        if not self.laid.stem and not self._is_headed_out:
            self.records.append(measured(day, "leader_height", round(self.height)))
