"""The last application to load: it makes every room's tasks and checks known."""

from __future__ import annotations

from django.apps import AppConfig
from django.utils.module_loading import autodiscover_modules


class DeployConfig(AppConfig):
    name = "deploy"

    def ready(self) -> None:
        # Celery finds task modules in workers only; the web process looks tasks up by name when it queues them.
        autodiscover_modules("tasks")
        from deploy import checks  # noqa: F401
