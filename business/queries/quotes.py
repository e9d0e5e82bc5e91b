"""Offers."""

from __future__ import annotations

from django.db.models import Max, Prefetch, Q, QuerySet

from business.models import Quote, QuoteLine


def whole_quotes(quotes: QuerySet[Quote]) -> QuerySet[Quote]:
    """With client, paper and lines."""
    lines = Prefetch("lines", queryset=QuoteLine.objects.order_by("position"))
    return quotes.select_related("client", "document").prefetch_related(lines)


def quote_by_id(quote_id: int) -> Quote:
    return whole_quotes(Quote.objects.all()).get(pk=quote_id)


def sent_quotes() -> QuerySet[Quote]:
    """Offers a client may look at: sent, and what became of them."""
    return whole_quotes(Quote.objects.exclude(state="draft"))


def accepted_quotes() -> QuerySet[Quote]:
    """Offers whose work is to be done, the oldest answer first."""
    return Quote.objects.filter(state="accepted").order_by("decided_at", "pk")


def quotes_about(client_id: int, *beginnings: str) -> QuerySet[Quote]:
    """A client's offers whose reference begins so ("support:4"), without versions that were replaced; newest first."""
    about = Q()
    for beginning in beginnings:
        about |= Q(reference=beginning) | Q(reference__startswith=f"{beginning}:")
    return Quote.objects.filter(about, client_id=client_id).exclude(state="replaced").order_by("-pk")


def latest_version(number: str) -> int:
    return Quote.objects.filter(number=number).aggregate(latest=Max("version"))["latest"] or 0


def versions_of(number: str) -> QuerySet[Quote]:
    return Quote.objects.filter(number=number).order_by("-version")
