"""Visits started, finished and called off from phones.

Closing waits: for everything the same phone said before (its numbers have no gap), and for other phones that still hold
acts of the visit. So a closing act that overtakes a tick on the way closes nothing too early.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from django.db import transaction
from django.db.models import Q

from business.errors import Refusal
from scheduling.models import FieldAct, Phone, Task, Visit
from scheduling.services.field_reading import CLOSINGS
from scheduling.services.visits import call_off_visit, finish_visit, start_visit

Kind = FieldAct.Kind
OVER = (Visit.State.FINISHED, Visit.State.CALLED_OFF)


def close_visits(accepted: Sequence[FieldAct], phone: Phone) -> None:
    """Start what was started, then close what may be closed by now."""
    for act in accepted:
        if act.kind == Kind.STARTED and act.visit_id is not None:
            _start(act)
    touched = {act.visit_id for act in accepted if act.visit_id}
    pending: dict[int, list[FieldAct]] = defaultdict(list)
    acts = (
        FieldAct.objects.filter(kind__in=CLOSINGS, result=FieldAct.Result.ACCEPTED, closed_at=None)
        .filter(Q(visit__in=touched) | Q(phone=phone) | Q(visit__handed_out__phone=phone))
        .exclude(visit__state__in=OVER)
        .select_related("phone", "visit")
        .distinct()
        .order_by("happened_at", "uid")
    )
    for act in acts:
        if act.visit_id is not None:
            pending[act.visit_id].append(act)
    for visit_id, closings in pending.items():
        _close(visit_id, closings)


def _start(act: FieldAct) -> None:
    try:
        with transaction.atomic():
            start_visit(visit_id=act.visit_id or 0, at=act.happened_at)
    except Refusal:
        # Already over, or back among the suggestions: the act itself keeps when the crew arrived.
        return


def _close(visit_id: int, closings: Sequence[FieldAct]) -> None:
    ready = [act for act in closings if act.phone is not None and act.phone.known_seq >= act.seq]
    if not ready:
        return
    # Work that was finished outweighs a call-off: cuts cannot be undone.
    lead = next((act for act in ready if act.kind == Kind.FINISHED), ready[0])
    others = Phone.objects.filter(handed_out__visit=visit_id, acts__visit=visit_id, waiting__gt=0)
    if lead.phone is not None and others.exclude(pk=lead.phone.pk).exists():
        _remark(lead, "waits_for_phone", is_open=False)
        return
    said = lead.body.get("value") or {}
    try:
        with transaction.atomic():
            if lead.kind == Kind.FINISHED:
                finish_visit(
                    visit_id=visit_id,
                    minutes_taken=round(said.get("minutes") or 1),
                    note=str(said.get("note") or ""),
                    at=lead.happened_at,
                )
            else:
                call_off_visit(visit_id=visit_id, reason=str(said.get("reason") or "")[:120])
    except Refusal as refusal:
        is_unanswered = Task.objects.filter(work_order__visit=visit_id, state=Task.State.OPEN).exists()
        lead.problem = {"detail": str(refusal)}
        _remark(lead, "unanswered" if is_unanswered else "not_closed", is_open=True)
    else:
        _unremark(lead)


def _remark(act: FieldAct, flag: str, *, is_open: bool) -> None:
    act.flags = sorted({*act.flags, flag})
    act.is_open = is_open
    act.save(update_fields=["flags", "is_open", "problem"])


def _unremark(act: FieldAct) -> None:
    """The visit is closed: what kept it open is no longer news."""
    kept = [flag for flag in act.flags if flag not in ("unanswered", "not_closed", "waits_for_phone")]
    if kept != act.flags:
        act.flags, act.is_open, act.problem = kept, False, {}
        act.save(update_fields=["flags", "is_open", "problem"])
