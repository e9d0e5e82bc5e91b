"""Links that open a client's own pages without an account.

A link names the client, what it opens and when it ends, and is signed; the client's serial of the day it was made is
inside, so that raising the serial (``clients.end_links``) makes every older link worthless. Nothing of a link is
stored: mails hold a mark, which becomes a fresh link on the way out.
"""

from __future__ import annotations

from collections.abc import MutableMapping
from datetime import timedelta
from typing import Any

from django.conf import settings
from django.core import signing
from django.urls import reverse

from business import clock
from business.models import Client, Message

GARDEN, CALENDAR = "garden", "calendar"
LASTS = {GARDEN: timedelta(days=60), CALENDAR: timedelta(days=400)}
"""The page is linked in every mail; a calendar is subscribed once and read for a year."""

SESSION_KEY = "client_door"
GARDEN_MARK, STOP_MARK = "[[garden page]]", "[[stop these mails]]"

STOPPABLE = {
    "reminder": "reminders before our visits",
    "visit_report": "reports after our visits",
    "season_letter": "letters about the season",
}
"""Kinds a client may stop with one click. Papers about money and answers to a question always go."""


def link_token(client: Client, scope: str = GARDEN) -> str:
    """What the link of a client carries. It opens one scope only."""
    until = int((clock.now() + LASTS[scope]).timestamp())
    return signing.dumps([client.pk, client.link_serial, until], salt=_salt(scope))


def garden_address(client: Client) -> str:
    """The whole address of a client's pages, to be sent to that client and nobody else."""
    return f"{settings.SITE_ADDRESS}{reverse('link-open', args=[link_token(client)])}"


def client_of_token(token: str, scope: str = GARDEN) -> Client | None:
    """The client behind a link; None if it is forged, of another scope, too old, or ended."""
    found = _read(token, scope)
    return None if found is None else found[0]


def enter(session: MutableMapping[str, Any], token: str) -> Client | None:
    """Exchange a link for a key in the session, so that no later address carries the link."""
    found = _read(token, GARDEN)
    if found is None:
        return None
    client, until = found
    session[SESSION_KEY] = [client.pk, client.link_serial, until]
    return client


def leave(session: MutableMapping[str, Any]) -> None:
    session.pop(SESSION_KEY, None)


def client_of_session(session: MutableMapping[str, Any]) -> Client | None:
    """Whose pages this session may open: as long as the link it came with would open them."""
    found = _standing(session.get(SESSION_KEY))
    return None if found is None else found[0]


def stop_token(client: Client, kind: str) -> str:
    """For the stop link of a mail. It never ends: whoever keeps a mail for years may still stop the next one."""
    return signing.dumps([client.pk, kind], salt=_salt("stop"))


def stop_of_token(token: str) -> tuple[Client, str] | None:
    """The client and the kind of mail a stop link names; None if it is forged."""
    try:
        client_id, kind = signing.loads(token, salt=_salt("stop"))
    except (signing.BadSignature, ValueError, TypeError):
        return None
    client = Client.objects.filter(pk=client_id).first()
    return (client, kind) if client is not None and kind in STOPPABLE else None


def stop_headers(message: Message) -> dict[str, str]:
    """What lets a mail program offer "stop these" (RFC 2369), and do it with one click over https (RFC 8058)."""
    if message.client is None or message.kind not in STOPPABLE:
        return {}
    headers = {"List-Unsubscribe": f"<{_stop_address(message.client, message.kind)}>"}
    if settings.SITE_ADDRESS.startswith("https://"):
        headers["List-Unsubscribe-Post"] = "List-Unsubscribe=One-Click"
    return headers


def with_links(text: str, message: Message) -> str:
    """The text of a mail with its marks turned into links of today."""
    client = message.client
    if client is None:
        return text
    if GARDEN_MARK in text:
        text = text.replace(GARDEN_MARK, garden_address(client))
    if STOP_MARK in text:
        text = text.replace(STOP_MARK, _stop_address(client, message.kind))
    return text


def _stop_address(client: Client, kind: str) -> str:
    return f"{settings.SITE_ADDRESS}{reverse('mail-stop', args=[stop_token(client, kind)])}"


def _salt(scope: str) -> str:
    return f"client-link:{scope}"


def _read(token: str, scope: str) -> tuple[Client, int] | None:
    try:
        said = signing.loads(token, salt=_salt(scope))
    except (signing.BadSignature, ValueError):
        return None
    return _standing(said)


def _standing(said: object) -> tuple[Client, int] | None:
    if not isinstance(said, list) or len(said) != 3 or not all(isinstance(part, int) for part in said):
        return None
    client_id, serial, until = said
    if until <= clock.now().timestamp():
        return None
    client = Client.objects.filter(pk=client_id, link_serial=serial).first()
    return None if client is None else (client, until)
