"""The Celery application. Tasks are declared in each room with ``shared_task(name="room.tasks.act")``."""

from __future__ import annotations

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")

app = Celery("trained_fruit")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
