"""A link that opens one offer for one client, without an account. It ends with the offer, or with the client's serial."""

from __future__ import annotations

from django.conf import settings
from django.core import signing
from django.urls import reverse

from business.models import Quote
from business.queries.quotes import sent_quotes

SALT = "quote-link"


def quote_token(quote: Quote) -> str:
    """Names the offer and the client's serial of today; raising the serial makes it worthless."""
    return signing.dumps([quote.pk, quote.client.link_serial], salt=SALT)


def quote_address(quote: Quote) -> str:
    return f"{settings.SITE_ADDRESS}{reverse('quote-answer', args=[quote_token(quote)])}"


def quote_of(token: str) -> Quote | None:
    """The offer behind a link; None if the link is forged, ended, or the offer was never sent."""
    try:
        quote_id, serial = signing.loads(token, salt=SALT)
    except (signing.BadSignature, ValueError):
        return None
    quote = sent_quotes().filter(pk=quote_id).first()
    return quote if quote is not None and quote.client.link_serial == serial else None
