"""Many places reckoned together get what each would get alone by the plain formulas."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from gardens.climate import MonthlyNormals, Season, at_height, reckon_together, season_weather
from gardens.climate.chill import chill_portions
from gardens.climate.heat import growing_degree_hours, linear_degree_hours
from gardens.climate.hourly import hourly_temperatures
from gardens.climate.normals import possible_years
from gardens.climate.values import DailyWeather

NORMALS = MonthlyNormals(
    tmin_c=(2.7, 2.8, 4.1, 6.1, 9.1, 12.1, 14.2, 14.1, 11.6, 8.8, 5.3, 3.1),
    tmax_c=(8.4, 9.0, 11.7, 15.0, 18.4, 21.6, 23.9, 23.4, 20.2, 15.8, 11.5, 8.8),
)


def measured_days(count: int) -> tuple[DailyWeather, ...]:
    low, high = possible_years(NORMALS, date(2026, 8, 1), count)
    return tuple(
        DailyWeather(
            on=date(2026, 8, 1) + timedelta(days=step), tmin_c=float(low[3, step]), tmax_c=float(high[3, step])
        )
        for step in range(count)
    )


def places(days: tuple[DailyWeather, ...], *, is_southern: bool = False):
    sign = -1 if is_southern else 1
    return [
        season_weather(sign * latitude, Season(2027, is_southern), days, at_height(NORMALS, from_m=0, to_m=height))
        for latitude, height in ((51.5, 0), (44.0, 375), (51.5, 250), (58.0, 25), (50.0, 75), (47.0, 600))
    ]


@pytest.mark.parametrize("is_southern", [False, True], ids=["north", "south"])
@pytest.mark.parametrize("known", [0, 200])
def test_sums_of_many_places_are_those_of_the_formulas(known, is_southern):
    many = places(measured_days(known) if known and not is_southern else (), is_southern=is_southern)
    for years in many:
        vars(years)["_memory"].clear()
    reckon_together(many, ("chill", "winter", "heat", 4.7))
    for years in many:
        begin, warm = years.index(years.season.chill_from), years.index(years.season.heat_from)
        span = slice(begin - 1, begin + 351)
        row = years.tmin_c.shape[0] // 2
        hours = hourly_temperatures(
            years.latitude_deg, years.day_of_year[span], years.tmin_c[row, span], years.tmax_c[row, span]
        )[1:-1]
        chill = chill_portions(hours[:280].reshape(-1)).reshape(-1, 24).sum(axis=1).cumsum()
        np.testing.assert_allclose(years.chill_sum[row, begin : begin + 280], chill, atol=1e-6)
        heat = growing_degree_hours(hours[warm - begin :]).sum(axis=1).cumsum()
        np.testing.assert_allclose(years.heat_sum[row, warm : begin + 350], heat, atol=1e-6)
        cold = years.index(years.season.on(11, 1))
        over = linear_degree_hours(hours, 4.7).sum(axis=1)[cold - begin :]
        np.testing.assert_allclose(years.degree_hours(4.7)[row, cold : begin + 350], over, atol=1e-6)


def test_a_place_alone_gets_what_it_gets_in_company():
    alone, company = places(()), places(())
    vars(alone[0])["_memory"].clear()
    by_itself = alone[0].chill_sum.copy(), alone[0].heat_sum.copy()
    for years in company:
        vars(years)["_memory"].clear()
    reckon_together(company)
    np.testing.assert_allclose(company[0].chill_sum, by_itself[0], atol=1e-6)
    np.testing.assert_allclose(company[0].heat_sum, by_itself[1], atol=1e-6)
