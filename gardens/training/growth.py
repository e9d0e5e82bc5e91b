"""What a limb grows in a season: the prior by rootstock, species, age and place, and what its measurements teach.

Measured growth is compared with the prior as a factor. The factor of a group of limbs (the leader; the arms) and of
each limb in it is normal, so the update is exact: Gelman et al., Bayesian Data Analysis, 3rd ed., §5.4 (the normal
model with known variances, from memory).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from gardens.knowledge import form_schema as knowledge
from gardens.knowledge.form_schema import Rootstock
from gardens.training.state import TreeFacts

LEADER, ARMS = "leader", "arms"
DWARF_FORMS = ("step_over", "oblique_cordon", "upright_cordon")
"""Forms that are planted on a dwarfing stock as a matter of course."""


@dataclass(frozen=True, slots=True, eq=False)
class Prior:
    """Growth of one kind of tree at one place. [mm in a season]

    There is one object for each kind and place (see `prior_for`); it is told from others by identity, which is quick.

    ``cv`` is the whole spread of one limb's season against its mean; the shares split its variance into what belongs
    to the tree, to the limb and to the season.
    """

    leader: float
    arm_first: float
    arm_later: float
    arm_bearing: float
    upright: float
    leader_cv: float
    arm_cv: float
    bearing_age: int
    tree_share: float
    limb_share: float
    planting_share: float
    whip_mm: float
    ready_arm_mm: float
    feather_mm: float

    def mean(self, angle_deg: float, age: int, *, is_leader: bool = False) -> float:
        """Expected growth of a limb at an angle, in its season number ``age`` (0 for its first). [mm]"""
        if is_leader:
            return self.leader
        if angle_deg >= 45:
            value = self.arm_first + (self.upright - self.arm_first) * min(1.0, (angle_deg - 45) / 45)
        else:
            value = self.arm_later + (self.arm_first - self.arm_later) * max(0.0, angle_deg) / 45
        return value * (self.arm_bearing / self.arm_later) if age >= self.bearing_age else value

    def cv(self, group: str) -> float:
        """The whole spread of a group's seasons against their mean."""
        return self.leader_cv if group == LEADER else self.arm_cv


@lru_cache(maxsize=4096)
def means_by_age(prior: Prior, first_angle: float, final_angle: float) -> tuple[float, ...]:
    """Expected growth by a limb's age: on its slant in the first season, in its place after; the last one stays. [mm]"""
    later = (prior.mean(final_angle, age) for age in range(1, prior.bearing_age + 1))
    return (prior.mean(first_angle, 0), *later)


@dataclass(frozen=True, slots=True)
class Belief:
    """A normal belief about a factor of growth."""

    mean: float
    sd: float


def vigour_class(facts: TreeFacts) -> int:
    """The vigour class of a tree, 1 to 6: its rootstock's, else the usual one of its species and form."""
    if stock := find_rootstock(facts.rootstock):
        return stock.vigour
    if facts.form in DWARF_FORMS:
        return 2
    usual = knowledge.usual_vigours().get(facts.species)
    return usual.vigour if usual else 4


@lru_cache(maxsize=512)
def find_rootstock(name: str | None) -> Rootstock | None:
    """A rootstock by its id or the way people write its name ("MM 106" and "mm106" are one), None if unknown."""
    wanted = _letters(name or "")
    rows = knowledge.rootstocks().values()
    return next((row for row in rows if wanted and wanted in (_letters(row.id), _letters(row.name))), None)


def _letters(name: str) -> str:
    return "".join(letter for letter in name.lower() if letter.isalnum())


def prior_for(facts: TreeFacts) -> Prior:
    """The growth expected of a tree before anything was measured on it."""
    row = ""
    if facts.form.startswith("vine_"):
        row = "cane" if facts.form == "vine_cane_replacement" else "vine"
    elif usual := knowledge.usual_vigours().get(facts.species):
        row = usual.row
    return _prior(row or str(vigour_class(facts)), facts.soil_vigour)


@lru_cache(maxsize=1024)
def _prior(row: str, soil: float) -> Prior:
    vigour = knowledge.vigours()[row]
    figure = {key: value.value for key, value in knowledge.growth_figures().items()}
    return Prior(
        leader=vigour.leader.mean * soil,
        arm_first=vigour.arm_first.mean * soil,
        arm_later=vigour.arm_later.mean * soil,
        arm_bearing=vigour.arm_bearing.mean * soil,
        upright=(vigour.upright or vigour.leader).mean * soil,
        leader_cv=vigour.leader.sd / vigour.leader.mean,
        arm_cv=vigour.arm_later.sd / vigour.arm_later.mean,
        bearing_age=int(figure["bearing_from_age"]),
        tree_share=figure["between_trees_share"],
        limb_share=figure["between_limbs_share"],
        planting_share=figure["planting_season_share"],
        whip_mm=vigour.whip_height_mm,
        ready_arm_mm=figure["ready_arm_mm"],
        feather_mm=figure["feather_mm"],
    )


@dataclass(frozen=True, slots=True)
class Learnt:
    """What the measurements of a group of limbs have taught.

    ``measured`` holds for each measured limb the mean of its factors and how far its own belief leans on them.
    """

    group: Belief
    limb_sd: float
    season_sd: float
    measured: dict[str, tuple[float, float]]

    def factor(self, key: str) -> float:
        """The expected factor of a limb, measured or not."""
        if not self.measured:
            return self.group.mean
        own, share = self.measured.get(key, (0.0, 0.0))
        return self.group.mean + share * (own - self.group.mean)


@lru_cache(maxsize=1024)
def unmeasured(prior: Prior, group: str) -> Learnt:
    """The belief about a group of limbs before anything was measured."""
    return learn(prior, group, ())


def learn(prior: Prior, group: str, factors: Iterable[tuple[str, float]]) -> Learnt:
    """Update the belief about a group of limbs from measured growth.

    Args:
        prior: what was expected.
        group: "leader" or "arms".
        factors: (limb key, measured growth ÷ expected growth), one pair for each limb and season.
    """
    whole = prior.cv(group) ** 2
    tree, limb = whole * prior.tree_share, whole * prior.limb_share
    season = whole - tree - limb
    sums: dict[str, tuple[float, int]] = {}
    for key, factor in factors:
        total, count = sums.get(key, (0.0, 0))
        sums[key] = (total + factor, count + 1)
    precision, weighted = 1 / tree, 1 / tree
    measured = {}
    for key, (total, count) in sums.items():
        spread = limb + season / count
        precision += 1 / spread
        weighted += total / count / spread
        measured[key] = (total / count, limb / spread)
    return Learnt(Belief(weighted / precision, precision**-0.5), limb**0.5, season**0.5, measured)
