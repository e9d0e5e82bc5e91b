"""Redis, PostgreSQL, the clock and the disk fail under real processes; tells as JSON what was lost and what doubled.

python -m tests.faults.broken_services        (starts PostgreSQL, Redis, web server, workers of its own)
"""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from tests.services.field_day import Phone, photo_of
from tests.services.mail_server import MailServer, mail_server
from tests.services.servers import Process, Servers, servers, wait_for
from tests.services.several_machines import set_up
from tests.services.visitor import Visitor, session_of

PHONES = 4
ACTS = 150
INVOICES = 12
RESTARTS = 3
MAILS = 20


def main() -> None:
    with mail_server() as mail, servers("fruit-broken-", **mail.settings) as running:
        set_up(running)
        web, port = running.start_web(threads=8)
        told = {
            "broker": broker_forgets(running, port, mail),
            "database": database_restarts(running, web, port),
            "clock": clock_changes(running, mail),
            "disk": disk_fills(running),
        }
    sys.stdout.write(json.dumps(told) + "\n")


# The broker


def broker_forgets(running: Servers, port: int, mail: MailServer) -> dict[str, Any]:
    """Jobs are queued, the broker forgets them all; a visit is finished while it is away; then the sweeps run.

    Every job comes three times at last, to two children.
    """
    from business.jobs import later
    from business.models import Charge, Message
    from scheduling.models import Visit, VisitReport
    from tests import make

    messages = [make.message(subject=f"Broker {number}") for number in range(MAILS)]
    running.redis.stop()
    visits, took = finished_visits(port)
    states = [Visit.objects.get(pk=visit.pk).state for visit in visits]
    running.redis.start()
    worker = running.start_worker()
    # As if five minutes went by: what is younger may still be under way.
    Visit.objects.update(started_at=None)
    for visit in Visit.objects.filter(state="finished"):
        Visit.objects.filter(pk=visit.pk).update(finished_at=visit.finished_at - timedelta(minutes=6))
    for name in ("business.tasks.send_waiting_messages", "scheduling.tasks.take_up_lost_closings"):
        later(name)
    wait_for(lambda: VisitReport.objects.count() == len(visits), "the reports", 120)
    for _ in range(2):
        for visit in visits:
            later("scheduling.tasks.close_finished", visit_id=visit.pk)
        for message in messages:
            later("business.tasks.send_message", message_id=message.pk)
    running.redis.stop()  # under a running worker: it must find the way back by itself
    running.redis.start()
    follower = make.message(subject="Broker, afterwards")
    wait_for(lambda: Message.objects.get(pk=follower.pk).state == "handed_over", "the worker's way back", 120)
    later("business.tasks.send_waiting_messages")
    wait_for(lambda: not Message.objects.filter(state="waiting").exists(), "the mails", 120)
    worker.stop()
    return {
        "finished while away": states,
        "slowest answer": round(max(took), 2),
        "mails": sum(state == "handed_over" for state in Message.objects.values_list("state", flat=True)),
        "expected": MAILS + len(visits) + 1,
        "copies": sorted(set(mail.copies().values())),
        "charge sets": sorted(
            Charge.objects.filter(reference__startswith=f"visit:{visit.pk}").count() for visit in visits
        ),
    }


def finished_visits(port: int) -> tuple[list[Any], list[float]]:
    """Three visits a crew finishes through its phone while the broker is away; and the seconds each answer took."""
    from tests import make

    phones = [Phone(port, number, jobs=2) for number in range(1, 4)]
    took = []
    for phone in phones:
        make.agreement(client=phone.visit.site.client)
        for task in phone.tasks:
            phone.answer(task)
        phone.say(kind="finished", value={"minutes": 60})
        answer = phone.send()
        assert answer.status == 200, answer
        took.append(answer.seconds)
    return [phone.visit for phone in phones], took


# The database


