"""Trees of every form at three ages, written out by hand, for looking at and for testing pictures.

Sizes: `common practice` (tiers 40 cm apart, cordons at 45°, axes 30 cm apart, fan arms at 45° ...).
"""

from __future__ import annotations

from datetime import date
from math import cos, radians, sin

from gardens.training.state import Limb, Tie, TreeFacts, TreeState

AGES = ("young", "half", "full")
DAY = {"young": date(2022, 1, 20), "half": date(2024, 1, 20), "full": date(2028, 1, 20)}
STAGE = {"young": "forming", "half": "forming", "full": "full"}


def facts(form: str, species: str, wires: tuple[int, ...], run: int, height: int, tiers: int = 0) -> TreeFacts:
    return TreeFacts(
        species=species, form=form, planted_on=date(2020, 11, 20), wire_heights_mm=wires, run_left_mm=run,
        run_right_mm=run, height_mm=height, tiers=tiers,
    )  # fmt: skip


def state(known: TreeFacts, age: str, leader: int, limbs: list[Limb], tiers_set: int = 0) -> TreeState:
    ties = tuple(Tie(limb=limb.key, since=date(2021, 6, 1)) for limb in limbs if limb.kind == "arm" and limb.length_mm)
    return TreeState(
        facts=known, on=DAY[age], stage=STAGE[age], tiers_set=tiers_set, leader_height_mm=leader, limbs=tuple(limbs),
        ties=ties[:2],
    )  # fmt: skip


def stem(kind: str, length: int, origin_y: int = 0, angle: float = 90.0, side: int = 0, wanted: int = 0) -> Limb:
    return Limb(
        key=kind, kind=kind, status="set", length_mm=length, wanted_mm=max(length, wanted), angle_deg=angle, side=side,
        origin_y_mm=origin_y,
    )  # fmt: skip


def arm(key: str, side: int, length: int, wanted: int, angle: float, y: int, **more) -> Limb:
    tier = int(key.split(":")[1])
    status = more.pop("status", "wanted" if length == 0 else "set")
    return Limb(
        key=key, kind=more.pop("kind", "arm"), tier=tier, side=side, status=status, length_mm=length, wanted_mm=wanted,
        angle_deg=angle, origin_y_mm=y, **more,
    )  # fmt: skip


def tiers(form: str, species: str, age: str, *, wires=(450, 850, 1250, 1650), run=2100, final_angle=0.0) -> TreeState:
    lengths = {"young": (520,), "half": (1250, 640), "full": (run,) * len(wires)}[age]
    limbs = []
    for tier, height in enumerate(wires, 1):
        length = lengths[tier - 1] if tier <= len(lengths) else 0
        is_new = age != "full" and tier == len(lengths)
        angle = 45.0 if is_new and length and final_angle == 0 else final_angle
        for name, side in (("left", -1), ("right", 1)):
            own = int(length * (0.93 if side < 0 and age != "full" else 1.0))
            limbs.append(
                arm(f"arm:{tier}:{name}", side, own, run, angle, height, wanted_angle_deg=final_angle,
                    status="wanted" if not own else "tied" if is_new else "set")
            )  # fmt: skip
    last = wires[len(lengths) - 1]
    limbs.insert(0, stem("trunk", last))
    top = {"young": last + 520, "half": last + 480, "full": last}[age]
    if age != "full":
        limbs.insert(1, stem("leader", top - last, last, wanted=wires[-1] - last))
    known = facts(form, species, wires, run, wires[-1] + 150, tiers=len(wires))
    return state(known, age, top, limbs, tiers_set=len(lengths) if age == "full" else len(lengths) - 1)


def horizontal_tiers(age: str, species: str = "apple_spur") -> TreeState:
    return tiers("horizontal_tiers", species, age)


def step_over(age: str) -> TreeState:
    length = {"young": 420, "half": 900, "full": 1500}[age]
    angle = 40.0 if age == "young" else 0.0
    status = "tied" if age == "young" else "set"
    limbs = [stem("trunk", 450)] + [
        arm(f"arm:1:{n}", s, length, 1500, angle, 450, wanted_angle_deg=0.0, status=status)
        for n, s in (("left", -1), ("right", 1))
    ]
    return state(facts("step_over", "apple_spur", (450,), 1500, 600, 1), age, 450, limbs, 1)


def cordon(form: str, species: str, age: str, angle: float) -> TreeState:
    length = {"young": 900, "half": 1600, "full": int(1800 / sin(radians(angle)))}[age]
    limbs = [stem("trunk", length, angle=angle, side=1 if angle < 90 else 0, wanted=int(1800 / sin(radians(angle))))]
    height = int(length * sin(radians(angle)))
    return state(facts(form, species, (600, 1200, 1800), 375, 1950), age, height, limbs)


def fan(age: str, species: str = "peach") -> TreeState:
    reach = {"young": 450, "half": 1000, "full": 1700}[age]
    limbs = [stem("trunk", 400)]
    per_side = {"young": 0, "half": 3, "full": 6}[age]
    slopes = (70, 24, 58, 12, 80, 36)
    starts = (260, 380, 560, 620, 150, 820)
    lengths = (1500, 1350, 1350, 1250, 1600, 1000)
    arm_angle = 42.0
    for name, side in (("left", -1), ("right", 1)):
        limbs.append(arm(f"arm:1:{name}", side, reach, 1700, arm_angle, 400))
        for index in range(6):
            along = starts[index]
            grown = int(lengths[index] * {"young": 0, "half": 0.5, "full": 1.0}[age]) if index < per_side else 0
            limbs.append(
                Limb(
                    key=f"rib:{index + 1}:{name}", kind="rib", side=side, length_mm=grown, wanted_mm=lengths[index],
                    status="set" if grown else "wanted", angle_deg=float(slopes[index]), parent=f"arm:1:{name}",
                    origin_x_mm=int(side * along * cos(radians(arm_angle))),
                    origin_y_mm=400 + int(along * sin(radians(arm_angle))),
                )
            )  # fmt: skip
    wires = tuple(range(400, 2100, 230))
    return state(facts("fan", species, wires, 1900, 2200), age, 400, limbs)


