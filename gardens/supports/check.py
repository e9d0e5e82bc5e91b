"""The whole check of a support: every part, its verdict and cure, the cautions, and who must look at it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from gardens.knowledge.material_book import Materials, materials
from gardens.supports.cases import LoadedWire, load_wires
from gardens.supports.cures import cure_for
from gardens.supports.end_checks import check_ends, end_pulls
from gardens.supports.fixing_checks import check_fixings
from gardens.supports.form_checks import check_form
from gardens.supports.loads import PlantLoad, plant_load
from gardens.supports.post_checks import check_posts
from gardens.supports.values import PartCheck, PartVerdict, Support, worst
from gardens.supports.wire_checks import check_wires
from gardens.units import Units, show_length


@dataclass(frozen=True, kw_only=True)
class SupportReport:
    """What the check found.

    ``cautions`` are printed with it in full. ``ask`` names the reasons why a qualified person must look at it; empty
    where none. ``assumed`` lists what nobody measured or gave.
    """

    support: Support
    wires: tuple[LoadedWire, ...]
    plants: tuple[PlantLoad, ...]
    checks: tuple[PartCheck, ...]
    verdict: PartVerdict
    assumed: tuple[str, ...]
    ask: tuple[str, ...]
    cautions: tuple[str, ...]

    def check(self, rule: str) -> PartCheck | None:
        """The check of this rule, or None where it does not apply."""
        return next((check for check in self.checks if check.rule == rule), None)

    def part(self, rule: str) -> PartCheck:
        """The check of this rule.

        Raises:
            KeyError: where it does not apply to this support.
        """
        return {check.rule: check for check in self.checks}[rule]


def check_support(
    support: Support, *, book: Materials | None = None, units: Units = "metric", with_cures: bool = True
) -> SupportReport:
    """Check every part of a support.

    Args:
        support: as it stands or is planned.
        book: the materials, with the business's own overlay where it has one.
        units: in which lengths are written in sentences.
        with_cures: whether to look for cures; each is proved by asking again, which takes most of the time.

    Returns:
        The report. Its verdict is that of its worst part.

    This is a garden-scale check and no structural engineering; its cautions are part of the result.
    """
    book = book or materials()
    checks = _all_checks(support, book, units)
    if with_cures:
        checks = [_cured(check, support, (book, units)) for check in checks]
    wires = load_wires(support, book=book)
    plants = tuple(plant_load(plant, book=book) for plant in support.plants)
    assumed = _assumed(support, plants, checks)
    ask = _who_must_look(support, wires, checks, (book, units))
    return SupportReport(
        support=support,
        wires=wires,
        plants=plants,
        checks=tuple(checks),
        verdict=worst(tuple(check.verdict for check in checks)),
        assumed=assumed,
        ask=ask,
        cautions=_cautions(support, assumed, ask, book),
    )


def _all_checks(support: Support, book: Materials, units: Units) -> list[PartCheck]:
    wires = load_wires(support, book=book)
    return [
        *check_wires(support, wires, book, units),
        *check_fixings(support, wires, book, units),
        *check_posts(support, book, units),
        *check_ends(support, wires, book, units),
        *check_form(support, book, units),
    ]


def _cured(check: PartCheck, support: Support, how: tuple[Materials, Units]) -> PartCheck:
    book, units = how

    def recheck(changed: Support) -> list[PartCheck]:
        if check.rule.startswith("post_"):
            return check_posts(changed, book, units)
        wires = load_wires(changed, book=book)
        if check.rule.startswith("wire_"):
            return check_wires(changed, wires, book, units)
        if support.is_row:
            return check_ends(changed, wires, book, units)
        return check_fixings(changed, wires, book, units)

    return replace(check, cure=cure_for(check, support, recheck, how))


def _assumed(support: Support, plants: tuple[PlantLoad, ...], checks: list[PartCheck]) -> tuple[str, ...]:
    told = list(support.surroundings.assumed)
    told += [
        f"crop of {load.plant.species.replace('_', ' ')}: {load.crop_kg:.0f} kg ({load.crop_source})"
        for load in plants
        if load.is_assumed
    ]
    told += [what for check in checks for what in check.assumed]
    return tuple(dict.fromkeys(told))


def _who_must_look(
    support: Support, wires: tuple[LoadedWire, ...], checks: list[PartCheck], how: tuple[Materials, Units]
) -> tuple[str, ...]:
    """Reasons to ask a qualified person."""
    book, units = how
    reasons = []
    if support.height_mm > book.limit("ask_height_mm"):
        reasons.append(f"it is {show_length(support.height_mm, units)} high")
    pull = sum(part.tension_n for part in end_pulls(wires))
    if pull > book.limit("ask_end_pull_n"):
        reasons.append(f"its wires together pull {pull / 1000:.1f} kN on each end")
    if support.is_row and support.surroundings.people_pass:
        reasons.append("it stands free where people pass")
    if support.wall and book.walls[support.wall].is_doubtful:
        reasons.append(f"the wall is in doubt: {book.walls[support.wall].name}")
    if support.is_row and book.soils[support.surroundings.soil].is_doubtful:
        reasons.append(f"the ground is in doubt: {book.soils[support.surroundings.soil].name}")
    weak = [check.part for check in checks if check.verdict == "not_enough" and not check.rule.startswith("metals_")]
    if weak:
        reasons.append(f"not enough: {', '.join(dict.fromkeys(weak))}")
    return tuple(reasons)


def _cautions(support: Support, assumed: tuple[str, ...], ask: tuple[str, ...], book: Materials) -> tuple[str, ...]:
    when = ["always", "wire"]
    when += ["digging", "freestanding"] if support.is_row else ["drilling"] if support.kind == "wall" else []
    when += ["height"] if support.wire_heights_mm[-1] > book.limit("accident_reach_mm") else []
    when += ["assumed"] if assumed else []
    when += ["qualified"] if ask else []
    return tuple(caution.text for caution in book.cautions_for(*when))
