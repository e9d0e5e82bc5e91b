"""The calendar address of a crew: secret, without an account, ended by raising the crew's serial."""

from __future__ import annotations

from datetime import timedelta

from django.conf import settings
from django.core import signing
from django.db.models import F, Q
from django.urls import reverse

from scheduling.documents.calendars import crew_calendar
from scheduling.models import Crew, Visit
from scheduling.services.scenes import our_today

SALT = "crew-calendar"
DAYS_BACK, DAYS_AHEAD = 30, 200


def calendar_address(crew: Crew) -> str:
    """The full address a phone subscribes to."""
    token = signing.dumps([crew.pk, crew.calendar_serial], salt=SALT)
    return f"{settings.SITE_ADDRESS}{reverse('crew-calendar', args=[token])}"


def crew_behind(token: str) -> Crew | None:
    """The crew of an address; None if it is forged or was ended."""
    try:
        crew_id, serial = signing.loads(token, salt=SALT)
    except (signing.BadSignature, ValueError, TypeError):
        return None
    return Crew.objects.filter(pk=crew_id, calendar_serial=serial, is_active=True).first()


def end_calendar_address(*, crew_id: int) -> Crew:
    """Every address given out for the crew stops working; a new one takes its place."""
    Crew.objects.filter(pk=crew_id).update(calendar_serial=F("calendar_serial") + 1)
    return Crew.objects.get(pk=crew_id)


def calendar_of(crew: Crew) -> bytes:
    """The crew's visits of the last month and the months to come."""
    today = our_today()
    visits = (
        Visit.objects.filter(on__range=(today - timedelta(days=DAYS_BACK), today + timedelta(days=DAYS_AHEAD)))
        .filter(Q(round__crew=crew, state__in=Visit.ON_A_ROUND) | Q(called_off_crew=crew, state=Visit.State.CALLED_OFF))
        .select_related("site", "round__crew")
        .order_by("on", "position", "pk")
    )
    return crew_calendar(crew, list(visits))
