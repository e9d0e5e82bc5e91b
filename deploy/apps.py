"""The last application to load: it makes every room's tasks and checks known."""

from __future__ import annotations

import os

from django.apps import AppConfig
from django.conf import settings
from django.utils.module_loading import autodiscover_modules


class DeployConfig(AppConfig):
    name = "deploy"

    def ready(self) -> None:
        # Celery finds task modules in workers only; the web process looks tasks up by name when it queues them.
        autodiscover_modules("tasks")
        from deploy import checks  # noqa: F401

        if settings.CELERY_BROKER_URL == "filesystem://":
            # The folder broker expects its folders; both sides may come first.
            for name in ("data_folder_in", "data_folder_out", "control_folder", "processed_folder"):
                os.makedirs(settings.CELERY_BROKER_TRANSPORT_OPTIONS[name], exist_ok=True)
