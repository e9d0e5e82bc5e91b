"""What reminders are about."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, timedelta

from django.db.models import Exists, OuterRef, Q, QuerySet

from business.models import Agreement, Invoice, Licence, Message, Staff
from business.queries.invoices import overdue
from gardens.models import Site
from gardens.models.weather import DailyWeather
from scheduling.models import HandedOut, Need, Phone, ReminderRule, Round, Visit
from scheduling.models.reminders import HABITS

TOLD = (Visit.State.PLANNED, Visit.State.CONFIRMED)


def reminder_rules() -> dict[str, ReminderRule]:
    """Every kind with its rule: the stored one, else its usual habits."""
    stored = {rule.kind: rule for rule in ReminderRule.objects.all()}
    return {kind: stored.get(kind) or habit.rule(kind) for kind, habit in HABITS.items()}


def visits_near(day: date, days: int) -> QuerySet[Visit]:
    """Visits whose garden may have one of the next days now: its calendar may be a day off from that of UTC."""
    return (
        Visit.objects.filter(state__in=TOLD, on__range=(day, day + timedelta(days=days + 1)))
        .select_related("site__client", "round__crew")
        .order_by("pk")
    )


def rounds_near(day: date, days: int) -> QuerySet[Round]:
    return (
        Round.objects.filter(on__range=(day, day + timedelta(days=days + 1)), visits__state__in=TOLD)
        .select_related("crew")
        .distinct()
        .order_by("pk")
    )


def crew_mail_addresses(crew_id: int) -> QuerySet[Staff]:
    """The people of a crew who may sign in and have a mail address."""
    return Staff.objects.filter(crew_place__crew=crew_id, is_active=True).exclude(email="").order_by("pk")


def office_mail_addresses(*, must_see_prices: bool) -> QuerySet[Staff]:
    people = Staff.objects.filter(is_active=True, role__in=Staff.OFFICE_ROLES).exclude(email="")
    return people.filter(sees_prices=True) if must_see_prices else people


def ties_due(today: date, days: int) -> QuerySet[Need]:
    """Open needs to take ties off whose window has opened and ends soon, or is past its best."""
    return (
        Need.objects.filter(
            kind="remove_ties",
            state=Need.State.OPEN,
            opens__lte=today,
            closes__range=(today, today + timedelta(days=days)),
        )
        .select_related("site", "tree")
        .order_by("closes", "site__name", "pk")
    )


def late_invoices(today: date, days: int) -> QuerySet[Invoice]:
    """Invoices whose day of payment is at least so many days past."""
    late = overdue(Invoice.objects.all(), on=today - timedelta(days=max(days - 1, 0)))
    return late.select_related("client").order_by("due_on", "pk")


def reminders_sent_since(moment: datetime) -> list[tuple[int, date, Message]]:
    """Reminders of visits that went, may have gone, or wait: the visit, the day it was told for, the message."""
    states = [Message.State.HANDED_OVER, Message.State.NOT_SURE, Message.State.WAITING]
    rows = Message.objects.filter(
        kind=ReminderRule.Kind.VISIT, key__startswith="reminder:visit:", created_at__gte=moment, state__in=states
    ).order_by("pk")
    found = []
    for row in rows:
        _, _, visit, day = row.key.split("#")[0].split(":")
        found.append((int(visit), date.fromisoformat(day), row))
    return found


def visits_told(ids: Iterable[int]) -> dict[int, Visit]:
    return Visit.objects.select_related("site__client", "round__crew").in_bulk(list(ids))


def frosty_forecasts(today: date, days: int, at_most_c: float) -> dict[int, list[date]]:
    """Stations for which a night as cold as that is forecast, with the nights."""
    rows = DailyWeather.objects.filter(
        is_forecast=True, on__range=(today, today + timedelta(days=days)), tmin_c__lte=at_most_c
    )
    found: dict[int, list[date]] = {}
    for station, night in rows.order_by("on").values_list("station", "on"):
        found.setdefault(station, []).append(night)
    return found


def sites_of_stations(stations: Iterable[int]) -> QuerySet[Site]:
    """Gardens with living trees whose weather comes from these stations."""
    return (
        Site.objects.filter(station__in=list(stations), trees__removed_on=None)
        .select_related("client", "station")
        .distinct()
        .order_by("name", "pk")
    )


def silent_phones(now: datetime, today: date, days: int) -> QuerySet[Phone]:
    """Phones not heard of for so many days that hold unsent work, or a round of a past day that nobody closed."""
    past = HandedOut.objects.filter(
        phone=OuterRef("pk"),
        visit__on__lt=today,
        visit__on__gte=today - timedelta(days=30),
        visit__state__in=[Visit.State.PLANNED, Visit.State.CONFIRMED, Visit.State.STARTED],
    )
    return (
        Phone.objects.filter(lost_at=None, last_seen_at__lte=now - timedelta(days=days), staff__is_active=True)
        .filter(Q(waiting__gt=0) | Q(photos_waiting__gt=0) | Exists(past))
        .select_related("staff")
        .order_by("last_seen_at", "pk")
    )


def licences_ending(today: date, days: int) -> QuerySet[Licence]:
    """Those that end soon, and those that have ended and are still needed."""
    return (
        Licence.objects.filter(is_dropped=False, valid_until__lte=today + timedelta(days=days))
        .exclude(staff__is_active=False)
        .select_related("staff")
    )


def agreements_ending(today: date, days: int) -> QuerySet[Agreement]:
    """Agreements with a last day near, of clients who stay and have none that follows."""
    next_one = Agreement.objects.filter(client=OuterRef("client"), valid_from__gt=OuterRef("valid_from"))
    return (
        Agreement.objects.filter(valid_until__range=(today, today + timedelta(days=days)), client__is_active=True)
        .exclude(Exists(next_one))
        .select_related("client")
        .order_by("valid_until", "client__name")
    )
