"""Jobs of this room. Each is an edge like a view: it calls one service, and is safe to run twice."""

from __future__ import annotations

from celery import shared_task

from scheduling.services import accepted, lost_closings, plan_runs, reminders, reports, season_reviews


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


@shared_task(name="scheduling.tasks.work_out_plan", acks_late=True, reject_on_worker_lost=True)
def work_out_plan(plan_id: int) -> None:
    plan_runs.work_out_plan(plan_id=plan_id)


@shared_task(name="scheduling.tasks.take_up_lost_runs")
def take_up_lost_runs() -> int:
    return plan_runs.take_up_lost_runs()


@shared_task(name="scheduling.tasks.make_season_review", acks_late=True)
def make_season_review(client_id: int, year: int, mails: int = 0, by_id: int = 0) -> None:
    season_reviews.make_one_of_all(client_id=client_id, year=year, mails=bool(mails), by_id=by_id)


@shared_task(name="scheduling.tasks.take_up_lost_closings")
def take_up_lost_closings() -> int:
    return lost_closings.take_up_lost_closings()
