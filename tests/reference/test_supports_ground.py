"""Posts, ground, ends and fixings against published checks and worked examples.

"as worked": calculated by hand from the formulas of the reference sheet of the trade, to the precision given there.
"""

from __future__ import annotations

from math import cos, radians

import pytest

from gardens.knowledge.material_book import materials
from gardens.supports import Post
from gardens.supports.ends import Pull, bare_post, h_brace, rail_buckles_n, strut, tie_back
from gardens.supports.fixings import (
    bracket_bolt_n,
    lag_screw_n,
    shank_allows_n,
    shank_bending_mpa,
    wood_screw_n,
    wood_screw_ultimate_n,
)
from gardens.supports.ground import (
    code_depth_free_m,
    code_depth_held_m,
    plate_pull_out_n,
    sideways_hold_n,
)
from gardens.supports.posts import bending_mpa, section_modulus_mm3
from tests.gardens.supports.stands import there

PSF_PER_FT = 0.157087
"""One pound per square foot and foot of depth in kPa/m."""

SAND = materials().soils["sand"]
PUSH_N, AT_M = 468.9, 1.15


@pytest.mark.parametrize(
    ("kind", "size", "modulus", "moment"),
    [
        ("round_softwood", 75, 41_417, 331),
        ("round_softwood", 100, 98_175, 785),
        ("round_softwood", 125, 191_748, 1534),
        ("square_softwood", 75, 70_313, 563),
        ("square_softwood", 100, 166_667, 1333),
    ],
)
def test_post_sections_bear_what_their_table_says(kind, size, modulus, moment):
    section = there(section_modulus_mm3(Post(kind=kind, size_mm=size)))

    assert section == pytest.approx(modulus, abs=0.6)
    assert bending_mpa(moment, section) == pytest.approx(8, abs=0.01)


def test_wind_on_a_leafed_row_bends_its_post_as_worked():
    # 25 m/s, drag 0.3, canopy 1.7 m high, posts 2.4 m apart, wind at 1.15 m, post of 100 mm.
    push = 0.613 * 25**2 * 0.3 * 1.7 * 2.4

    assert push == pytest.approx(PUSH_N, abs=0.1)
    assert push * AT_M == pytest.approx(539, abs=0.5)
    assert bending_mpa(push * AT_M, there(section_modulus_mm3(Post()))) == pytest.approx(5.5, abs=0.05)


@pytest.mark.parametrize(("bearing", "single", "doubled"), [(23.6, 1.58, 1.20), (15.7, 1.87, 1.41), (31.4, 1.41, 1.07)])
def test_code_depth_of_a_garden_post_is_as_worked(bearing, single, doubled):
    def depth(times: float) -> float:
        return code_depth_free_m(push_n=PUSH_N, at_m=AT_M, width_m=0.1, bearing_kpa_m=bearing * times)

    assert depth(1) == pytest.approx(single, abs=0.006)
    assert depth(2) == pytest.approx(doubled, abs=0.006)


def test_code_formula_meets_the_published_intermediate_value():
    # Engineers' forum, thread on IBC 1805.7: 150 psf/ft × 1.33 at a third of 6 ft, P 3,000 lbf, b 1 ft → A = 17.6 ft.
    area_ft = 2.34 * 3000 / (150 * 1.33 * 6 / 3 * 1)
    assert area_ft == pytest.approx(17.6, abs=0.05)
    # The same load through our function: at the depth it gives, d = 0.5·A·(1 + √(1 + 4.36·h/A)) holds.
    depth = code_depth_free_m(push_n=3000 * 4.44822, at_m=3, width_m=0.3048, bearing_kpa_m=150 * 1.33 * PSF_PER_FT)
    area = 2.34 * 3000 * 4.44822 / (150 * 1.33 * PSF_PER_FT * 1000 * depth / 3 * 0.3048)
    assert depth == pytest.approx(0.5 * area * (1 + (1 + 4.36 * 3 / area) ** 0.5), rel=1e-6)


def test_depth_of_a_held_post_agrees_with_a_published_sheet():
    # Flagpole footing sheet to IBC 2018: 90,000 lbf·ft, 4.5 ft wide, 350 psf/ft × 2 → 4.952 ft = 1.509 m.
    depth = code_depth_held_m(moment_nm=90_000 * 1.355818, width_m=4.5 * 0.3048, bearing_kpa_m=700 * PSF_PER_FT)

    assert depth == pytest.approx(1.509, abs=0.001)


@pytest.mark.parametrize(("depth", "held"), [(0.75, 600), (0.8, 709), (0.9, 960)])
def test_sand_holds_a_post_as_worked(depth, held):
    assert sideways_hold_n(SAND, depth_m=depth, width_m=0.1, at_m=AT_M) == pytest.approx(held, abs=1)


def test_third_more_depth_doubles_what_sand_holds():
    # Ontario Ministry of Agriculture, tall spindle support systems: + 33 % depth doubles the resistance.
    shallow = there(sideways_hold_n(SAND, depth_m=0.6, width_m=0.1, at_m=AT_M))
    deep = there(sideways_hold_n(SAND, depth_m=0.8, width_m=0.1, at_m=AT_M))

    assert deep / shallow == pytest.approx(2.13, abs=0.01)


def test_clay_holds_a_post_in_balance():
    # CAUL, Fundamentals of Foundation Engineering, 6.24 (Broms): f = H/(9·Su·D), M = H·(e + 1.5·D + 0.5·f); the
    # moment below must equal 9·Su·D·(g/2)². Checked by putting our answer back.
    clay = materials().soils["clay"]
    depth, width = 0.8, 0.1
    held = there(sideways_hold_n(clay, depth_m=depth, width_m=width, at_m=AT_M))
    strength = there(clay.cohesion_kpa) * 1000
    above = held / (9 * strength * width)
    below = depth - 1.5 * width - above

    assert held * (AT_M + 1.5 * width + 0.5 * above) == pytest.approx(9 * strength * width * (below / 2) ** 2, rel=1e-6)


