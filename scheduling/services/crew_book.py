"""Crews and their days, as the office keeps them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django.db import transaction

from business.errors import BadInput, Fault, Stale
from business.models import Staff
from business.services.audit import note, values_of
from business.services.codes import chosen_code, version_of_row
from business.services.rows import put_values, save_checked
from scheduling.models import Crew, CrewMember, Shift, Visit

STANDING = (Visit.State.PLANNED, Visit.State.CONFIRMED)


@dataclass(frozen=True, kw_only=True)
class CrewSaid:
    """What a form said of a crew: its columns, the ids of its people, who leads, and the version that was shown."""

    values: dict[str, Any] = field(default_factory=dict)
    members: Sequence[int] = ()
    lead: int | None = None
    seen: str = ""


def version_of(crew: Crew) -> str:
    """Differs after every change of the crew or its people."""
    people = [(place.staff_id, place.is_lead) for place in crew.members.order_by("staff_id")]
    return version_of_row(crew, people)


@transaction.atomic
def save_crew(*, said: CrewSaid, crew: Crew | None = None) -> Crew:
    """Store a new crew, or change one, with its people.

    Raises:
        BadInput: a law of the table is broken, the code is taken, or somebody goes out with another crew.
        Stale: somebody changed the crew since the form was shown.
    """
    row = Crew.objects.select_for_update().get(pk=crew.pk) if crew is not None else Crew()
    if crew is not None and said.seen and said.seen != version_of(row):
        raise Stale([Fault(row.name, "was changed by somebody else meanwhile", "look again, then change it")])
    if faults := _taken(said.members, row):
        raise BadInput(faults)
    before = _told(row) if crew is not None else {}
    values = dict(said.values)
    values["code"] = _code(values, row)
    put_values(row, values)
    save_checked(row, where="crew")
    _man(row, said)
    note("crew changed" if before else "crew added", f"crew:{row.pk}", before=before, after=_told(row))
    return row


@transaction.atomic
def change_day(*, crew: Crew, on: date, **values: Any) -> tuple[Shift, int]:
    """Set one day of a crew; also says how many visits stand on it with nobody to do them now.

    Raises:
        BadInput: a law of the table is broken.
    """
    shift = Shift.objects.select_for_update().filter(crew=crew, on=on).first() or Shift(crew=crew, on=on)
    before = values_of(shift) if shift.pk else {}
    put_values(shift, values)
    save_checked(shift, where="day")
    note("day changed", f"crew:{crew.pk}", before=before, after=values_of(shift))
    if not shift.is_off:
        return shift, 0
    return shift, Visit.objects.filter(round__crew=crew, on=on, state__in=STANDING).count()


def usual_day(crew: Crew, on: date) -> Shift:
    """The day as it stands, or as it would usually be; nothing is stored."""
    found = Shift.objects.filter(crew=crew, on=on).first()
    return found or Shift(
        crew=crew,
        on=on,
        starts=crew.starts,
        ends=crew.ends,
        break_minutes=crew.break_minutes,
        is_off=crew.working_week[on.weekday()] == "0",
    )


def _taken(members: Sequence[int], crew: Crew) -> list[Fault]:
    places = CrewMember.objects.filter(staff__in=members).exclude(crew=crew.pk).select_related("staff", "crew")
    return [
        Fault("crew, people", f"{place.staff.name} goes out with {place.crew.name}", "take the name out there first")
        for place in places
    ]


def _man(crew: Crew, said: CrewSaid) -> None:
    """Make the people of a crew exactly these."""
    people = Staff.objects.filter(pk__in=said.members)
    crew.members.exclude(staff__in=people).delete()
    # One lead a crew is a law of the table: the old one steps down before the new one steps up.
    crew.members.update(is_lead=False)
    kept = set(crew.members.values_list("staff_id", flat=True))
    CrewMember.objects.bulk_create(CrewMember(crew=crew, staff=person) for person in people if person.pk not in kept)
    if said.lead is not None:
        crew.members.filter(staff=said.lead).update(is_lead=True)


def _told(crew: Crew) -> dict[str, Any]:
    places = crew.members.select_related("staff").order_by("staff__name")
    return {
        **values_of(crew),
        "people": [place.staff.name for place in places],
        "lead": next((place.staff.name for place in places if place.is_lead), ""),
    }


def _code(values: dict[str, Any], crew: Crew) -> str:
    taken = set(Crew.objects.exclude(pk=crew.pk).values_list("code", flat=True))
    return chosen_code(str(values.get("code") or ""), crew.code, str(values.get("name", "")), taken, longest=20)
