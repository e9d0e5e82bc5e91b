"""Workers are killed at every step of a send; tells as JSON what became of each mail and how many copies went out.

    python -m tests.faults.killed_senders        (starts PostgreSQL, Redis, workers and a mail server of its own)

At each step two mails are under way: one that may go twice (an invoice) and one that may not (a reminder). The worker
dies with all its children, by signal 9. Then a new worker comes, the claims grow old, and the sweep runs twice.
What can be promised: a reminder never goes twice, and an invoice never stays behind. What cannot, because a mail server
tells us only after it took the mail: that a reminder goes at all after such a death (a person is asked), and that an
invoice goes once (its copies bear one Message-ID, by which mail programs know them as one).
"""

from __future__ import annotations

import json
import os
import re
import sys
import threading
from collections.abc import Mapping
from datetime import timedelta
from typing import Any

from tests.services.mail_server import STEPS, MailServer, mail_server
from tests.services.servers import Process, Servers, servers, wait_for

KINDS = {"reminder": False, "invoice": True}


def main() -> None:
    with mail_server() as mail, servers("fruit-killed-", **mail.settings) as running:
        prepare(running)
        told: dict[str, Any] = {"kill": {}}
        worker = start(running)
        for step in ("before", *STEPS, "after"):
            messages = killed_at(step, worker, running, mail)
            left = {kind: row_of(message).state for kind, message in messages.items()}
            # Whatever the broker still held is gone as well: the rows alone must do.
            running.redis.stop()
            running.redis.start()
            worker = start(running)
            settle(worker, messages)
            told["kill"][step] = {
                kind: {"left": left[kind], **outcome(message, mail)} for kind, message in messages.items()
            }
        told["child"] = child_killed(running, mail)
        told["broken off"] = broken_off(worker, mail)
    sys.stdout.write(json.dumps(told) + "\n")


def prepare(running: Servers) -> None:
    os.environ.update(running.environment)
    os.environ["DJANGO_SETTINGS_MODULE"] = "deploy.settings"
    (running.folder / "deadly").mkdir()
    import django

    django.setup()
    from tests import make

    make.profile()


def start(running: Servers) -> Process:
    return running.start_worker(app="tests.faults.deadly_app", DEADLY=str(running.folder / "deadly"))


def killed_at(step: str, worker: Process, running: Servers, mail: MailServer) -> dict[str, Any]:
    """A mail of each kind; the worker that sends them dies when both have reached the step."""
    messages = {kind: written(f"{kind} killed at {step}", kind) for kind in KINDS}
    if step in STEPS:
        both = threading.Barrier(len(KINDS), action=worker.kill, timeout=60)
        mail.act = lambda reached: both.wait() and None if reached == step else None
    else:
        for message in messages.values():
            (running.folder / "deadly" / f"{step}-{message.pk}").touch()
    for message in messages.values():
        wake(message)
    wait_for(lambda: worker.process.poll() is not None, f"death at {step}")
    mail.act = lambda reached: None
    return messages


def settle(worker: Process, messages: Mapping[str, Any]) -> None:
    """Claims grow old, and the sweep runs; then again, for whatever is to go a second time, and once more for nothing."""
    for _ in range(3):
        for message in messages.values():
            grow_old(message)
        sweep(worker)


def child_killed(running: Servers, mail: MailServer) -> dict[str, Any]:
    """Only the child dies, before the claim: its worker gives the job back by itself, without any sweep."""
    message = written("reminder whose child died", "reminder")
    trap = running.folder / "deadly" / f"child-{message.pk}"
    trap.touch()
    wake(message)
    wait_for(lambda: row_of(message).state == "handed_over", "the job given back")
    return {"deaths": int(not trap.exists()), **outcome(message, mail)}


def broken_off(worker: Process, mail: MailServer) -> dict[str, Any]:
    """The mail server breaks off when it has the whole text and before it says so."""
    messages = {kind: written(f"{kind} broken off", kind) for kind in KINDS}
    to_break, gate = [*KINDS], threading.Lock()

    def act(reached: str) -> None:
        if reached == "text":
            with gate:
                if to_break:
                    to_break.pop()
                    raise ConnectionAbortedError

    mail.act = act
    for message in messages.values():
        wake(message)
    wait_for(
        lambda: all(row_of(one).attempts == 1 and row_of(one).claimed_at is None for one in messages.values()),
        "the broken lines",
    )
    left = {kind: row_of(message).state for kind, message in messages.items()}
    settle(worker, messages)
    mail.act = lambda reached: None
    return {kind: {"left": left[kind], **outcome(message, mail)} for kind, message in messages.items()}


def outcome(message: Any, mail: MailServer) -> dict[str, Any]:
    row = row_of(message)
    sent = [one for one in list(mail.mails) if one["Subject"] == row.subject]
    return {"became": row.state, "copies": len(sent), "identities": len({one["Message-ID"] for one in sent})}


def written(subject: str, kind: str) -> Any:
    """The row without its job: traps need its number."""
    from business.models import Message

    return Message.objects.create(
        key=f"killed:{subject}",
        kind=kind,
        to="p.orchard@example.com",
        subject=subject,
        body="We come tomorrow.",
        may_repeat=KINDS[kind],
        message_id=f"<{subject.replace(' ', '.')}@example.com>",
    )


def wake(message: Any) -> None:
    from business.jobs import later

    later("business.tasks.send_message", message_id=message.pk)


def row_of(message: Any) -> Any:
    from business.models import Message

    return Message.objects.get(pk=message.pk)


def grow_old(message: Any) -> None:
    """As if the time a claim holds, and the wait before another try, had passed."""
    from business.models import Message
    from business.queries.messages import LEASE

    row = row_of(message)
    if row.claimed_at is not None:
        Message.objects.filter(pk=row.pk).update(claimed_at=row.claimed_at - LEASE - timedelta(minutes=1))
    elif row.next_try is not None:
        Message.objects.filter(pk=row.pk).update(next_try=row.created_at)


def sweep(worker: Process) -> None:
    """The sweep as the clock starts it, and time for what it woke."""
    from business.jobs import later

    swept = len(_jobs(worker, "send_waiting_messages", "succeeded"))
    later("business.tasks.send_waiting_messages")
    wait_for(
        lambda: (
            len(_jobs(worker, "send_waiting_messages", "succeeded")) > swept
            and _jobs(worker, "send_message", "received") == _jobs(worker, "send_message", "succeeded")
        ),
        "the sweep",
    )


def _jobs(worker: Process, task: str, word: str) -> set[str]:
    """Identities of the jobs of which the worker's log says this word."""
    return set(re.findall(rf"business\.tasks\.{task}\[([^\]]+)\] {word}", worker.log.read_text(errors="replace")))


if __name__ == "__main__":
    main()
