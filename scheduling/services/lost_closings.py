"""Finished visits whose report, mail or charges never came, because the job was lost with its worker or its broker."""

from __future__ import annotations

from datetime import timedelta

from django.db.models import CharField, Exists, F, OuterRef, Q, QuerySet, Value
from django.db.models.functions import Cast, Concat

from business import clock
from business.jobs import later
from business.models import Message
from scheduling.models import Visit, VisitReport

PATIENCE = timedelta(minutes=5)
"""A job under way may still come to its end."""
LOOKS_BACK = timedelta(days=30)
"""What could not be closed in that time needs a person: its visit page says so."""


def lost_closings() -> QuerySet[Visit]:
    """Visits over for a while without a report, or with one that was to be mailed and has no mail."""
    now = clock.now()
    reports = VisitReport.objects.filter(visit=OuterRef("pk"))
    key = Concat(Value("visit_report:"), Cast(OuterRef("pk"), CharField()))
    mails = Message.objects.filter(key=key)
    return (
        Visit.objects.filter(state=Visit.State.FINISHED, finished_at__range=(now - LOOKS_BACK, now - PATIENCE))
        .annotate(has_report=Exists(reports), has_mail=Exists(mails))
        .annotate(address=F("site__client__email"), stopped=F("site__client__stopped_kinds"))
        .filter(Q(has_report=False) | (Q(has_mail=False) & ~Q(address="")))
        .order_by("finished_at", "pk")
    )


def take_up_lost_closings() -> int:
    """Queue the closing of each once more; how many comes back. Each act of a closing happens once all the same."""
    rows = lost_closings().values_list("pk", "has_report", "stopped")[:200]  # type: ignore[misc]  # annotated
    lost = [visit_id for visit_id, has_report, stopped in rows if not has_report or "visit_report" not in stopped]
    for visit_id in lost:
        later("scheduling.tasks.close_finished", visit_id=visit_id)
    return len(lost)
