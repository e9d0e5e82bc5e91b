"""Queue a job by its name, so that services never import tasks.

The broker only wakes a worker. Whatever must happen is written in a row first; a sweep (see CELERY_BEAT_SCHEDULE)
finds rows whose job was lost on the way.
"""

from __future__ import annotations

from celery import current_app
from django.db import transaction


def later(task_name: str, **arguments: int | str) -> None:
    """Run a task once the present transaction is committed; without one, now.

    Raises:
        KeyError: no task has that name. Found here, not in a worker.
    """
    task = current_app.tasks[task_name]
    # Robust: a broker that is down must not turn a committed act into an error page; the sweep catches up.
    transaction.on_commit(lambda: task.delay(**arguments), robust=True)
