"""Mail a client the way into their own pages."""

from __future__ import annotations

import logging

from business import clock
from business.errors import BadInput, Fault
from business.models import Client, Message
from business.queries.profile import our_profile
from business.services.audit import Actor, acting_as, note
from business.services.client_links import GARDEN, GARDEN_MARK, LASTS
from business.services.messages import queue_message

log = logging.getLogger(__name__)


def send_asked_links(*, email: str) -> int:
    """Somebody asked for a new link to be sent to this address: it goes to clients who have it on file, to nobody else.

    The page says the same whether one has it or not; so this runs in a job, where nobody can measure how long it takes.
    """
    found = list(Client.objects.filter(email__iexact=email.strip(), is_active=True)[:20]) if email.strip() else []
    log.info("a new link was asked for; %d clients have that address", len(found))
    with acting_as(lambda: Actor(words="whoever asked for a new link")):
        for client in found:
            send_garden_link(client=client)
    return len(found)


def send_garden_link(*, client: Client) -> Message:
    """Queue the mail with the link, at most once a day and serial.

    Raises:
        BadInput: the client has no mail address.
    """
    if not client.email:
        raise BadInput([Fault(client.name, "has no mail address", "enter one, or make a link and hand it over")])
    profile = our_profile()
    day = clock.today(profile.time_zone)
    ring = f" or ring {profile.phone}" if profile.phone else ""
    message = queue_message(
        key=f"garden_link:client:{client.pk}:{client.link_serial}:{day}",
        kind="garden_link",
        client=client,
        to=client.email,
        subject=f"Your garden's page at {profile.name}",
        body=(
            f"{client.salutation},\n\n"
            "this link opens the page of your garden: when we come next, how your trees have grown over the years, "
            "our reports and your invoices.\n\n"
            f"{GARDEN_MARK}\n\n"
            f"It is meant for you alone and works for {LASTS[GARDEN].days} days; whoever has it sees what you see. "
            f"If it got into other hands, answer this mail{ring}, and we end it.\n\n"
            f"{profile.name}\n"
        ),
        may_repeat=True,
    )
    note("link sent", f"client:{client.pk}", after={"to": client.email, "on": day})
    return message
