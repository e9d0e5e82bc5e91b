"""Clients ask, the office settles."""

from __future__ import annotations

from django.db import IntegrityError, transaction

from business import clock
from business.errors import AlreadyDone, BadInput, Fault
from business.models import Client, Staff
from business.queries.profile import our_profile
from business.services.audit import note
from business.services.messages import queue_message
from scheduling.models import ClientAsk, Visit
from scheduling.queries.door import open_asks

MOST_OPEN = 10
"""More than that from one client is a misuse, or a case for the telephone."""
LONGEST = 1000
MOVABLE = (Visit.State.PLANNED, Visit.State.CONFIRMED)


@transaction.atomic
def ask_us(*, client: Client, kind: str, words: str, visit: Visit | None = None) -> ClientAsk:
    """Keep a client's wish and tell the office by mail. Asked again while the first is open, the first comes back.

    Raises:
        BadInput: no words, too many, the visit cannot be moved any more, or ten wishes are open.
    """
    words = words.strip()
    if not words:
        raise BadInput([Fault("your words", "are missing", "write what would suit you, such as which days")])
    if len(words) > LONGEST:
        raise BadInput([Fault("your words", f"are {len(words)} letters", f"keep to {LONGEST}, or ring us")])
    if visit is not None and visit.state not in MOVABLE:
        raise BadInput([Fault("the visit", f"is {visit.get_state_display().lower()}", "ring us")])
    if visit is not None and (known := open_asks(client).filter(visit=visit, kind=kind).first()):
        return known
    if open_asks(client).count() >= MOST_OPEN:
        raise BadInput([Fault("your wishes", "are many, and we have not answered yet", "ring us")])
    try:
        with transaction.atomic():
            ask = ClientAsk.objects.create(client=client, kind=kind, words=words, visit=visit, made_at=clock.now())
    except IntegrityError:
        # Pressed twice at once: the other press was first.
        return open_asks(client).get(visit=visit, kind=kind)
    _tell_the_office(ask)
    return ask


@transaction.atomic
def settle_ask(*, ask: ClientAsk, by: Staff) -> ClientAsk:
    """The office has dealt with a wish.

    Raises:
        AlreadyDone: somebody else was first.
    """
    ask = ClientAsk.objects.select_for_update().get(pk=ask.pk)
    if ask.settled_at is not None:
        raise AlreadyDone([Fault("the wish", "is settled already", "look at the client's page")])
    ask.settled_at, ask.settled_by = clock.now(), by
    ask.save(update_fields=["settled_at", "settled_by"])
    note("wish settled", f"client:{ask.client_id}", after={"kind": ask.kind, "words": ask.words}, by=by)
    return ask


def _tell_the_office(ask: ClientAsk) -> None:
    profile = our_profile()
    if not profile.email:
        return
    about = f"the visit to {ask.visit.site.name} on {ask.visit.on:%-d %B %Y}" if ask.visit else "their page"
    queue_message(
        key=f"client_ask:{ask.pk}",
        kind="client_ask",
        to=profile.email,
        subject=f"{ask.client.name} asks for {ask.get_kind_display()}"[:200],
        body=f"{ask.client.name} writes about {about}:\n\n{ask.words}\n\nIt stands on the morning board.\n",
        may_repeat=True,
    )
