"""Jobs of this room. Each is an edge like a view: it calls one service, and is safe to run twice."""

from __future__ import annotations

from celery import shared_task

from scheduling.services import accepted, reminders, reports


@shared_task(name="scheduling.tasks.write_reminders")
def write_reminders() -> int:
    return reminders.write_reminders()


@shared_task(name="scheduling.tasks.close_finished", acks_late=True)
def close_finished(visit_id: int) -> None:
    reports.close_finished(visit_id=visit_id)


@shared_task(name="scheduling.tasks.take_up_quotes", acks_late=True)
def take_up_quotes() -> int:
    """All that were accepted and have no work yet, so that one whose job was lost is found by the next."""
    return accepted.take_up_quotes()