@pytest.mark.parametrize(("plate", "depth", "kilonewton"), [(0.15, 1.2, 6.9), (0.10, 0.9, 2.8)])
def test_screw_plates_hold_the_cone_as_worked(plate, depth, kilonewton):
    assert plate_pull_out_n(plate_m=plate, depth_m=depth) / 1000 == pytest.approx(kilonewton, abs=0.05)


FOUR_WIRES = [Pull(tension_n=1000, height_m=height) for height in (0.5, 0.9, 1.3, 1.7)]


@pytest.mark.parametrize(("angle", "stay", "uplift"), [(60, 5500, 4763), (45, 3889, 2750)])
def test_stay_carries_four_wires_as_worked(angle, stay, uplift):
    forces = tie_back(FOUR_WIRES, height_m=1.6, angle_deg=angle)

    assert forces.overturning_nm == pytest.approx(4400)
    assert forces.member_n == pytest.approx(stay, abs=0.6)
    assert forces.uplift_n == pytest.approx(uplift, abs=0.6)
    assert forces.foot_n == pytest.approx(1250, abs=0.6)


@pytest.mark.parametrize(("reach", "uplift", "diagonal"), [(1.5, 2933, 4148), (2.4, 1833, 3459), (3.0, 1467, 3280)])
def test_longer_brace_lifts_less_as_worked(reach, uplift, diagonal):
    forces = h_brace(FOUR_WIRES, height_m=1.5, reach_m=reach)

    assert forces.member_n == pytest.approx(2933, abs=0.6)
    assert forces.uplift_n == pytest.approx(uplift, abs=0.6)
    assert forces.brace_n == pytest.approx(diagonal, abs=0.6)


def test_driven_post_holds_the_brace_and_a_dug_one_does_not():
    # BTCV, Fencing handbook: 90 kgf dug and rammed, 900 kgf driven into a pilot hole; half of it is reckoned with.
    uplift = h_brace(FOUR_WIRES, height_m=1.5, reach_m=2.4).uplift_n
    rows = materials().pull_outs

    assert uplift / (there(rows["dug_post"].ultimate_n) / 2) == pytest.approx(4.2, abs=0.05)
    assert uplift / (there(rows["driven_post"].ultimate_n) / 2) == pytest.approx(0.42, abs=0.005)


def test_end_forces_are_in_balance():
    """Sums of forces and moments vanish: statics, no source needed."""
    stay = tie_back(FOUR_WIRES, height_m=1.6, angle_deg=55)
    brace = strut(FOUR_WIRES, height_m=1.4, reach_m=1.4)

    assert stay.member_n * cos(radians(55)) + stay.foot_n == pytest.approx(stay.pull_n)
    assert stay.member_n * cos(radians(55)) * 1.6 == pytest.approx(stay.overturning_nm)
    assert brace.thrust_n + brace.foot_n == pytest.approx(brace.pull_n)
    assert bare_post(FOUR_WIRES).bending_nm == pytest.approx(4400)


def test_rail_gives_way_at_the_euler_load():
    # Euler, both ends hinged: π²·EI/L² for 100 mm round, 8 GPa, 3 m; I = π·0.1⁴/64 = 4.9087e-6 m⁴.
    assert rail_buckles_n(size_mm=100, length_m=3, modulus_gpa=8) == pytest.approx(
        9.8696 * 8e9 * 4.9087e-6 / 9, rel=1e-4
    )


@pytest.mark.parametrize(
    ("gap", "allowed"),
    [(50, {5: 39, 6: 68, 8: 161, 10: 314, 12: 543, 16: 1287}), (100, {5: 20, 6: 34, 8: 80, 10: 157, 12: 271, 16: 643})],
)
def test_end_eyes_bear_what_their_table_says(gap, allowed):
    for shank, force in allowed.items():
        assert shank_allows_n(gap_mm=gap, shank_mm=shank, allowed_mpa=160) == pytest.approx(force, abs=0.6)


@pytest.mark.parametrize(("shank", "stress"), [(6, 1415), (12, 177), (16, 75)])
def test_end_eye_bends_as_worked(shank, stress):
    assert shank_bending_mpa(force_n=300, gap_mm=100, shank_mm=shank) == pytest.approx(stress, abs=0.6)
    assert bracket_bolt_n(force_n=300, gap_mm=100, bolt_gap_mm=100) == pytest.approx(300)


def test_screw_eye_in_spruce_holds_as_worked():
    eye = {"density_ratio": 0.42, "diameter_mm": 6, "thread_mm": 40}

    assert wood_screw_ultimate_n(**eye) == pytest.approx(4583, abs=1)
    assert wood_screw_n(**eye) == pytest.approx(832, abs=0.6)
    assert lag_screw_n(**eye) == pytest.approx(1163, abs=0.6)


def test_screw_rules_agree_with_published_sums():
    # Engineering ToolBox: G .45, D .190 in → 109 lbf an inch allowed. Wood Handbook, worked: G .70, D .164 in → 1,262.
    inch_n = 4.4482216

    allowed = wood_screw_n(density_ratio=0.45, diameter_mm=0.190 * 25.4, thread_mm=25.4) / inch_n
    ultimate = wood_screw_ultimate_n(density_ratio=0.70, diameter_mm=0.164 * 25.4, thread_mm=25.4) / inch_n

    assert allowed == pytest.approx(109, abs=1)
    assert ultimate == pytest.approx(1262, abs=1)
