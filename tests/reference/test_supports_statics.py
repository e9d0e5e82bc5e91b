"""Sag and tension against worked examples.

Unless another source stands beside a check, its figures were worked by hand from the formulas of the reference sheet of
the trade (g 9.80665 m/s², E 200 GPa, α 12·10⁻⁶/°C) and are given to the precision they were worked to.
"""

from __future__ import annotations

from math import cosh, pi, sinh

import pytest

from gardens.supports import (
    Fixing,
    Load,
    Plant,
    Strung,
    Support,
    Surroundings,
    catenary,
    hang,
    load_wires,
    loaded_tension_n,
    parabola,
    parabola_sag_m,
    tension_for_sag_n,
    wind_pressure_pa,
    wire,
)
from gardens.supports.loads import ice_kg_m
from gardens.supports.slack import tension_from_pull_n
from gardens.supports.statics import point_sag_m, sag_under_m

HT = wire(2.5, grade="high_tensile", strength_mpa=1200)
SOFT = wire(2.0)


def post_and_wire(tension_n: float, **more: object) -> Strung:
    return Strung(wire=HT, span_m=2.4, tension_n=tension_n, **more)  # type: ignore[arg-type]


def test_sag_of_a_published_overhead_line_example():
    # "How to determine sag in transmission lines": 1 kg/m, 10,000 kg, 500 m between towers → 3.125 m.
    g = 9.80665
    assert parabola_sag_m(load_n_m=1 * g, span_m=500, tension_n=10_000 * g) == pytest.approx(3.125, abs=1e-9)


def test_taut_wire_hangs_as_worked():
    tension = tension_for_sag_n(load_n_m=20, span_m=3, sag_m=0.05)
    flat, exact = parabola(load_n_m=20, span_m=3, tension_n=tension), catenary(load_n_m=20, span_m=3, tension_n=tension)

    assert tension == pytest.approx(450, abs=1e-9)
    assert flat.end_tension_n == pytest.approx(451.0, abs=0.05)
    assert flat.length_m == pytest.approx(3.0022, abs=5e-5)
    assert exact.sag_m * 1000 == pytest.approx(50.02, abs=0.01)
    assert exact.end_tension_n == pytest.approx(451.0, abs=0.05)


def test_slack_wire_hangs_in_a_catenary_as_worked():
    flat, exact = parabola(load_n_m=20, span_m=3, tension_n=60), catenary(load_n_m=20, span_m=3, tension_n=60)

    assert (flat.sag_m, flat.length_m) == pytest.approx((0.375, 3.1250), abs=5e-5)
    assert (exact.sag_m, exact.length_m) == pytest.approx((0.3829, 3.1266), abs=5e-5)
    assert hang(load_n_m=20, span_m=3, tension_n=60) == exact


def test_catenary_obeys_its_own_identities():
    # From the definition of the curve: S² = 4d·(d + 2a) and T = a·w·cosh(L/2a).
    parameter = 45.0 / 20
    exact = catenary(load_n_m=20, span_m=3, tension_n=45)

    assert exact.length_m**2 == pytest.approx(4 * exact.sag_m * (exact.sag_m + 2 * parameter))
    assert exact.end_tension_n == pytest.approx(45 * cosh(3 / (2 * parameter)))
    assert exact.length_m == pytest.approx(2 * parameter * sinh(3 / (2 * parameter)))


@pytest.fixture
def espalier() -> Support:
    """Run 3.6 m, four wires, crop 15 kg, face 3.6 × 1.6 m, everything on the wires."""
    return Support(
        kind="wall",
        run_mm=3600,
        height_mm=2000,
        wire_heights_mm=(400, 800, 1200, 1600),
        wire=SOFT,
        tension_n=200,
        hold_gap_mm=1800,
        wall="sound_brick",
        fixing=Fixing(),
        end_fixing=Fixing(),
        plants=(
            Plant(species="apple_spur", form="horizontal_tiers", width_mm=3600, bottom_mm=0, top_mm=1600, crop_kg=15),
        ),
        surroundings=Surroundings(),
    )


def test_wall_tree_loads_its_wires_as_worked(espalier):
    load = load_wires(espalier)[0].load
    hanging = load.crop_n_m + load.green_n_m

    assert hanging * 4 * 3.6 == pytest.approx(231.8, abs=0.1)
    assert hanging == pytest.approx(16.10, abs=0.005)
    assert hanging * 1.8 == pytest.approx(29.0, abs=0.05)  # shear on an eye
    for tension, sag_mm in ((200, 32.6), (300, 21.7), (400, 16.3)):
        assert parabola_sag_m(load_n_m=hanging, span_m=1.8, tension_n=tension) * 1000 == pytest.approx(sag_mm, abs=0.05)


def test_wall_wire_tightens_under_crop_as_worked(espalier):
    # The worked sum leaves the wire's own 0.242 N/m out of the loaded weight; the program adds it (0.7 % more tension).
    strung = Strung(wire=SOFT, span_m=1.8, tension_n=200)
    tension = loaded_tension_n(strung, Load(per_metre_n=16.10))
    crop = load_wires(espalier)[0].under("crop")

    assert SOFT.weight_n_m == pytest.approx(0.242, abs=5e-4)
    assert tension == pytest.approx(364.9, abs=0.1)
    assert parabola_sag_m(load_n_m=16.10, span_m=1.8, tension_n=tension) * 1000 == pytest.approx(17.9, abs=0.05)
    assert tension / SOFT.breaking_n == pytest.approx(0.33, abs=0.005)
    assert tension < crop.tension_n < 1.01 * tension


