"""Jobs of this room. Each is an edge like a view: it calls one service, and is safe to run twice."""

from __future__ import annotations

from celery import shared_task

from scheduling.services import reminders, reports


@shared_task(name="scheduling.tasks.write_reminders")
def write_reminders() -> int:
    return reminders.write_reminders()


@shared_task(name="scheduling.tasks.close_finished", acks_late=True)
def close_finished(visit_id: int) -> None:
    reports.close_finished(visit_id=visit_id)