def oblique_palmette(age: str) -> TreeState:
    return tiers("oblique_palmette", "pear_european", age, wires=(600, 1100, 1550, 1950), run=1500, final_angle=42.0)


def axes(form: str, age: str, count: int, spacing: int, fork: int, species: str = "pear_european") -> TreeState:
    limbs = [stem("trunk", fork)]
    rise = {"young": 350, "half": 1000, "full": 1900}[age]
    wanted = 1900
    positions = [(index - (count - 1) / 2) * spacing for index in range(count)]
    for index, x in enumerate(positions, 1):
        grown = rise - (0 if abs(x) > spacing else 60)
        limbs.append(
            Limb(
                key=f"axis:{index}", kind="axis", side=0, length_mm=max(grown, 100), wanted_mm=wanted, status="set",
                angle_deg=90.0, origin_x_mm=int(x), origin_y_mm=fork,
            )
        )  # fmt: skip
    half = int(spacing * count / 2)
    return state(facts(form, species, (fork, 900, 1500, 2100), half, 2300), age, fork + rise, limbs)


def lattice(age: str) -> TreeState:
    length = {"young": 700, "half": 1300, "full": 1900}[age]
    limbs = [stem("trunk", 400)] + [
        arm(f"arm:1:{n}", s, length, 1900, 45.0, 400) for n, s in (("left", -1), ("right", 1))
    ]
    return state(facts("lattice", "apple_spur", (600, 1200, 1750), 350, 1850), age, 400, limbs)


def vine_rod_and_spur(age: str) -> TreeState:
    length = {"young": 500, "half": 1200, "full": 1900}[age]
    limbs = [stem("trunk", 800)] + [
        Limb(key=f"rod:{i}", kind="rod", side=s, status="set", length_mm=length, wanted_mm=1900, angle_deg=0.0,
             origin_y_mm=800)
        for i, s in ((1, -1), (2, 1))
    ]  # fmt: skip
    return state(facts("vine_rod_and_spur", "grape", (800, 1100, 1400, 1700), 1950, 1800), age, 800, limbs)


def vine_cane_replacement(age: str) -> TreeState:
    length = {"young": 0, "half": 600, "full": 900}[age]
    limbs = [stem("trunk", {"young": 500, "half": 750, "full": 750}[age], wanted=750)] + [
        Limb(key=f"cane:{n}", kind="cane", side=s, status="set" if length else "wanted", length_mm=length,
             wanted_mm=900, angle_deg=0.0, origin_y_mm=800)
        for n, s in (("left", -1), ("right", 1))
    ]  # fmt: skip
    return state(facts("vine_cane_replacement", "grape", (800, 1150, 1500), 1000, 1700), age, 750, limbs)


def vine_tiers(age: str) -> TreeState:
    return (
        tiers("vine_tiers", "grape", age, wires=(950, 1600), run=1200)
        if age != "half"
        else tiers("vine_tiers", "grape", age, wires=(950, 1600), run=1200)
    )


def informal(age: str, species: str = "fig") -> TreeState:
    grown = {"young": 0.3, "half": 0.65, "full": 1.0}[age]
    plan = [(1, -1, 30, 350, 1700), (1, 1, 38, 420, 1600), (2, -1, 52, 700, 1500), (2, 1, 22, 800, 1500),
            (3, -1, 35, 1050, 1200), (3, 1, 60, 1150, 1000)]  # fmt: skip
    limbs = [stem("trunk", 1200 if age != "young" else 900), stem("leader", int(900 * grown), 1200, 82.0, wanted=900)]
    if age == "young":
        limbs[1] = stem("leader", 150, 900, wanted=1200)
    for tier, side, angle, y, wanted in plan:
        length = int(wanted * grown) if y < limbs[0].length_mm else 0
        limbs.append(arm(f"arm:{tier}:{'left' if side < 0 else 'right'}", side, length, wanted, float(angle), y))
    return state(facts("informal", species, (400, 800, 1200, 1600), 1800, 2100), age, 1350, limbs)


TREES = {
    "horizontal_tiers": horizontal_tiers,
    "step_over": step_over,
    "oblique_cordon": lambda age: cordon("oblique_cordon", "apple_spur", age, 45.0),
    "upright_cordon": lambda age: cordon("upright_cordon", "currant_red_white", age, 90.0),
    "fan": fan,
    "oblique_palmette": oblique_palmette,
    "candelabra_palmette": lambda age: axes("candelabra_palmette", age, 4, 300, 400),
    "u_form": lambda age: axes("u_form", age, 2, 400, 300),
    "double_u": lambda age: axes("double_u", age, 4, 300, 350),
    "lattice": lattice,
    "vine_rod_and_spur": vine_rod_and_spur,
    "vine_cane_replacement": vine_cane_replacement,
    "vine_tiers": vine_tiers,
    "informal": informal,
}


def tree(form: str, age: str) -> TreeState:
    return TREES[form](age)
