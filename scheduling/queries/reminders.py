"""What reminders are about."""

from __future__ import annotations

from datetime import date, timedelta

from django.db.models import QuerySet

from business.models import Invoice, Staff
from business.queries.invoices import overdue
from scheduling.models import Need, ReminderRule, Round, Visit
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
