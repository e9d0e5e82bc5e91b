"""Two years of invented records: the work each tree's form asked for, mostly done, and what was measured and seen.

The trees are played forward through the same training core that later reads the records, so that the story they tell
hangs together: a leader is measured, found long enough, cut at the wire, its shoots chosen, tied, lowered.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

from gardens.training import Record, TrainingPractice, TreeFacts, TreeState, fold, on_support, steps_for_season
from gardens.units import parse_length_mm

FORM_ONLY = TrainingPractice(asks_for_upkeep=False)
YEARS = 2
MISSED = 0.06
"""Share of the steps nobody did: no time, no access, forgotten."""
DAYS_OF_SEASON = {
    "dormant": ((1, 8), 40),
    "spring": ((5, 6), 24),
    "summer": ((7, 4), 40),
    "autumn": ((11, 4), 16),
    "any": ((3, 5), 20),
}
BLOOM = {
    "apricot": (3, 6),
    "peach": (3, 14),
    "plum_european": (4, 6),
    "pear_european": (4, 10),
    "cherry_sweet": (4, 12),
    "cherry_sour": (4, 20),
    "apple_spur": (4, 28),
}
PICKED_KG = {"apple_spur": 9.0, "pear_european": 8.0, "plum_european": 7.0, "peach": 6.0, "grape": 3.0, "fig": 3.0}
NO_VALUE = {"select_shoots", "rub_out", "remove_ties", "clear_wall_side", "remove_low_shoots", "plant"}


@dataclass(frozen=True, kw_only=True)
class Support:
    """What a tree's story needs of its support. [mm]"""

    length_mm: int
    wires_mm: tuple[int, ...]
    height_mm: int
    gap_mm: int


def support_of(row: dict[str, str]) -> Support:
    return Support(
        length_mm=parse_length_mm(row["length"], default_unit="cm"),
        wires_mm=tuple(parse_length_mm(part, default_unit="cm") for part in row["wires"].split(";")),
        height_mm=parse_length_mm(row["height"], default_unit="cm"),
        gap_mm=parse_length_mm(row["gap"], default_unit="cm"),
    )


def facts_of(tree: dict[str, str], support: Support) -> TreeFacts:
    facts = TreeFacts(
        species=tree["species"],
        form=tree["form"],
        planted_on=date.fromisoformat(tree["planted"]),
        wire_heights_mm=support.wires_mm,
        run_left_mm=parse_length_mm(tree["run_left"], default_unit="cm"),
        run_right_mm=parse_length_mm(tree["run_right"], default_unit="cm"),
        height_mm=support.height_mm,
        tiers=int(tree["tiers"] or 0),
        rootstock=tree["rootstock"] or None,
        start=tree["start"],  # type: ignore[arg-type]
        tiers_at_start=int(tree["tiers_at_start"] or 0),
        gap_to_wall_mm=support.gap_mm,
    )
    return on_support(facts, parse_length_mm(tree["position"], default_unit="cm"), support.length_mm)


def record_rows(tree: dict[str, str], support: Support, *, as_of: date, random: Random) -> list[dict[str, str]]:
    """The rows of records.csv about one tree, oldest first."""
    facts = facts_of(tree, support)
    records: list[Record] = []
    first_year = as_of.year - YEARS + 1
    for year in range(first_year, as_of.year + 1):
        start = max(date(year - 1, 11, 25), facts.planted_on + timedelta(days=1))
        if start >= as_of:
            continue
        state = fold(facts, records, start)
        records += _measured(state, _near(date(year, 1, 5), random, 20), facts, as_of, random)
        state = fold(facts, records, max(start, date(year, 1, 6)))
        records += [record for record in _worked(state, year, random) if facts.planted_on <= record.on <= as_of]
        records += [record for record in _seen(facts, year, random) if facts.planted_on <= record.on <= as_of]
    return [_row(tree, record) for record in sorted(records, key=lambda record: record.on)]


def _near(day: date, random: Random, spread: int) -> date:
    return day + timedelta(days=random.randrange(spread))


def _measured(state: TreeState, on: date, facts: TreeFacts, as_of: date, random: Random) -> list[Record]:
    if not facts.planted_on < on <= as_of:
        return []
    found = []
    if state.leader_height_mm and random.random() < 0.8:
        found.append(_length("leader_height", "leader", state.leader_height_mm * random.gauss(1.0, 0.07), on))
    arms = [limb for limb in state.limbs if limb.kind in ("arm", "rib", "axis", "rod") and limb.length_mm > 200]
    for limb in random.sample(arms, min(2, len(arms))):
        found.append(_length("limb_length", limb.key, limb.length_mm * random.gauss(1.0, 0.1), on))
    if random.random() < 0.4:
        age = max(0.5, (on - facts.planted_on).days / 365)
        found.append(_length("trunk_girth", "trunk", (55 + 22 * age) * random.gauss(1.0, 0.08), on))
    return found


def _length(what: str, limb: str, mm: float, on: date) -> Record:
    return Record(on=on, kind="measured", what=what, limb=limb, value=float(round(mm / 10) * 10))


def _worked(state: TreeState, year: int, random: Random) -> Iterator[Record]:
    days = {}
    for step in steps_for_season(state, year, practice=FORM_ONLY):
        if step.season not in days:
            (month, day), spread = DAYS_OF_SEASON[step.season]
            days[step.season] = _near(date(year, month, day), random, spread)
        if random.random() < MISSED:
            continue
        value: float | None = None
        if step.kind not in NO_VALUE:
            value = step.to_angle_deg if step.to_angle_deg is not None else step.at_mm
        yield Record(
            on=days[step.season],
            kind="done",
            what=step.kind,
            limb=step.limb,
            value=float(value) if value is not None else None,
            text="tie_soft_tube" if step.kind in ("tie_in", "renew_ties") else "",
        )


def _seen(facts: TreeFacts, year: int, random: Random) -> Iterator[Record]:
    if facts.species in BLOOM and random.random() < 0.12:
        yield Record(
            on=_near(date(year, *BLOOM[facts.species]), random, 12), kind="seen", what="stage", text="full_bloom"
        )
    age = year - facts.planted_on.year
    if facts.species in PICKED_KG and age >= 4 and random.random() < 0.5:
        kg = PICKED_KG[facts.species] * min(1.0, age / 8) * random.uniform(0.5, 1.2)
        yield Record(on=_near(date(year, 8, 25), random, 40), kind="done", what="pick", value=round(kg, 1))
    if random.random() < 0.03:
        yield Record(on=_near(date(year, 6, 1), random, 60), kind="seen", what="disease", text="scab on a few leaves")


def _row(tree: dict[str, str], record: Record) -> dict[str, str]:
    is_length = record.kind == "measured" or record.what in ("head_back", "shorten_arms")
    value = "" if record.value is None else f"{record.value:g}"
    return {
        "site": tree["site"],
        "tree": tree["code"],
        "support": "",
        "date": record.on.isoformat(),
        "kind": record.kind,
        "what": record.what,
        "limb": record.limb,
        "value": f"{value} mm" if value and is_length else value,
        "text": record.text,
    }
