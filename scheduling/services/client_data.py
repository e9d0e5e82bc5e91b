"""What this room holds of a client, and the archive of all rooms."""

from __future__ import annotations

from collections.abc import Iterator

from business.models import Client, Staff
from business.services.client_data import Piece, business_shelf, table, zip_of
from gardens.services.client_data import gardens_shelf
from scheduling.models import ClientAsk, Need, SeasonReview, Task, Visit


def visits_shelf(client: Client) -> Iterator[Piece]:
    """Visits with what was done, what is due, and what they asked us."""
    tasks = Task.objects.filter(work_order__visit__site__client=client)
    yield from table("visits", "Visits", Visit.objects.filter(site__client=client).order_by("on", "pk"))
    yield from table("tasks", "What was to be done", tasks.order_by("pk"), leave_out=["answered_by"])
    yield from table("needs", "What the trees need", Need.objects.filter(site__client=client).order_by("opens", "pk"))
    yield from table("asks", "What you asked us", ClientAsk.objects.filter(client=client), leave_out=["settled_by"])
    yield from table("season_reviews", "Season reviews", SeasonReview.objects.filter(client=client))


SHELVES = (business_shelf, gardens_shelf, visits_shelf)


def everything_of(client: Client, *, by: Staff | None = None) -> Iterator[bytes]:
    """All rooms' shelves as one archive, chunk by chunk."""
    return zip_of(client, SHELVES, by=by)
