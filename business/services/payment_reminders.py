"""Ask again for late money, step by step, each step once.

take_step ──► PaymentReminder (the row is the decision) ──► job: paper, mail under a key of its own

A step is never taken for an invoice that is settled, held or disputed; the invoice's row is the gate, so that two
workers, or a worker and a person, take a step once. Paid between the decision and the job, nothing is sent.
"""

from __future__ import annotations

import logging
from datetime import datetime
from decimal import Decimal

from django.db import transaction

from business import clock
from business.documents.payment_reminders import filled, reminder_pdf
from business.documents.words import money_text
from business.errors import AlreadyDone, BadInput, Fault, Refusal
from business.jobs import later
from business.models import Charge, Invoice, Message, PaymentReminder, ReminderStep, Staff
from business.money.amounts import rounded
from business.queries.clients import contacts_of
from business.queries.invoices import UNSETTLED, charge_by_reference, charges_about
from business.queries.late_money import LateRow, interest_on, late_invoices, late_rows, our_ladder, reminders_of
from business.queries.profile import our_profile
from business.services.archive import Paper, archive
from business.services.audit import note
from business.services.billing import charge
from business.services.messages import queue_message
from business.services.rows import save_checked

log = logging.getLogger(__name__)

KIND = "payment_reminder"
WEEKEND = 5


def write_due_reminders(*, at: datetime | None = None) -> int:
    """Take every step that is due, where the business lets them go by themselves; how many were taken comes back.

    On working days and in the hours of the ladder only, by the business's own clock.
    """
    now = (at or clock.now()).astimezone(our_profile().time_zone)
    ladder = our_ladder()
    _wake_lost_jobs()
    if not ladder.sends_by_itself or now.weekday() >= WEEKEND or not ladder.from_hour <= now.hour < ladder.until_hour:
        return 0
    taken = 0
    for row in late_rows(late_invoices(on=now.date()), on=now.date()):
        if row.is_due and row.may_be_sent:
            try:
                take_step(invoice=row.invoice, at=now)
            except Refusal as refusal:
                log.warning("no reminder of invoice %s: %s", row.invoice.number, refusal)
            else:
                taken += 1
    return taken


@transaction.atomic
def take_step(*, invoice: Invoice, by: Staff | None = None, at: datetime | None = None) -> PaymentReminder:
    """Take the next step for a late invoice. A person may take it before its day, never past a hold.

    Raises:
        BadInput: it is not late, is held, or the next step is for a person.
        AlreadyDone: every step was taken, or one was taken today.
    """
    today = clock.today(our_profile().time_zone, at=at)
    Invoice.objects.select_for_update().get(pk=invoice.pk)
    late = late_invoices(on=today).filter(pk=invoice.pk)
    if not late:
        raise BadInput([Fault(f"invoice {invoice.number}", "is not late", "wait until its day has passed")])
    (row,) = late_rows(late, on=today)
    step = _step_to_take(row)
    if row.last is not None and row.last.made_on >= today:
        raise AlreadyDone([Fault(row.invoice.number, f"had its {row.last.name.lower()} today", "wait a few days")])
    reminder = PaymentReminder(
        invoice=row.invoice,
        step=step.number,
        name=step.name,
        text=step.text,
        made_on=today,
        fee=rounded(step.fee or Decimal(0), 3),
        channel=PaymentReminder.Channel.MAIL if _addresses(row.invoice) else PaymentReminder.Channel.POST,
        made_by=by,
        days_late=row.days_late,
        open_amount=row.invoice.open_amount,
    )
    _put_interest(reminder, names_interest=step.names_interest)
    save_checked(reminder, where="reminder")
    note(
        "payment reminder",
        f"client:{row.invoice.client_id}",
        after={"invoice": row.invoice.number, "step": step.name, "asked": reminder.asked},
        has_money=True,
        by=by,
    )
    later("business.tasks.send_payment_reminder", reminder_id=reminder.pk)
    return reminder


def send_reminder(*, reminder_id: int) -> PaymentReminder | None:
    """Write the paper of a step and queue its mails; run twice, it does nothing the second time.

    A reminder whose invoice was settled meanwhile is dropped: nothing of it left the house.
    """
    reminder = PaymentReminder.objects.select_related("invoice__client", "document").filter(pk=reminder_id).first()
    if reminder is None:
        return None
    if reminder.document is None:
        content = reminder_pdf(reminder)
        with transaction.atomic():
            invoice = Invoice.objects.select_for_update(of=("self",)).get(pk=reminder.invoice_id)
            reminder = (
                PaymentReminder.objects.select_for_update(of=("self",))
                .select_related("invoice__client")
                .get(pk=reminder_id)
            )
            if invoice.open_amount != reminder.open_amount and not _mailed(reminder):
                # Settled, in whole or in part, since the step was taken: the letter would say what is not so.
                reminder.delete()
                return None
            if reminder.document is None:
                name = f"{KIND.replace('_', '-')}-{invoice.number}-{reminder.step}.pdf"
                paper = Paper(kind=KIND, reference=_reference(reminder), file_name=name, content=content)
                reminder.document = archive(paper, client=reminder.invoice.client, by=reminder.made_by)
                save_checked(reminder, only=["document"])
                _queue_mails(reminder)
    return reminder


