"""What a client may see through their own link: their gardens, and nothing of anybody else's.

Every query starts from the client; a number that belongs to somebody else finds nothing, like one that does not exist.
"""

from __future__ import annotations

from datetime import timedelta

from django.db.models import Q, QuerySet

from business import clock
from business.models import Client, Invoice, Quote
from gardens.models import Tree
from gardens.queries.trees import trees_with_records
from scheduling.models import ClientAsk, SeasonReview, Visit

TOLD = (Visit.State.PLANNED, Visit.State.CONFIRMED, Visit.State.STARTED)
CALENDAR_DAYS = 400


def visits_of(client: Client) -> QuerySet[Visit]:
    """The visits a client has been told of: suggestions are our own thoughts."""
    return (
        Visit.objects.filter(site__client=client)
        .filter(Q(state__in=[*TOLD, Visit.State.FINISHED]) | Q(state=Visit.State.CALLED_OFF, on__isnull=False))
        .select_related("site", "round__crew")
    )


def coming_visits(client: Client) -> list[Visit]:
    """Visits of today and later, by each garden's own day."""
    nearby = visits_of(client).filter(state__in=TOLD, on__gte=clock.now().date() - timedelta(days=1))
    return [v for v in nearby.order_by("on", "arrives_at") if v.on and v.on >= clock.today(v.site.zone)]


def reported_visits(client: Client) -> QuerySet[Visit]:
    """Finished visits whose report is kept, the newest first."""
    return (
        visits_of(client)
        .filter(state=Visit.State.FINISHED, report__isnull=False)
        .select_related("site", "report__document")
        .order_by("-on", "-pk")
    )


def calendar_visits(client: Client) -> QuerySet[Visit]:
    """What a calendar shows: a year back, all that is ahead, and what was called off."""
    return visits_of(client).filter(on__gte=clock.now().date() - timedelta(days=CALENDAR_DAYS)).order_by("on", "pk")


def trees_of(client: Client) -> QuerySet[Tree]:
    return (
        trees_with_records()
        .filter(site__client=client, removed_on=None, is_planned=False)
        .order_by("site__name", "support__walk_order", "position_mm")
    )


def invoices_of(client: Client) -> QuerySet[Invoice]:
    """Issued papers; a draft is nobody's but ours."""
    return (
        Invoice.objects.filter(client=client)
        .exclude(state=Invoice.State.DRAFT)
        .select_related("credits", "document")
        .order_by("-issued_on", "-sequence", "-pk")
    )


def quotes_of(client: Client) -> QuerySet[Quote]:
    """Offers that were sent and not replaced by a newer version; those that wait for an answer first."""
    rows = Quote.objects.filter(client=client, state__in=["sent", "accepted", "declined"])
    return rows.select_related("document").order_by("decided_at", "-sent_on", "-pk")


def reviews_of(client: Client) -> QuerySet[SeasonReview]:
    """Reviews whose paper is kept, the newest first."""
    kept = SeasonReview.objects.filter(client=client, document__isnull=False)
    return kept.select_related("document").order_by("-year")


def open_asks(client: Client) -> QuerySet[ClientAsk]:
    return ClientAsk.objects.filter(client=client, settled_at=None)


def asks_to_settle() -> QuerySet[ClientAsk]:
    """For the office, the oldest first."""
    return ClientAsk.objects.filter(settled_at=None).select_related("client", "visit__site")
