"""Checks at every start and in ``manage.py check``."""

from __future__ import annotations

import os
from typing import Any

from django.conf import settings
from django.core.checks import CheckMessage, Error, register


@register()
def demo_key_stays_in_the_demo(app_configs: Any, **kwargs: Any) -> list[CheckMessage]:
    if settings.DEMO or not settings.SECRET_KEY.startswith("only-for-the-demo"):
        return []
    return [
        Error(
            "SECRET_KEY is the public demo key",
            hint="Set SECRET_KEY, or SECRET_KEY_FILE, to 50 random characters.",
            id="deploy.E001",
        )
    ]


@register()
def clock_is_utc(app_configs: Any, **kwargs: Any) -> list[CheckMessage]:
    if settings.TIME_ZONE == "UTC" and settings.USE_TZ:
        return []
    return [Error("Instants are stored in UTC", hint='Leave TIME_ZONE = "UTC" and USE_TZ = True.', id="deploy.E002")]


@register()
def data_folder_can_be_written(app_configs: Any, **kwargs: Any) -> list[CheckMessage]:
    folder = settings.VAR
    present = next(path for path in (folder, *folder.parents) if path.exists())
    if os.access(present, os.W_OK):
        return []
    return [Error(f"{folder} cannot be written", hint="Set VAR_DIR to a folder of this user.", id="deploy.E003")]
