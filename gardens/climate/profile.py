"""The climate profile of a site: which of the trade's three sets of pruning rules holds there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, get_args

from gardens.climate.estimate import estimated_normals
from gardens.climate.values import MonthlyNormals, Place

Profile = Literal["maritime", "continental_cold", "mediterranean"]
PROFILES: tuple[str, ...] = get_args(Profile)

HARD_WINTER_C = -10.0
COLD_NIGHTS_C, GREAT_SWING_K = -2.0, 21.0
DRY_MONTH_MM, DRY_TO_WET = 40.0, 1 / 3
DRIEST_OF_DRY_LAND_MM, SUMMER_OF_DRY_LAND_MM = 25.0, 95.0
MILD_WINTER_C, WARM_WINTER_C, HOT_SUMMER_C = 3.0, 6.5, 22.0
SOURCE = (
    "species rules: dry summer and wet winter make mediterranean, a coldest month with a mean minimum below -10 °C makes "
    "continental, all else maritime; dry summer as in Köppen's Cs; the swing of 21 K and the warmth: program default"
)


@dataclass(frozen=True, kw_only=True)
class ProfileFinding:
    """A profile and the figures that made it."""

    profile: Profile
    why: str
    source: str = SOURCE


def climate_profile(place: Place, normals: MonthlyNormals | None = None) -> ProfileFinding:
    """The climate profile of a place from its normals; guessed normals and rain fill what is not given.

    `continental_cold`: the coldest month's mean minimum is below −10 °C, or below −2 °C with at least 21 K between the
    coldest and the warmest month (peaches are pruned in late winter there, not in summer).
    `mediterranean`: the driest month of summer has less than 40 mm and less than a third of the wettest of winter, in
    a mild winter with a hot summer or a warm winter; dry inland plains with hot summers are counted here too. The cool, dry-summer coasts further poleward stay `maritime`.
    """
    known = normals or estimated_normals(place)
    rain = known.rain_mm or estimated_normals(place).rain_mm
    means = [(low + high) / 2 for low, high in zip(known.tmin_c, known.tmax_c, strict=True)]
    coldest, warmest, nights = min(means), max(means), min(known.tmin_c)
    if nights < HARD_WINTER_C:
        return ProfileFinding(profile="continental_cold", why=f"nights of {nights:.0f} °C in the coldest month")
    if nights <= COLD_NIGHTS_C and warmest - coldest >= GREAT_SWING_K:
        why = f"nights of {nights:.0f} °C in winter and {warmest - coldest:.0f} K between winter and summer"
        return ProfileFinding(profile="continental_cold", why=why)
    summer, winter = _summer_and_winter(rain, is_southern=place.is_southern)
    driest, wettest = min(summer), max(winter)
    is_dry_summer = driest < DRY_MONTH_MM and driest < wettest * DRY_TO_WET
    is_dry_land = driest < DRIEST_OF_DRY_LAND_MM and sum(summer) < SUMMER_OF_DRY_LAND_MM and warmest >= HOT_SUMMER_C
    is_warm = coldest >= WARM_WINTER_C or (coldest >= MILD_WINTER_C and warmest >= HOT_SUMMER_C)
    if (is_dry_summer or is_dry_land) and is_warm:
        why = f"{driest:.0f} mm in the driest month of summer, {wettest:.0f} mm in the wettest of winter"
        return ProfileFinding(profile="mediterranean", why=why)
    return ProfileFinding(profile="maritime", why=f"coldest month {coldest:.0f} °C, warmest {warmest:.0f} °C")


def _summer_and_winter(rain: Sequence[float], *, is_southern: bool) -> tuple[Sequence[float], Sequence[float]]:
    """Rain of the three summer and of the three winter months. [mm]"""
    june_to_august, december_to_february = rain[5:8], (rain[11], rain[0], rain[1])
    return (december_to_february, june_to_august) if is_southern else (june_to_august, december_to_february)