def database_restarts(running: Servers, web: Process, port: int) -> dict[str, Any]:
    """Phones send and an office issues invoices while PostgreSQL is thrown over again and again."""
    from business import clock
    from business.models import Invoice, NumberSeries, Staff
    from scheduling.models import FieldAct
    from tests import make

    before = set(web.children())
    office = Staff.objects.create_user("oriel", role="office", name="Oriel", sees_prices=True)
    drafts = [make.draft() for _ in range(INVOICES)]
    at_office = Visitor(port, session_of(office))
    phones = [Phone(port, number, jobs=20) for number in range(10, 10 + PHONES)]
    for phone in phones:
        for number in range(ACTS):
            phone.measure(400 + number)
    statuses: dict[int, int] = {}
    gate, is_over = threading.Lock(), threading.Event()

    def count(status: int) -> None:
        with gate:
            statuses[status] = statuses.get(status, 0) + 1

    def field(phone: Phone) -> None:
        while phone.outbox:
            status = phone.send(most=10).status
            count(status)
            time.sleep(0.05 if status == 200 else 0.3)

    today = clock.now().date().isoformat()

    def issuing() -> None:
        for draft in drafts:
            while True:
                status = at_office.post(f"/invoices/{draft.pk}/issue/", issued_on=today).status
                count(status)
                if status in (200, 302) or is_over.wait(0.3):
                    break
            time.sleep(0.2)

    threads = [threading.Thread(target=field, args=[phone]) for phone in phones] + [threading.Thread(target=issuing)]
    for thread in threads:
        thread.start()
    throw_over(running)
    for thread in threads:
        thread.join(180)
    is_over.set()
    forget_connections()
    issued = sorted(Invoice.objects.exclude(number=None).exclude(number="").values_list("number", flat=True))
    said = {uid for phone in phones for uid in phone.said}
    return {
        "statuses": {str(status): count for status, count in sorted(statuses.items())},
        "acts": FieldAct.objects.filter(uid__in=said, result="accepted").count(),
        "expected": PHONES * ACTS,
        "issued": len(issued),
        "numbers": len(set(issued)),
        "last number": max(NumberSeries.objects.values_list("last", flat=True)),
        "same processes": before == set(web.children()),
    }


def throw_over(running: Servers) -> None:
    for _ in range(RESTARTS):
        time.sleep(0.8)
        running.postgres.stop("immediate")
        time.sleep(0.4)
        running.postgres.start()


def forget_connections() -> None:
    """What this process had open was thrown out as well."""
    from django.db import connections

    connections.close_all()


# The clock

AUTUMN = date(2026, 10, 25)
"""In Britain clocks go back at 02:00 that Sunday (The Summer Time Order 2002, SI 2002/262)."""


def clock_changes(running: Servers, mail: MailServer) -> dict[str, Any]:
    """The clock of the workers' machine is stepped about around the night that has 25 hours; reminders are written."""
    from business.jobs import later
    from business.models import Message
    from tests import make_garden

    days = [AUTUMN, AUTUMN + timedelta(days=1)]
    for day in days:
        make_garden.visit(on=day)
    counts = []
    moments = ["2026-10-24T15:00", "2026-10-24T14:00", "2026-10-25T00:30", "2026-10-25T01:30", "2026-10-25T15:00"]
    moments += ["2026-10-25T14:00", "2026-10-26T15:00"]
    for moment in moments:
        worker = running.start_worker(app="tests.faults.deadly_app", concurrency=1, CLOCK_AT=f"{moment}+00:00")
        later("scheduling.tasks.write_reminders")
        wait_for(lambda worker=worker: "write_reminders" in _done(worker), "the reminders", 120)
        later("business.tasks.send_waiting_messages")
        wait_for(lambda worker=worker: "send_waiting_messages" in _done(worker), "the sweep", 120)
        wait_for(lambda worker=worker: _done(worker).count("send_message") == _got(worker), "the mails", 120)
        counts.append(Message.objects.filter(kind="reminder", key__startswith="reminder:visit").count())
        worker.stop()
    told = Message.objects.filter(key__startswith="reminder:visit")
    return {
        "moments": dict(zip(moments, counts, strict=False)),
        "reminders": told.count(),
        "copies": [mail.copies()[message.subject] for message in told],
        "states": sorted(told.values_list("state", flat=True)),
    }


