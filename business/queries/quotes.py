"""Offers."""

from __future__ import annotations

from dataclasses import dataclass

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


def newest_sent(quote: Quote) -> Quote | None:
    """The version of an offer that took a sent one's place and was sent itself; None if there is none yet."""
    later = sent_quotes().filter(number=quote.number, version__gt=quote.version)
    return later.exclude(state="replaced").order_by("-version").first()


@dataclass(frozen=True, kw_only=True)
class QuoteChange:
    """One line that differs from the version before: only before, only now, or both."""

    text: str
    before: QuoteLine | None
    now: QuoteLine | None


def changes_since_last_version(quote: Quote) -> list[QuoteChange]:
    """What differs from the version before, line by line; nothing for a first version.

    Lines are matched by their words: a line with other words is another thing.
    """
    last = (
        whole_quotes(Quote.objects.filter(number=quote.number, version__lt=quote.version)).order_by("-version").first()
    )
    if last is None:
        return []
    before = list(last.lines.all())
    changes = []
    for line in quote.lines.all():
        same = next((old for old in before if old.text == line.text), None)
        if same is not None:
            before.remove(same)
        if same is None or _offered(same) != _offered(line):
            changes.append(QuoteChange(text=line.text, before=same, now=line))
    return changes + [QuoteChange(text=old.text, before=old, now=None) for old in before]


def _offered(line: QuoteLine) -> tuple[object, ...]:
    return line.quantity, line.unit, line.unit_price, line.tax_percent, line.gross


def versions_of(number: str) -> QuerySet[Quote]:
    return Quote.objects.filter(number=number).order_by("-version")
