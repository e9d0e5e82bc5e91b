"""Offer work, change the offer, hear the answer, and charge what was accepted.

draft ──► sent ──► accepted ──► charges, one for each line, once
  │         ├────► declined
  └─────────┴────► replaced by the next version (the old one stays as it was sent)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from django.db import transaction

from business import clock
from business.documents.quotes import quote_pdf
from business.documents.words import day_text
from business.errors import AlreadyDone, BadInput, Fault
from business.jobs import later
from business.models import Charge, Client, Quote, QuoteLine, TaxTreatment
from business.money.amounts import line_amount, minor_digits
from business.money.totals import Line, total_up
from business.queries.prices import tax_percent_on
from business.queries.profile import our_profile
from business.queries.quotes import latest_version, quote_by_id
from business.services.archive import Paper, archive
from business.services.billing import charge
from business.services.messages import queue_message
from business.services.numbers import take_number
from business.services.quote_links import quote_address
from business.services.rows import put_values, save_checked

DAYS_VALID = 30


@dataclass(frozen=True, kw_only=True)
class Offered:
    """One line of an offer. ``unit_price``: net, or with tax inside where the business's prices include tax.

    None: nobody knows its price yet. The line is named in the draft, counts for nothing, and keeps it from being sent.
    """

    text: str
    unit_price: Decimal | None
    quantity: Decimal = Decimal(1)
    unit: str = "lump"
    tax_treatment: str = TaxTreatment.STANDARD


@transaction.atomic
def draft_quote(*, client: Client, title: str, lines: Sequence[Offered], reference: str = "", **values: Any) -> Quote:
    """A new offer with its own number. With a reference ("support:4"), an offer that is still open comes back instead.

    Raises:
        BadInput: no line, or a value breaks a law of the table.
    """
    Client.objects.select_for_update().get(pk=client.pk)
    known = Quote.objects.filter(client=client, reference=reference, state__in=["draft", "sent"]).first()
    if reference and known is not None:
        return known
    profile = our_profile()
    today = clock.today(profile.time_zone)
    quote = Quote(
        client=client,
        number=f"Q{today.year}-{take_number(f'Q{today.year}'):05}",
        title=title,
        reference=reference,
        valid_until=values.pop("valid_until", None) or today + timedelta(days=DAYS_VALID),
        currency=profile.currency,
        prices_include_tax=profile.prices_include_tax,
        tax_rounding=profile.tax_rounding,
    )
    put_values(quote, values)
    save_checked(quote, where="quote")
    return _set_lines(quote, lines, on=today)


@transaction.atomic
def change_quote(*, quote: Quote, lines: Sequence[Offered], **values: Any) -> Quote:
    """Change an offer. One that was sent stays as it is; its next version takes the changes.

    Raises:
        AlreadyDone: it was answered, or replaced by a newer version.
    """
    quote = Quote.objects.select_for_update().get(pk=quote.pk)
    if quote.state not in (Quote.State.DRAFT, Quote.State.SENT):
        raise AlreadyDone([Fault(str(quote), f"is {quote.get_state_display().lower()}", "begin a new quote")])
    if quote.state == Quote.State.SENT:
        quote = _next_version(quote)
    put_values(quote, values)
    save_checked(quote, where="quote")
    return _set_lines(quote, lines, on=clock.today(our_profile().time_zone))


@transaction.atomic
def send_quote(*, quote: Quote) -> Quote:
    """Freeze an offer, keep its paper, and mail it with the link to answer.

    Raises:
        AlreadyDone: it was sent before.
        BadInput: it has no line, has run out, or the client has no mail address.
    """
    quote = Quote.objects.select_for_update().get(pk=quote.pk)
    if quote.state != Quote.State.DRAFT:
        raise AlreadyDone(
            [Fault(str(quote), f"is {quote.get_state_display().lower()}", "change it to send a new version")]
        )
    today = clock.today(our_profile().time_zone)
    if faults := _not_ready(quote, today):
        raise BadInput(faults)
    quote.state, quote.sent_on = Quote.State.SENT, today
    save_checked(quote, only=["state", "sent_on"])
    paper = Paper(
        kind="quote",
        reference=f"quote:{quote.pk}",
        file_name=f"quote-{quote.number}-{quote.version}.pdf",
        content=quote_pdf(quote_by_id(quote.pk)),
    )
    quote.document = archive(paper, client=quote.client)
    save_checked(quote, only=["document"])
    queue_message(
        key=f"quote:{quote.pk}",
        kind="quote",
        client=quote.client,
        to=quote.client.email,
        subject=f"Our offer {quote.number}: {quote.title}",
        body=_letter(quote),
        documents=[quote.document],
        may_repeat=True,
    )
    return quote


def draft_quote_paper(*, quote: Quote) -> bytes:
    """An offer as it would look; kept nowhere."""
    return quote_pdf(quote_by_id(quote.pk))


@transaction.atomic
def answer_quote(*, quote: Quote, accepts: bool, name: str, words: str = "") -> Quote:
    """The client's answer; the same answer twice is one answer. Work in a garden goes to planning; it is charged when it
    is done (charge_quote).

    Raises:
        AlreadyDone: it was answered otherwise, replaced, or has run out.
        BadInput: nobody's name is given.
    """
    quote = Quote.objects.select_for_update().get(pk=quote.pk)
    wanted = Quote.State.ACCEPTED if accepts else Quote.State.DECLINED
    if quote.state == wanted:
        return quote
    today = clock.today(our_profile().time_zone)
    if quote.state != Quote.State.SENT:
        raise AlreadyDone([Fault(str(quote), f"is {quote.get_state_display().lower()}", "ask us for a new one")])
    if accepts and quote.valid_until < today:
        raise AlreadyDone([Fault(str(quote), f"was valid until {quote.valid_until}", "ask us for a new one")])
    if not name.strip():
        raise BadInput([Fault("name", "is empty", "say who answers")])
    quote.state, quote.decided_at, quote.decided_by, quote.answer = wanted, clock.now(), name.strip(), words.strip()
    save_checked(quote, only=["state", "decided_at", "decided_by", "answer"])
    if accepts:
        later("scheduling.tasks.take_up_quotes")
    return quote


@transaction.atomic
def charge_quote(*, quote: Quote, done_on: date) -> list[Charge]:
    """The work of an accepted offer was done: charge its lines at the prices offered, each once.

    Raises:
        BadInput: it is not accepted.
    """
    quote = quote_by_id(quote.pk)
    if quote.state != Quote.State.ACCEPTED:
        raise BadInput([Fault(str(quote), "is not accepted", "wait for the answer")])
    return [
        charge(
            client=quote.client,
            done_on=done_on,
            place=quote.place,
            text=line.text,
            quantity=line.quantity,
            unit=line.unit,
            unit_price=line.unit_price,
            tax_treatment=line.tax_treatment,
            reference=f"quote:{quote.pk}:line:{line.position}",
        )
        for line in quote.lines.all()
    ]


def _set_lines(quote: Quote, lines: Sequence[Offered], *, on: date) -> Quote:
    if not lines:
        raise BadInput([Fault("quote", "has no line", "say what you offer")])
    digits = minor_digits(quote.currency)
    treatments = [line.tax_treatment if our_profile().is_tax_registered else TaxTreatment.OUTSIDE for line in lines]
    prices = [Decimal(0) if line.unit_price is None else line.unit_price for line in lines]
    amounts = [
        line_amount(quantity=line.quantity, unit_price=price, digits=digits)
        for line, price in zip(lines, prices, strict=True)
    ]
    totals = total_up(
        [
            Line(amount=amount, treatment=treatment, rate_percent=tax_percent_on(treatment, on))
            for amount, treatment in zip(amounts, treatments, strict=True)
        ],
        rounding=quote.tax_rounding,  # type: ignore[arg-type]  # the table holds the same two words
        includes_tax=quote.prices_include_tax,
        digits=digits,
    )
    quote.lines.all().delete()
    each = zip(lines, prices, treatments, totals.lines, strict=True)
    for position, (line, price, treatment, sums) in enumerate(each, start=1):
        row = QuoteLine(
            quote=quote,
            position=position,
            text=line.text,
            quantity=line.quantity,
            unit=line.unit,
            unit_price=price,
            is_unpriced=line.unit_price is None,
            tax_treatment=treatment,
            tax_percent=tax_percent_on(treatment, on),
            net=sums.net,
            tax=sums.tax,
            gross=sums.gross,
        )
        save_checked(row, where=f"line {position}")
    quote.net, quote.tax, quote.gross = totals.net, totals.tax, totals.gross
    save_checked(quote, only=["net", "tax", "gross"])
    return quote


def _next_version(quote: Quote) -> Quote:
    quote.state = Quote.State.REPLACED
    save_checked(quote, only=["state"])
    version = latest_version(quote.number) + 1
    fresh = Quote.objects.get(pk=quote.pk)
    fresh.pk = None
    fresh._state.adding = True
    fresh.version, fresh.state, fresh.sent_on, fresh.document = version, Quote.State.DRAFT, None, None
    return fresh


def _not_ready(quote: Quote, today: date) -> list[Fault]:
    faults = []
    if not quote.lines.exists():
        faults.append(Fault("quote", "has no line", "say what you offer"))
    faults += [
        Fault(line.text, "has no price yet", "give the price, or take the line out")
        for line in quote.lines.filter(is_unpriced=True)
    ]
    if quote.valid_until < today:
        faults.append(Fault("valid until", f"{quote.valid_until} is over", "choose a later day"))
    if not quote.client.email:
        faults.append(Fault(quote.client.name, "has no mail address", "enter one on the client's page"))
    return faults


def _letter(quote: Quote) -> str:
    profile = our_profile()
    parts = [
        f"{quote.client.salutation},",
        f"Our offer {quote.number}, {quote.title}, is attached. It is valid until {day_text(quote.valid_until)}.",
        f"Read it and answer here:\n{quote_address(quote)}",
        profile.name,
    ]
    return "\n\n".join(parts) + "\n"
