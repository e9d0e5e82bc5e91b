"""Wire sizes, masses and breaking loads against published tables."""

from __future__ import annotations

import pytest

from gardens.supports import gauge_mm, wire
from gardens.supports.corrosion import G_M2_PER_OZ_FT2, coat_um, coat_years

# Screen Technology Group, "Comparative gauge / decimal wire diameters", 2001; Rowlett, University of North Carolina.
# [mm], to the two decimals printed in wire tables.
PUBLISHED_MM = [
    ("washburn_moen", 8, 4.11),
    ("washburn_moen", 9, 3.77),
    ("washburn_moen", 10, 3.43),
    ("washburn_moen", 12, 2.68),
    ("washburn_moen", 14, 2.03),
    ("washburn_moen", 16, 1.59),
    ("swg", 8, 4.06),
    ("swg", 10, 3.25),
    ("swg", 12, 2.64),
    ("swg", 13, 2.34),
    ("swg", 14, 2.03),
    ("swg", 16, 1.63),
    ("bwg", 8, 4.19),
    ("bwg", 9, 3.76),
    ("bwg", 12, 2.77),
    ("bwg", 14, 2.11),
    ("bwg", 16, 1.65),
]

# Conversion table of AWG numbers [mm] after ASTM B258; the last digit is cut, not rounded, in some of its rows.
PUBLISHED_AWG_MM = [
    (10, 2.588),
    (11, 2.305),
    (12, 2.053),
    (13, 1.828),
    (14, 1.628),
    (15, 1.450),
    (16, 1.291),
    (17, 1.150),
    (18, 1.024),
    (19, 0.912),
    (20, 0.812),
]


@pytest.mark.parametrize(("system", "number", "published"), PUBLISHED_MM)
def test_gauge_sizes_agree_with_the_published_table(system, number, published):
    assert gauge_mm(number, system) == pytest.approx(published, abs=0.0051)


@pytest.mark.parametrize(("number", "published"), PUBLISHED_AWG_MM)
def test_awg_series_agrees_with_its_published_table(number, published):
    assert gauge_mm(number, "awg") == pytest.approx(published, abs=0.0011)


def test_awg_series_is_anchored_at_its_largest_size():
    # ASTM B258: No. 0 is 0.3249 in.
    assert gauge_mm(0, "awg") / 25.4 == pytest.approx(0.3249, abs=5e-5)


def test_half_gauge_fence_wire_has_its_listed_size():
    # ASTM A641/A641M-09a(2014): .099 in listed for zinc-coated fence wire of 12½ gauge.
    assert gauge_mm(12.5, "washburn_moen") == pytest.approx(0.099 * 25.4)


def test_same_number_names_much_thinner_electrical_wire():
    # Area of 14 SWG over 14 AWG, calculated from the two tables: (2.032/1.628)² = 1.56.
    assert (gauge_mm(14, "swg") / gauge_mm(14, "awg")) ** 2 == pytest.approx(1.56, abs=0.005)


# Calculated table of the trade (A = πd²/4, 7850 kg/m³): d, mm², g/m, metres in 25 kg, E·A·α in N/°C.
SIZES = [
    (1.60, 2.011, 15.78, 1584, 4.83),
    (2.00, 3.142, 24.66, 1014, 7.54),
    (2.50, 4.909, 38.53, 649, 11.78),
    (2.65, 5.515, 43.30, 577, 13.24),
    (3.15, 7.793, 61.18, 409, 18.70),
    (3.77, 11.163, 87.63, 285, 26.79),
    (4.00, 12.566, 98.65, 253, 30.16),
]


@pytest.mark.parametrize(("diameter", "area", "grams", "metres", "thermal"), SIZES)
def test_mass_and_thermal_pull_follow_from_the_size(diameter, area, grams, metres, thermal):
    soft = wire(diameter)

    assert soft.area_mm2 == pytest.approx(area, abs=6e-4)
    assert soft.mass_kg_m * 1000 == pytest.approx(grams, abs=0.006)
    assert 25 / soft.mass_kg_m == pytest.approx(metres, abs=0.6)
    assert soft.thermal_n_per_c == pytest.approx(thermal, abs=0.006)


@pytest.mark.parametrize(("diameter", "metres"), [(2.50, 648), (4.00, 253)])
def test_coil_of_25_kg_is_as_long_as_advertised(diameter, metres):
    # The Press, Christchurch, 18 April 1980, trade notice on galvanised wire.
    assert 25 / wire(diameter).mass_kg_m == pytest.approx(metres, rel=0.002)


@pytest.mark.parametrize(
    ("strength", "diameter", "breaks_at"),
    [
        (350, 1.60, 704),
        (350, 2.00, 1100),
        (550, 2.50, 2700),
        (515, 3.15, 4013),
        (1000, 2.50, 4909),
        (1379, 4.00, 17329),
    ],
)
def test_breaking_load_is_strength_times_area(strength, diameter, breaks_at):
    assert wire(diameter, strength_mpa=strength).breaking_n == pytest.approx(breaks_at, rel=5e-4)


def test_fence_wire_of_200_ksi_breaks_where_the_bulletin_says():
    # Bucklin, Kunkle, Sand, University of Florida CIR851: 200 ksi, 12½ ga; 200,000 psi × .0077 in² = 1,540 lbf, printed
    # rounded up as 1,600. Ordinary wire of that size breaks below 550 lbf.
    fence = wire(gauge_mm(12.5, "washburn_moen"), grade="high_tensile_200ksi")
    ordinary = wire(gauge_mm(12.5, "washburn_moen"), grade="soft_galvanised")

    assert fence.breaking_n / 4.44822 == pytest.approx(1540, rel=0.002)
    assert ordinary.breaking_n / 4.44822 < 550


def test_third_of_breaking_load_at_a_grip_is_as_worked():
    # Worked example (calculated): 2.5 mm, 1200 MPa, joint factor 0.9.
    strung = wire(2.5, grade="high_tensile", strength_mpa=1200)

    assert strung.breaking_n == pytest.approx(5890, abs=1)
    assert strung.breaking_n * 0.9 / 3 == pytest.approx(1767, abs=0.5)


def test_heavy_zinc_coat_lasts_decades_in_town_air():
    # ASTM A641 class 3: 0.80 oz/ft² = 244 g/m² near 2.5 mm; ISO 9223 C3 takes 0.7 to 2.1 µm a year (from memory).
    assert pytest.approx(244, abs=0.2) == 0.80 * G_M2_PER_OZ_FT2
    assert coat_um(244) == pytest.approx(34.2, abs=0.05)
    assert coat_years("class_3", 2.5, "town") == pytest.approx((16, 49), abs=0.4)