@pytest.mark.parametrize(("strung_n", "loaded_n", "sag_mm"), [(600, 1147, 34.7), (900, 1316, 30.3), (1200, 1514, 26.3)])
def test_row_wire_tightens_under_crop_as_worked(strung_n, loaded_n, sag_mm):
    # Crop 20 kg/m and 1.5 kg/m² on a face of 1.6 m, over four wires: 54.92 N/m and the wire itself.
    hanging = 9.80665 * (20 + 1.5 * 1.6) / 4
    load = Load(per_metre_n=hanging + HT.weight_n_m)
    tension = loaded_tension_n(post_and_wire(strung_n), load)

    assert hanging == pytest.approx(54.92, abs=0.005)
    assert HT.weight_n_m == pytest.approx(0.378, abs=5e-4)
    assert tension == pytest.approx(loaded_n, abs=0.6)
    assert sag_under_m(load, span_m=2.4, tension_n=tension) * 1000 == pytest.approx(sag_mm, abs=0.06)


def test_row_wire_would_sag_more_if_its_tension_were_held():
    load = 54.92 + HT.weight_n_m

    assert parabola_sag_m(load_n_m=load, span_m=2.4, tension_n=900) * 1000 == pytest.approx(44.2, abs=0.1)


@pytest.mark.parametrize(("spans", "tension_n", "sag_mm"), [(1, 2573, 70), (8, 1508, 120)])
def test_leaning_on_a_wire_pulls_it_as_worked(spans, tension_n, sag_mm):
    load = Load(per_metre_n=HT.weight_n_m, point_n=300)
    tension = loaded_tension_n(post_and_wire(900, sharing_spans=spans), load)

    assert tension == pytest.approx(tension_n, abs=0.6)
    assert sag_under_m(load, span_m=2.4, tension_n=tension) * 1000 == pytest.approx(sag_mm, abs=0.6)


def test_soft_wall_wire_stretches_under_a_hand_as_worked(espalier):
    accident = load_wires(espalier)[0].under("accident")
    lighter = loaded_tension_n(
        Strung(wire=SOFT, span_m=1.8, tension_n=200), Load(per_metre_n=SOFT.weight_n_m, point_n=100)
    )

    assert accident.elastic_n == pytest.approx(1989, abs=1)
    assert SOFT.breaking_n == pytest.approx(1100, abs=0.5)
    assert accident.tension_n == pytest.approx(770, abs=0.5)
    assert accident.stretches
    assert lighter == pytest.approx(996, abs=1)


@pytest.mark.parametrize(
    ("strung", "warmer_c", "tension_n"),
    [
        (Strung(wire=HT, span_m=2.4, tension_n=900), -30, 1253),
        (Strung(wire=HT, span_m=2.4, tension_n=900), 30, 547),
        (Strung(wire=SOFT, span_m=1.8, tension_n=200), -30, 426),
        (Strung(wire=SOFT, span_m=1.8, tension_n=200), 30, 11),
    ],
)
def test_cold_tightens_and_heat_slackens_as_worked(strung, warmer_c, tension_n):
    load = Load(per_metre_n=strung.wire.weight_n_m, warmer_c=warmer_c)

    assert loaded_tension_n(strung, load) == pytest.approx(tension_n, abs=0.6)


def test_spring_softens_the_whole_run_as_worked():
    strung = post_and_wire(900, spring_n_per_m=20_000, run_m=20)

    assert strung.stiffness_n == pytest.approx(284_205, abs=1)
    assert strung.stiffness_n * HT.expansion_per_c == pytest.approx(3.41, abs=0.005)


def test_wire_gauge_board_multiplies_its_pull_by_twenty():
    # "Wire tension", Iowa vineyard note, 2014: nails 40 in apart, ½ in off the line; metric twin 1 m and 12.5 mm.
    assert tension_from_pull_n(pull_n=10, span_mm=40 * 25.4, moved_mm=25.4 / 2) == pytest.approx(200)
    assert tension_from_pull_n(pull_n=10) == pytest.approx(200)


@pytest.mark.parametrize(("gust", "pascal"), [(15, 138), (20, 245), (25, 383), (30, 552), (35, 751)])
def test_wind_pressure_agrees_with_its_table(gust, pascal):
    assert wind_pressure_pa(gust) == pytest.approx(pascal, abs=0.6)


def test_wind_pressure_agrees_with_the_american_formula():
    # ASCE 7: 0.00256·V² psf, V in mph; 1 psf = 47.88 Pa, 1 mph = 0.44704 m/s.
    assert wind_pressure_pa(70 * 0.44704) == pytest.approx(0.00256 * 70**2 * 47.88, rel=0.002)


def test_ice_of_a_centimetre_weighs_as_worked():
    assert ice_kg_m(thickness_mm=10, diameter_mm=2.5) == pytest.approx(0.353, abs=5e-4)
    # A ring of ice: 900 kg/m³ on the area between the wire and the outside.
    ring = pi / 4 * (0.0225**2 - 0.0025**2)
    assert ice_kg_m(thickness_mm=10, diameter_mm=2.5) == pytest.approx(900 * ring)


def test_load_off_the_middle_follows_the_published_formula():
    # d = P·x·(L−x)/(H·L): a third of the way along, 8/9 of the sag at mid-span.
    middle = point_sag_m(point_n=300, span_m=3, tension_n=900)
    third = point_sag_m(point_n=300, span_m=3, tension_n=900, at_m=1)

    assert third / middle == pytest.approx(8 / 9)
