"""Crews with their people, and the days before them."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Prefetch, QuerySet

from business.models import Staff
from scheduling.models import Crew, CrewMember, Shift, Visit

FIELD_ROLES = (Staff.Role.CREW_LEAD, Staff.Role.CREW)


def with_people(crews: QuerySet[Crew]) -> QuerySet[Crew]:
    people = CrewMember.objects.select_related("staff").order_by("-is_lead", "staff__name")
    return crews.prefetch_related(Prefetch("members", queryset=people)).order_by("-is_active", "name")


def people_for_crews() -> list[tuple[int, str]]:
    """Who may go out with a crew: whoever may sign in, the people of the field first."""
    people = Staff.objects.filter(is_active=True).exclude(role=Staff.Role.ACCOUNTANT).order_by("name")
    field = [(person.pk, person.name) for person in people if person.role in FIELD_ROLES]
    return field + [(person.pk, person.name) for person in people if person.role not in FIELD_ROLES]


@dataclass(frozen=True, kw_only=True)
class CrewDay:
    """A day of a crew: its shift, if one is laid, and how many visits stand on it."""

    on: date
    shift: Shift | None
    visits: int

    @property
    def is_stranded(self) -> bool:
        """Visits stand on a day on which nobody goes out."""
        return self.visits > 0 and (self.shift is None or self.shift.is_off)


def days_ahead(crew: Crew, first: date, last: date) -> list[list[CrewDay]]:
    """Weeks of days, Monday first."""
    shifts = {shift.on: shift for shift in Shift.objects.filter(crew=crew, on__range=(first, last))}
    standing = Visit.objects.filter(round__crew=crew, on__range=(first, last)).exclude(state=Visit.State.CALLED_OFF)
    visits = Counter(standing.values_list("on", flat=True))
    days = [first + timedelta(days=offset) for offset in range((last - first).days + 1)]
    rows = [CrewDay(on=day, shift=shifts.get(day), visits=visits[day]) for day in days]
    return [rows[start : start + 7] for start in range(0, len(rows), 7)]
