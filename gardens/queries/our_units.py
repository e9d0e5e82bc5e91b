"""The units our own pages speak."""

from __future__ import annotations

from business.queries.profile import our_profile
from gardens.units import Units


def our_units() -> Units:
    return "imperial" if our_profile().units == "imperial" else "metric"
