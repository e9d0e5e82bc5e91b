"""Trees of every form at three ages, written out by hand, for looking at and for testing pictures.

Sizes: `common practice` (tiers 40 cm apart, cordons at 45°, axes 30 cm apart, fan arms at 45° ...).
"""

from __future__ import annotations

from datetime import date
from itertools import pairwise
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
    """Arms at 40°, ribs above and below them in turn, each to the edge of a wall of 3.8 × 2.2 m."""
    share = {"young": 0.0, "half": 0.45, "full": 1.0}[age]
    grown_ribs = {"young": 0, "half": 3, "full": 6}[age]
    tilt, head, run, height = 40.0, 400, 1900, 2150
    limbs = [stem("trunk", head)]
    for name, side in (("left", -1), ("right", 1)):
        limbs.append(arm(f"arm:1:{name}", side, {"young": 500, "half": 1100, "full": 2350}[age], 2350, tilt, head))
        for index, angle in enumerate((83.0, 10.0, 73.0, 62.0, 19.0, 52.0), 1):
            along = 300 + (index - 1) * 180
            x, y = along * cos(radians(tilt)), head + along * sin(radians(tilt))
            wanted = min((run - x) / cos(radians(angle)), (height - y) / sin(radians(angle)))
            length = int(wanted * share) if index <= grown_ribs else 0
            limbs.append(
                Limb(
                    key=f"rib:{index}:{name}", kind="rib", side=side, length_mm=length, wanted_mm=int(wanted),
                    status="set" if length else "wanted", angle_deg=angle, parent=f"arm:1:{name}",
                    origin_x_mm=int(side * x), origin_y_mm=int(y), tier=2 + (index - 1) // 3,
                )
            )  # fmt: skip
    return state(facts("fan", species, tuple(range(400, 2100, 230)), run, 2200), age, head, limbs)


def oblique_palmette(age: str) -> TreeState:
    return tiers("oblique_palmette", "pear_european", age, wires=(500, 850, 1150), run=1500, final_angle=42.0)


def axes(form: str, age: str, courses: list[tuple[tuple[int, int], ...]]) -> TreeState:
    """Uprights, each a course of points from the trunk: flat first, then up."""
    share = {"young": 0.25, "half": 0.62, "full": 1.0}[age]
    fork = courses[0][0][1]
    limbs = [stem("trunk", fork)]
    for index, points in enumerate(courses, 1):
        wanted = sum(abs(b[0] - a[0]) + abs(b[1] - a[1]) for a, b in pairwise(points))
        limbs.append(
            Limb(
                key=f"axis:{index}", kind="axis", side=-1 if points[-1][0] < 0 else 1, status="set",
                length_mm=int(wanted * share), wanted_mm=wanted, angle_deg=90.0, origin_x_mm=points[0][0],
                origin_y_mm=points[0][1], course_mm=points,
            )
        )  # fmt: skip
    half = max(abs(points[-1][0]) for points in courses) + 150
    known = facts(form, "pear_european", (fork, 900, 1500, 2100), half, 2300)
    return state(known, age, fork + int(1700 * share), limbs)


def candelabra(age: str) -> TreeState:
    return axes("candelabra_palmette", age, [((0, 400), (x, 400), (x, 2200)) for x in (-450, -150, 150, 450)])


def u_form(age: str) -> TreeState:
    return axes("u_form", age, [((0, 300), (x, 300), (x, 2200)) for x in (-200, 200)])


def double_u(age: str) -> TreeState:
    ways = [((0, 300), (side * 300, 300), (side * 300, 520), (x, 520), (x, 2200))
            for side, x in ((-1, -450), (-1, -150), (1, 150), (1, 450))]  # fmt: skip
    return axes("double_u", age, ways)


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
    return tiers("vine_tiers", "grape", age, wires=(950, 1600), run=1200)


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
    "candelabra_palmette": candelabra,
    "u_form": u_form,
    "double_u": double_u,
    "lattice": lattice,
    "vine_rod_and_spur": vine_rod_and_spur,
    "vine_cane_replacement": vine_cane_replacement,
    "vine_tiers": vine_tiers,
    "informal": informal,
}


def tree(form: str, age: str) -> TreeState:
    return TREES[form](age)