def _done(worker: Process) -> list[str]:
    lines = worker.log.read_text(errors="replace").splitlines()
    return [_name(line) for line in lines if " succeeded in " in line]


def _got(worker: Process) -> int:
    lines = worker.log.read_text(errors="replace").splitlines()
    return sum(" received" in line and _name(line) == "send_message" for line in lines)


def _name(line: str) -> str:
    return line.partition("Task ")[2].partition("[")[0].rpartition(".")[2]


# The disk

LARGEST_FILE = 120_000
"""Where no small file system may be mounted, files of the web process may grow to this many bytes instead."""


@contextmanager
def small_disk(folder: Path, kilobytes: int) -> Iterator[str]:
    """A file system of its own of that size, if this account may make one."""
    folder.mkdir()
    done = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={kilobytes}k", "tmpfs", str(folder)], capture_output=True, check=False
    )
    try:
        yield "tmpfs" if done.returncode == 0 else "limit"
    finally:
        if done.returncode == 0:
            subprocess.run(["umount", "--lazy", str(folder)], check=False)


def disk_fills(running: Servers) -> dict[str, Any]:
    """The disk of pieces, pictures and papers is full while photos and ticks come in; then there is room again."""
    from gardens.models import Photo

    folder = running.folder / "small"
    with small_disk(folder, 1400) as how:
        if how == "limit":
            resource.setrlimit(resource.RLIMIT_FSIZE, (LARGEST_FILE, resource.RLIM_INFINITY))
        web, port = running.start_web(VAR_DIR=str(folder))
        resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
        phone = Phone(port, 50)
        filler = folder / "filler"
        if how == "tmpfs":
            room = os.statvfs(folder)
            filler.write_bytes(b"0" * (room.f_bavail * room.f_frsize - 200_000))
        picture = photo_of(2)
        digest = phone.announce(picture)
        ticks = [phone.send().status]
        statuses, have = [], 0
        for _ in range(8):
            answer = phone.send_piece(digest, picture, have)
            statuses.append(answer.status)
            if answer.status == 200:
                have = answer.json()["have"]
        phone.measure(500)
        ticks.append(phone.send().status)
        while_full = Photo.objects.get(digest=digest).is_here
        left_over = [path.name for path in (folder / "media").rglob("*.jpg")] if (folder / "media").exists() else []
        if how == "limit":
            web.stop()
            web, port = running.start_web(VAR_DIR=str(folder))
            phone.visitor = Visitor(port, phone.visitor.cookies["sessionid"])
        filler.unlink(missing_ok=True)
        have = phone.visitor.get(f"/field/photos/{digest}").json()["have"]
        resumed_at = have
        for _ in range(20):
            answer = phone.send_piece(digest, picture, have)
            if answer.status != 200 or answer.json()["is_here"]:
                break
            have = answer.json()["have"]
        kept = Photo.objects.get(digest=digest)
        seen = phone.visitor.get(f"/field/pictures/{kept.uid}")
        files = sorted(path.name for path in (folder / "media").rglob("*.jpg"))
        parts = sorted(path.name for path in folder.rglob("*.part"))
        web.stop()
    return {
        "how": how,
        "pieces": statuses,
        "ticks": ticks,
        "here while full": while_full,
        "half pictures": left_over,
        "resumed at": resumed_at,
        "here at last": kept.is_here,
        "seen": seen.status,
        "files": len(files),
        "parts left": parts,
    }


if __name__ == "__main__":
    main()
