"""Jobs through a real broker, a real worker and PostgreSQL: nothing lost, nothing sent twice."""

from __future__ import annotations

import email
import email.policy
from email.message import EmailMessage
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection, transaction

from business.jobs import later
from business.models import Message
from business.services.messages import queue_message, send_message
from deploy.celery import app

pytestmark = pytest.mark.services


def queue(key: str) -> Message:
    return queue_message(
        key=key, kind="reminder", to="p.orchard@example.com", subject=f"Tomorrow, {key}", body="We come tomorrow."
    )


def mails_about(key: str) -> list[EmailMessage]:
    """What the worker wrote into the mail folder about this."""
    folder = Path(settings.VAR) / "mail"
    found = []
    for path in sorted(folder.glob("*.log")):
        for text in path.read_bytes().split(b"-" * 79):
            mail = email.message_from_bytes(text.strip(), policy=email.policy.default)
            if mail["Subject"] == f"Tomorrow, {key}":
                found.append(mail)
    return found


def state_of(message: Message) -> str:
    return Message.objects.get(pk=message.pk).state


def test_the_rows_are_in_postgresql(worker):
    assert connection.vendor == "postgresql"


def test_a_queued_mail_goes_out_through_the_worker(worker, eventually):
    message = queue("visit:1")
    eventually(lambda: state_of(message) == Message.State.HANDED_OVER)
    (mail,) = mails_about("visit:1")
    assert mail["To"] == "p.orchard@example.com"
    assert mail["Message-ID"] == message.message_id
    assert mail["Auto-Submitted"] == "auto-generated"


def test_the_same_purpose_queued_twice_sends_once(worker, eventually):
    first, second = queue("visit:2"), queue("visit:2")
    eventually(lambda: state_of(first) == Message.State.HANDED_OVER)
    assert first.pk == second.pk
    for _ in range(5):
        later("business.tasks.send_message", message_id=first.pk)
    later_one = queue("visit:2b")
    eventually(lambda: state_of(later_one) == Message.State.HANDED_OVER)
    assert len(mails_about("visit:2")) == 1


def test_an_act_taken_back_sends_nothing(worker, eventually):
    with transaction.atomic():
        queue("visit:3")
        transaction.set_rollback(True)
    follower = queue("visit:3b")
    eventually(lambda: state_of(follower) == Message.State.HANDED_OVER)
    assert mails_about("visit:3") == []


def test_what_is_queued_while_no_worker_runs_goes_later(worker, eventually):
    worker.stop()
    message = queue("visit:4")
    assert state_of(message) == Message.State.WAITING
    worker.start()
    eventually(lambda: state_of(message) == Message.State.HANDED_OVER)
    assert len(mails_about("visit:4")) == 1


def test_a_job_lost_by_the_broker_is_swept_up(worker, eventually):
    worker.kill()
    message = queue("visit:5")
    app.control.purge()
    worker.start()
    later("business.tasks.send_waiting_messages")
    eventually(lambda: state_of(message) == Message.State.HANDED_OVER)
    assert len(mails_about("visit:5")) == 1


def test_two_holders_of_one_message_send_it_once(worker, eventually):
    worker.stop()
    message = queue("visit:6")
    # Here, in this process, it goes to Django's own outbox; the worker then finds its turn taken.
    assert send_message(message_id=message.pk)
    worker.start()
    follower = queue("visit:6b")
    eventually(lambda: state_of(follower) == Message.State.HANDED_OVER)
    assert mails_about("visit:6") == []
