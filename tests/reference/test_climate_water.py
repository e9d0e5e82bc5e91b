"""Reference evapotranspiration against the worked examples of FAO Irrigation and Drainage Paper 56.

Allen, Pereira, Raes & Smith (1998). Example 8 gives the radiation above the air; examples 18 and 20 give days whose
full Penman–Monteith value is printed, which Hargreaves meets within a tenth.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from gardens.climate import reference_evapotranspiration
from gardens.climate.water import extraterrestrial_radiation


def test_radiation_of_example_8():
    # 3 September (day 246) at 20° S: 32.2 MJ m⁻² day⁻¹.
    assert extraterrestrial_radiation(-20.0, np.array([246.0]))[0] == pytest.approx(32.2, abs=0.05)


@pytest.mark.parametrize(
    ("latitude", "day", "low", "high", "hargreaves", "penman_monteith"),
    [(50.8, 187.0, 12.3, 21.5, 4.058, 3.88), (45.717, 196.0, 14.8, 26.6, 5.03, 4.56)],
    ids=["example 18, Brussels", "example 20, Lyon"],
)
def test_hargreaves_meets_the_full_equation(latitude, day, low, high, hargreaves, penman_monteith):
    found = reference_evapotranspiration(latitude, np.array([day]), np.array([low]), np.array([high]))[0]
    assert found == pytest.approx(hargreaves, abs=0.01)
    assert found == pytest.approx(penman_monteith, rel=0.11)


def test_radiation_at_the_corners_of_the_globe():
    # From the geometry alone: with the sun over the equator its noon rays give 24·60·0.0820/π = 37.59 MJ a day there;
    # at the pole the midsummer sun stays up and gives 24·60·0.0820·sin 23.44° less the distance of July.
    noon_over_equator = extraterrestrial_radiation(0.0, np.array([80.0]))[0]
    assert noon_over_equator == pytest.approx(24 * 60 * 0.0820 / math.pi, rel=0.01)
    midsummer_at_pole = extraterrestrial_radiation(89.9, np.array([172.0]))[0]
    expected = 24 * 60 * 0.0820 * math.sin(math.radians(23.44)) * 0.967
    assert midsummer_at_pole == pytest.approx(expected, rel=0.01)
    assert extraterrestrial_radiation(80.0, np.array([355.0]))[0] == 0.0
