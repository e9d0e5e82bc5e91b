"""Two addresses for whatever watches the program. They say nothing about what is inside.

``/healthz``: this process answers. ``/readyz``: it can also reach the database and hand jobs over; 503 if not.
"""

from __future__ import annotations

import logging
import os

from django.conf import settings
from django.db import DatabaseError, connection
from django.http import HttpRequest, JsonResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe
from redis import Redis
from redis.exceptions import RedisError

log = logging.getLogger(__name__)
SECONDS = 2
"""Longer is as good as never."""


@require_safe
@never_cache
def health(request: HttpRequest) -> JsonResponse:
    return JsonResponse({"process": "ok"})


@require_safe
@never_cache
def ready(request: HttpRequest) -> JsonResponse:
    parts = {"database": _database(), "broker": _broker()}
    words = {name: "ok" if is_fine else "out of reach" for name, is_fine in parts.items()}
    return JsonResponse(words, status=200 if all(parts.values()) else 503)


def _database() -> bool:
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
            return bool(cursor.fetchone() == (1,))
    except DatabaseError:
        log.exception("the database is out of reach")
        return False


def _broker() -> bool:
    if not settings.REDIS_URL:
        return os.access(settings.CELERY_BROKER_TRANSPORT_OPTIONS["data_folder_out"], os.W_OK)
    try:
        with Redis.from_url(settings.REDIS_URL, socket_timeout=SECONDS, socket_connect_timeout=SECONDS) as broker:
            return bool(broker.ping())
    except RedisError:
        log.exception("the broker is out of reach")
        return False
