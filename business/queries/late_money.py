"""Late invoices: which step comes next, who is left in peace, and what interest has grown."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Prefetch, Q, QuerySet

from business.errors import Refusal
from business.models import (
    Allocation,
    BusinessProfile,
    Client,
    Invoice,
    PaymentReminder,
    ReminderHold,
    ReminderLadder,
    ReminderStep,
)
from business.money.amounts import minor_digits
from business.money.interest import LateDebt, PartPayment
from business.money.ladder import Step, StepDue, next_step
from business.money.late_claims import LateClaim, late_claim, reading_of
from business.queries.invoices import overdue
from business.queries.prices import late_interest_rates
from business.queries.profile import our_profile

CLAIM_CURRENCY = {"uk": "GBP", "eu": "EUR"}
"""The fixed sums of both laws are named in these; for a debt in another currency only the interest is reckoned."""


def our_ladder() -> ReminderLadder:
    """How reminders go out; before anything is stored, an unsaved row with the habits."""
    return ReminderLadder.objects.filter(pk=1).first() or ReminderLadder(pk=1)


def usual_steps() -> list[ReminderStep]:
    """The ladder of common practice: 3 days friendly, 14 firm, 30 last with interest, 45 a person decides."""
    return [
        ReminderStep(
            number=1,
            name="Reminder",
            days_late=3,
            text="Invoice {number} was to be paid by {due}. Perhaps it slipped out of sight: {open} is still open. "
            "Please pay it these days.",
        ),
        ReminderStep(
            number=2,
            name="Second reminder",
            days_late=14,
            text="Invoice {number} is now {days} days late, and {open} is still open. Please pay it within a week, or "
            "tell us what stands in the way.",
        ),
        ReminderStep(
            number=3,
            name="Last reminder",
            days_late=30,
            text="In spite of two reminders {open} of invoice {number} is still open, {days} days after the day it "
            "was due. Please pay it within seven days. After that we decide how to go on.",
            names_interest=True,
        ),
        ReminderStep(number=4, name="A person decides", days_late=45, is_for_a_person=True),
    ]


def our_steps() -> list[ReminderStep]:
    """The steps of this business; the usual ones until it has stored its own."""
    return list(ReminderStep.objects.order_by("number")) or usual_steps()


def standing_holds(*, on: date) -> QuerySet[ReminderHold]:
    """Holds that keep the ladder still on a day."""
    return ReminderHold.objects.filter(Q(until=None) | Q(until__gte=on), lifted_at=None).select_related("made_by")


def hold_on(invoice: Invoice, *, on: date) -> ReminderHold | None:
    """What keeps an invoice from being reminded of: its own hold, else its client's."""
    holds = standing_holds(on=on).filter(Q(invoice=invoice) | Q(client=invoice.client_id, invoice=None))
    return min(holds, key=lambda hold: hold.invoice_id is None, default=None)


def hold_of_client(client: Client, *, on: date) -> ReminderHold | None:
    return standing_holds(on=on).filter(client=client, invoice=None).first()


def reminders_of(invoice: Invoice) -> QuerySet[PaymentReminder]:
    return PaymentReminder.objects.filter(invoice=invoice).select_related("document", "made_by").order_by("step")


def late_invoices(*, on: date) -> QuerySet[Invoice]:
    """Late ones with their reminders, the latest first; two queries however many there are."""
    taken = Prefetch("reminders", queryset=PaymentReminder.objects.order_by("step"))
    return overdue(Invoice.objects.select_related("client"), on=on).prefetch_related(taken).order_by("due_on", "pk")


@dataclass(frozen=True, kw_only=True)
class LateRow:
    """A late invoice and what comes next for it. Without ``due`` the ladder has ended."""

    invoice: Invoice
    days_late: int
    step: ReminderStep | None
    due: StepDue | None
    last: PaymentReminder | None
    hold: ReminderHold | None
    is_due: bool

    @property
    def may_be_sent(self) -> bool:
        """Whether a person may take the next step now, ahead of its day too."""
        return self.step is not None and not self.step.is_for_a_person and self.hold is None


