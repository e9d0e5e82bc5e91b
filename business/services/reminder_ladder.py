"""Set up the ladder of payment reminders, and leave somebody in peace."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from django.db import transaction

from business import clock
from business.errors import AlreadyDone, BadInput, Fault
from business.models import Client, Invoice, ReminderHold, ReminderLadder, ReminderStep, Staff
from business.queries.late_money import our_ladder, our_steps
from business.queries.profile import our_profile
from business.services.audit import note, values_of
from business.services.rows import put_values, save_checked


@transaction.atomic
def save_ladder(*, steps: Sequence[Mapping[str, Any]], **values: Any) -> ReminderLadder:
    """Store how reminders go out and all their steps, numbered in the order of their days.

    Steps taken before keep their own words; an invoice goes on at the next number.

    Raises:
        BadInput: no step, two on one day, a step after the one that asks a person, or a value the table refuses.
    """
    ladder = our_ladder()
    before = _as_told(ladder, our_steps())
    put_values(ladder, values)
    save_checked(ladder, where="payment reminders")
    wanted = sorted(steps, key=lambda step: step["days_late"])
    if faults := _wrong_order(wanted):
        raise BadInput(faults)
    ReminderStep.objects.all().delete()
    rows = [ReminderStep(number=number, **step) for number, step in enumerate(wanted, start=1)]
    for row in rows:
        save_checked(row, where=f"step {row.number}")
    note("payment reminders changed", "reminders:1", before=before, after=_as_told(ladder, rows), has_money=True)
    return ladder


@transaction.atomic
def hold(
    *,
    client: Client,
    reason: str,
    kind: str = ReminderHold.Kind.HELD,
    invoice: Invoice | None = None,
    until: date | None = None,
    by: Staff | None = None,
) -> ReminderHold:
    """Send no reminder of an invoice, or of anything of a client, with a reason. An older hold of the same is replaced.

    Raises:
        BadInput: no reason, somebody else's invoice, or a last day that is over.
    """
    Client.objects.select_for_update().get(pk=client.pk)
    if invoice is not None and invoice.client_id != client.pk:
        raise BadInput([Fault(f"invoice {invoice.number}", "is another client's", "choose one of theirs")])
    if not reason.strip():
        raise BadInput([Fault("reason", "is empty", "say why no reminder is sent")])
    if until is not None and until < clock.today(our_profile().time_zone):
        raise BadInput([Fault("until", f"{until} is over", "choose a day to come, or leave it empty")])
    ReminderHold.objects.filter(client=client, invoice=invoice, lifted_at=None).update(
        lifted_at=clock.now(), lifted_by=by
    )
    row = ReminderHold(
        client=client, invoice=invoice, kind=kind, reason=reason.strip(), until=until, made_at=clock.now(), made_by=by
    )
    save_checked(row, where="hold")
    about = invoice.number if invoice else "everything"
    note("reminders held", f"client:{client.pk}", after={"of": about, "why": str(row)}, has_money=True, by=by)
    return row


@transaction.atomic
def lift(*, hold: ReminderHold, by: Staff | None = None) -> ReminderHold:
    """Let the ladder go on.

    Raises:
        AlreadyDone: it was lifted before.
    """
    row = ReminderHold.objects.select_for_update().get(pk=hold.pk)
    if row.lifted_at is not None:
        raise AlreadyDone([Fault(str(row), "was lifted before", "nothing is left to do")])
    row.lifted_at, row.lifted_by = clock.now(), by
    save_checked(row, only=["lifted_at", "lifted_by"])
    note("hold lifted", f"client:{row.client_id}", after={"of": str(row)}, has_money=True, by=by)
    return row


def _wrong_order(steps: Sequence[Mapping[str, Any]]) -> list[Fault]:
    if not steps:
        return [Fault("steps", "are empty", "keep at least one")]
    days = [step["days_late"] for step in steps]
    faults = []
    if len(set(days)) != len(days):
        faults.append(Fault("days after the due day", "two steps fall on one day", "give each its own day"))
    if any(step.get("is_for_a_person") for step in steps[:-1]):
        faults.append(Fault("a person decides", "comes before a letter", "make it the last step"))
    return faults


def _as_told(ladder: ReminderLadder, steps: Sequence[ReminderStep]) -> dict[str, Any]:
    told = {name: value for name, value in values_of(ladder).items() if name != "id"}
    return {**told, **{f"step {step.number}": f"{step.name}, {step.days_late} days" for step in steps}}
