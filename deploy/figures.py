"""What stands in the database and in the broker at this moment, for ``/metrics``: a fixed number of small questions."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from django.conf import settings
from django.db.models import Count, Min, Sum
from redis import Redis
from redis.exceptions import RedisError

from business import clock
from business.models import Message
from business.queries.messages import due_messages, lost_messages
from deploy.health import SECONDS
from scheduling.models import FieldAct, Phone

QUEUE = "celery"
UNACKNOWLEDGED = "unacked"
"""Where the broker keeps jobs that a worker holds (kombu's Redis transport)."""


@dataclass(frozen=True, kw_only=True)
class Family:
    """Figures of one kind; each sample is ``{labels} value`` or `` value``."""

    name: str
    help: str
    samples: tuple[str, ...]
    unit: str = ""


def standing() -> Iterator[Family]:
    now = clock.now()
    yield from _messages(now)
    yield from _phones(now)
    yield from _jobs()


def _messages(now: datetime) -> Iterator[Family]:
    by_state = dict(Message.objects.values_list("state").annotate(Count("pk")).order_by())
    yield Family(
        name="fruit_messages",
        help="Mails by what became of them.",
        samples=tuple(f'{{state="{state}"}} {by_state.get(state, 0)}' for state in Message.State.values),
    )
    oldest = due_messages(at=now).aggregate(oldest=Min("created_at"))["oldest"]
    yield Family(
        name="fruit_messages_oldest_due_seconds",
        help="How long the oldest mail whose time has come has been lying here.",
        samples=(f" {_age(oldest, now):.0f}",),
        unit="seconds",
    )
    yield Family(
        name="fruit_messages_lost_claims",
        help="Mails whose worker has not come back.",
        samples=(f" {lost_messages(at=now).count()}",),
    )


def _phones(now: datetime) -> Iterator[Family]:
    holding = Phone.objects.filter(waiting__gt=0, lost_at=None)
    told = holding.aggregate(phones=Count("pk"), acts=Sum("waiting"), oldest=Min("oldest_waiting_at"))
    yield Family(
        name="fruit_phones_unsynced",
        help="Phones that said at their last contact that they hold acts we have not got.",
        samples=(f" {told['phones']}",),
    )
    yield Family(name="fruit_acts_unsynced", help="Acts those phones hold.", samples=(f" {told['acts'] or 0}",))
    yield Family(
        name="fruit_acts_oldest_unsynced_seconds",
        help="Age of the oldest of those acts.",
        samples=(f" {_age(told['oldest'], now):.0f}",),
        unit="seconds",
    )
    yield Family(
        name="fruit_acts_for_the_office",
        help="Acts somebody in the office has to settle.",
        samples=(f" {FieldAct.objects.filter(is_open=True).count()}",),
    )


def _jobs() -> Iterator[Family]:
    """Jobs in the broker. Nothing is said of a broker that does not answer; ``fruit_broker_up`` tells that."""
    waiting, held, is_up = _in_redis() if settings.REDIS_URL else _in_folder()
    yield Family(name="fruit_broker_up", help="1 if the broker answers.", samples=(f" {int(is_up)}",))
    if is_up:
        yield Family(name="fruit_jobs_waiting", help="Jobs no worker has taken yet.", samples=(f" {waiting}",))
        yield Family(name="fruit_jobs_held", help="Jobs a worker has taken and not finished.", samples=(f" {held}",))


def _in_redis() -> tuple[int, int, bool]:
    try:
        with Redis.from_url(settings.REDIS_URL, socket_timeout=SECONDS, socket_connect_timeout=SECONDS) as broker:
            return int(broker.llen(QUEUE)), int(broker.hlen(UNACKNOWLEDGED)), True
    except RedisError:
        return 0, 0, False


def _in_folder() -> tuple[int, int, bool]:
    folder = Path(settings.CELERY_BROKER_TRANSPORT_OPTIONS["data_folder_out"])
    if not folder.is_dir():
        return 0, 0, False
    return sum(1 for _ in folder.glob("*.msg")), 0, True


def _age(oldest: datetime | None, now: datetime) -> float:
    return max((now - oldest).total_seconds(), 0.0) if oldest else 0.0
