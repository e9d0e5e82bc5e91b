"""The leader's way from tier to tier: where it is cut, when it is too short, what springs from the cut."""

from __future__ import annotations

from dataclasses import dataclass

from gardens.training import seasons
from gardens.training.body import Body
from gardens.training.growing import Growing

HEADED_NEAR_MM = 120
"""A leader cut no further than this below the planned height was cut for its tier. [mm]"""
ONE_BUD_MM = 30
"""What is left of a leader that is cut back to one bud. [mm]"""
TWO_BUDS_MM = 100
"""What is left of a vine that is cut back to two. [mm]"""


@dataclass(slots=True)
class LeaderWork(Body):
    """A tree whose leader can be cut."""

    def next_cut(self) -> tuple[int, float] | None:
        """The next cut of the leader: (wave, height above ground), None when all are made."""
        if self.leader_ended or self.plan.stem:
            return None
        for wave, height, takes_margin in self.plan.leader_cuts:
            for limb in self.on_leader(wave):
                if limb.season == 0 and limb.status != "lost":
                    return wave, self.cut_height(wave, height, takes_margin=takes_margin)
        return None

    def on_leader(self, wave: int) -> list[Growing]:
        """The limbs that spring from the leader at one cut."""
        return [self.limbs[key] for key in self.plan.on_leader.get(wave, ())]

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