@transaction.atomic
def charge_late_claim(*, invoice: Invoice, by: Staff) -> list[Charge]:
    """The office decides to claim what lateness costs: interest until today, the fixed sum, the fees of reminders.

    The fixed sum and each fee become a charge once; of the interest, what was not charged before. They bear no tax
    (from memory: statutory interest is compensation, not a supply; ask your accountant).

    Raises:
        BadInput: the invoice is in another currency than the books.
        AlreadyDone: nothing is left to claim.
    """
    Invoice.objects.select_for_update().get(pk=invoice.pk)
    profile = our_profile()
    if invoice.currency != profile.currency:
        remedy = f"charge it by hand on a draft in {invoice.currency}"
        raise BadInput([Fault(f"invoice {invoice.number}", f"is in {invoice.currency}", remedy)])
    today = clock.today(profile.time_zone)
    about, made = f"late:invoice:{invoice.pk}", []
    claim = interest_on(invoice, on=today, profile=profile).claim
    wanted: list[tuple[str, str, Decimal]] = []
    if claim is not None:
        before = sum((row.amount for row in charges_about(f"{about}:interest:")), Decimal(0))
        rest = claim.interest - before
        wanted.append(
            (f"{about}:interest:{today}", f"Late interest on invoice {invoice.number} until {today:%-d %B %Y}", rest)
        )
        wanted.append((f"{about}:fixed", f"Fixed sum for late payment of invoice {invoice.number}", claim.fixed_sum))
    wanted += [
        (f"{about}:fee:{one.step}", f"{one.name} of invoice {invoice.number}", one.fee) for one in reminders_of(invoice)
    ]
    for reference, text, amount in wanted:
        if amount > 0 and charge_by_reference(reference) is None:
            made.append(
                charge(
                    client=invoice.client,
                    done_on=today,
                    text=text,
                    unit_price=amount,
                    reference=reference,
                    tax_treatment="outside",
                )
            )
    if not made:
        raise AlreadyDone([Fault(f"invoice {invoice.number}", "has nothing more to claim", "look under To charge")])
    after = {"invoice": invoice.number, "amount": sum(row.amount for row in made)}
    note("late claim charged", f"client:{invoice.client_id}", after=after, has_money=True, by=by)
    return made


def _step_to_take(row: LateRow) -> ReminderStep:
    number = row.invoice.number
    if row.hold is not None:
        words = f"is {row.hold.get_kind_display().lower()}: {row.hold.reason}"
        raise BadInput([Fault(f"invoice {number}", words, "lift the hold first")])
    if row.step is None:
        raise AlreadyDone([Fault(f"invoice {number}", "has had every reminder", "decide how to go on")])
    if row.step.is_for_a_person:
        raise BadInput([Fault(f"invoice {number}", "has had its letters", "decide: ring, agree on parts, write off")])
    return row.step


def _put_interest(reminder: PaymentReminder, *, names_interest: bool) -> None:
    claim = interest_on(reminder.invoice, on=reminder.made_on).claim if names_interest else None
    if claim is not None:
        reminder.interest, reminder.fixed_sum = claim.interest, claim.fixed_sum


def _addresses(invoice: Invoice) -> list[str]:
    named = [contact.email for contact in contacts_of(invoice.client) if contact.gets_invoice_mail and contact.email]
    return named or [invoice.client.email] * bool(invoice.client.email)


def _reference(reminder: PaymentReminder) -> str:
    return f"invoice:{reminder.invoice_id}:reminder:{reminder.step}"


def message_key(invoice_id: int) -> str:
    """How the keys of all mails about an invoice's reminders begin."""
    return f"{KIND}:{invoice_id}:"


def _mailed(reminder: PaymentReminder) -> bool:
    return Message.objects.filter(key__startswith=f"{message_key(reminder.invoice_id)}{reminder.step}:").exists()


def _queue_mails(reminder: PaymentReminder) -> None:
    invoice, profile = reminder.invoice, our_profile()
    assert reminder.document is not None  # noqa: S101 - written just before
    papers = [reminder.document, *([invoice.document] if invoice.document else [])]
    for address in _addresses(invoice):
        queue_message(
            key=f"{message_key(invoice.pk)}{reminder.step}:{address}",
            kind=KIND,
            client=invoice.client,
            to=address,
            subject=f"{reminder.name}: invoice {invoice.number} from {profile.name}",
            body=_letter(reminder),
            documents=papers,
            may_repeat=False,
        )


def _letter(reminder: PaymentReminder) -> str:
    invoice, profile = reminder.invoice, our_profile()
    ways = [f"ring {profile.phone}"] * bool(profile.phone) + ["answer this mail"]
    parts = [f"{invoice.client.salutation},", filled(reminder.text, invoice, reminder)]
    if reminder.asked != reminder.open_amount:
        parts.append(f"With what lateness adds, {money_text(reminder.asked, invoice.currency)} is to be paid.")
    parts += [
        f"The letter is attached. Give the number {invoice.number} when you pay. If you have paid meanwhile, thank you.",
        f"If something is not right, {' or '.join(ways)}.",
        profile.name,
    ]
    return "\n\n".join(parts) + "\n"


def _wake_lost_jobs() -> None:
    """Steps whose job was lost on the way."""
    for reminder_id in PaymentReminder.objects.filter(document=None).values_list("pk", flat=True)[:200]:
        later("business.tasks.send_payment_reminder", reminder_id=reminder_id)


def stop_waiting_mails(invoice: Invoice) -> None:
    """A settled invoice is not reminded of: mails that wait are stopped."""
    if invoice.state not in UNSETTLED:
        waiting = Message.objects.filter(
            key__startswith=message_key(invoice.pk), state=Message.State.WAITING, claimed_at=None
        )
        waiting.update(state=Message.State.STOPPED, error="The invoice was settled meanwhile")
