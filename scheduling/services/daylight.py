"""The hours of light at a yard: no cut is made in the dark."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from gardens.climate import sun_times
from gardens.climate.values import Place
from scheduling.models import Crew
from scheduling.rounds.values import Span
from scheduling.services.placements import minute_of

TWILIGHT_MINUTES = 15
"""Work may begin so long before sunrise and go on so long after sunset: inside civil twilight, which lasts half an hour
and more at these latitudes. Source: house default."""


def daylight_of(crews: Sequence[Crew], first_day: date, last_day: date) -> dict[date, Span]:
    """The minutes of each day between which every crew has light; days without sunrise or sunset are left out.

    Yards lie near each other, so the light of the yard that has least of it counts for all.
    """
    places = {
        (round(crew.yard_latitude_deg, 1), round(crew.yard_longitude_deg, 1), crew.time_zone): crew for crew in crews
    }
    found: dict[date, Span] = {}
    for offset in range((last_day - first_day).days + 1):
        day = first_day + timedelta(days=offset)
        spans = [span for crew in places.values() if (span := _span(crew, day)) is not None]
        if spans:
            found[day] = (max(span[0] for span in spans), min(span[1] for span in spans))
    return found


def _span(crew: Crew, day: date) -> Span | None:
    place = Place(
        latitude_deg=crew.yard_latitude_deg,
        longitude_deg=crew.yard_longitude_deg,
        elevation_m=0.0,
        timezone=crew.time_zone,
    )
    sun = sun_times(place, day)
    if sun.sunrise is None or sun.sunset is None or sun.sunset < sun.sunrise:
        return None
    rise, fall = minute_of(sun.sunrise.time()), minute_of(sun.sunset.time())
    return max(0, rise - TWILIGHT_MINUTES), min(24 * 60 - 1, fall + TWILIGHT_MINUTES)