def late_rows(invoices: Iterable[Invoice], *, on: date) -> list[LateRow]:
    """Each invoice with its next step; holds and steps are read once."""
    steps = our_steps()
    by_invoice: dict[int, ReminderHold] = {}
    by_client: dict[int, ReminderHold] = {}
    for hold in standing_holds(on=on):
        if hold.invoice_id is None:
            by_client[hold.client_id] = hold
        else:
            by_invoice[hold.invoice_id] = hold
    return [
        _row(invoice, steps, by_invoice.get(invoice.pk) or by_client.get(invoice.client_id), on) for invoice in invoices
    ]


def _row(invoice: Invoice, steps: Sequence[ReminderStep], hold: ReminderHold | None, on: date) -> LateRow:
    assert invoice.due_on is not None  # noqa: S101 - the query gives late ones
    taken = list(invoice.reminders.all())
    due = next_step(
        [Step(number=step.number, days_late=step.days_late) for step in steps],
        due_on=invoice.due_on,
        taken=[(one.step, one.made_on) for one in taken],
    )
    return LateRow(
        invoice=invoice,
        days_late=(on - invoice.due_on).days,
        step=next((step for step in steps if due is not None and step.number == due.number), None),
        due=due,
        last=taken[-1] if taken else None,
        hold=hold,
        is_due=due is not None and due.on <= on and hold is None,
    )


@dataclass(frozen=True, kw_only=True)
class InterestToday:
    """Late interest of one invoice as of a day, or in words why there is none."""

    claim: LateClaim | None = None
    why_not: str = ""


def interest_on(invoice: Invoice, *, on: date, profile: BusinessProfile | None = None) -> InterestToday:
    """What the law lets the business claim on a late invoice; never for a household.

    What was credited was never owed; what was paid bears interest until its day.
    """
    profile = profile or our_profile()
    reading = reading_of(profile.country)
    if not profile.charges_late_interest:
        return InterestToday(why_not="the business claims no late interest")
    if invoice.client.kind != Client.Kind.ORGANISATION:
        return InterestToday(why_not="the laws on late payment do not cover households")
    if reading is None:
        return InterestToday(why_not=f"no late interest by law is known for {profile.country}")
    if invoice.due_on is None or invoice.due_on >= on:
        return InterestToday(why_not="it is not late")
    regime = "uk" if reading == "uk" else "eu"
    try:
        claim = late_claim(
            LateDebt(
                principal=invoice.gross - invoice.credited,
                due_on=invoice.due_on,
                digits=minor_digits(invoice.currency),
            ),
            reading=reading,
            rates=late_interest_rates(regime),
            payments=_payments_on(invoice),
            until=on,
        )
    except Refusal as refusal:
        return InterestToday(why_not="; ".join(str(fault) for fault in refusal.faults))
    if invoice.currency != CLAIM_CURRENCY[regime]:
        claim = LateClaim(reading=claim.reading, periods=claim.periods, interest=claim.interest, fixed_sum=Decimal(0))
    return InterestToday(claim=claim)


def _payments_on(invoice: Invoice) -> list[PartPayment]:
    """What each payment left on the invoice, by the day it came."""
    sums: dict[int, Decimal] = {}
    days: dict[int, date] = {}
    for row in Allocation.objects.filter(invoice=invoice, payment__kind="received").select_related("payment"):
        sums[row.payment_id] = sums.get(row.payment_id, Decimal(0)) + row.amount
        days[row.payment_id] = row.payment.received_on
    return [PartPayment(paid_on=days[pk], amount=amount) for pk, amount in sums.items() if amount > 0]


@dataclass(frozen=True, kw_only=True)
class Lateness:
    """What the page of one invoice says about reminders and interest. ``row`` is None while it is not late."""

    row: LateRow | None
    reminders: Sequence[PaymentReminder]
    hold: ReminderHold | None
    interest: InterestToday


def lateness_of(invoice: Invoice, *, on: date) -> Lateness:
    if invoice.is_draft or invoice.kind != Invoice.Kind.INVOICE:
        return Lateness(row=None, reminders=(), hold=None, interest=InterestToday())
    rows = late_rows(late_invoices(on=on).filter(pk=invoice.pk), on=on)
    return Lateness(
        row=rows[0] if rows else None,
        reminders=tuple(reminders_of(invoice)),
        hold=hold_on(invoice, on=on),
        interest=interest_on(invoice, on=on),
    )
