"""Crews and the days they work."""

from __future__ import annotations

from datetime import date, timedelta

import holidays
from django.db import transaction

from business.queries.profile import our_profile
from scheduling.models import Crew, Shift


@transaction.atomic
def lay_shifts(*, crew: Crew, first_day: date, last_day: date) -> int:
    """Give a crew its usual shifts in a span of days, leaving days that have one already. Public holidays are off.

    Returns how many shifts were added.
    """
    taken = set(Shift.objects.filter(crew=crew, on__range=(first_day, last_day)).values_list("on", flat=True))
    public = public_holidays(first_day, last_day)
    fresh = []
    for offset in range((last_day - first_day).days + 1):
        day = first_day + timedelta(days=offset)
        if day in taken or crew.working_week[day.weekday()] == "0":
            continue
        fresh.append(
            Shift(
                crew=crew,
                on=day,
                starts=crew.starts,
                ends=crew.ends,
                break_minutes=crew.break_minutes,
                is_off=day in public,
                reason=public.get(day, ""),
            )
        )
    Shift.objects.bulk_create(fresh)
    return len(fresh)


def public_holidays(first_day: date, last_day: date) -> dict[date, str]:
    """Holidays of the business's country; none where the library does not know the country."""
    country = our_profile().country
    if country not in holidays.list_supported_countries():
        return {}
    years = range(first_day.year, last_day.year + 1)
    return dict(holidays.country_holidays(country, years=years).items())
