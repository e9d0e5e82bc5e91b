"""A day's load in minutes: an office, twenty phones, clients and workers against gunicorn, PostgreSQL and Redis.

    python -m tests.load.mix --minutes 5        (starts everything itself, on free ports, and stops it)

Three people browse all main pages of the office (a page every second or so), twenty phones tick, measure and send, say
hello and fetch their rounds, two clients look at their gardens, and workers send mails to a mail server of ours. The
book is the demo business. One JSON line: requests, errors (each named), seconds per page (p50, p95, p99), mails, and the
memory of each process [MB] at the start (after a warm-up), in the middle and at the end.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import sys
import threading
import time
from collections import Counter, defaultdict
from collections.abc import Callable
from typing import Any

from tests.services.field_day import Phone
from tests.services.mail_server import MailServer, mail_server
from tests.services.servers import Process, Servers, servers
from tests.services.visitor import Answer, Visitor, session_of

OFFICE, PHONES, CLIENTS = 3, 20, 2
WARM_UP_SECONDS = 10
MAILS_A_SECOND = 1.0
FINE = {200, 302, 304}


class Tally:
    """What was asked, how long it took, and what went wrong."""

    def __init__(self) -> None:
        self.lock = threading.Lock()
        self.seconds: dict[str, list[float]] = defaultdict(list)
        self.errors: Counter[str] = Counter()

    def add(self, name: str, answer: Answer) -> None:
        with self.lock:
            self.seconds[name].append(answer.seconds)
            if answer.status not in FINE:
                self.errors[f"{name}: {answer.status}"] += 1

    def told(self) -> dict[str, Any]:
        pages = {name: _percentiles(times) for name, times in sorted(self.seconds.items())}
        everything = [one for times in self.seconds.values() for one in times]
        return {"all": _percentiles(everything), "pages": pages, "errors": dict(self.errors)}


def _percentiles(times: list[float]) -> dict[str, float]:
    ordered = sorted(times)

    def at(share: float) -> float:
        return round(ordered[min(int(share * len(ordered)), len(ordered) - 1)], 4)

    return {"requests": len(ordered), "p50": at(0.5), "p95": at(0.95), "p99": at(0.99)}


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--minutes", type=float, default=5.0)
    parser.add_argument("--plan-seconds", type=int, default=5, help="how long the demo's rounds are worked out")
    parser.add_argument("--sites", type=int, help="a made-up book of this many gardens instead of the demo business")
    given = parser.parse_args()
    with mail_server() as mail, servers("fruit-load-", **mail.settings) as running:
        if given.sites is None:
            running.manage("build_demo", "--json", "--seconds", str(given.plan_seconds))
        set_up(running)
        if given.sites is not None:
            grow_book(given.sites)
        web, port = running.start_web(workers=2, threads=4)
        workers = [running.start_worker(concurrency=2)]
        beat = running.start_beat()
        told = load(running, port, mail, [web, *workers, beat], given.minutes * 60)
    sys.stdout.write(json.dumps(told) + "\n")


def set_up(running: Servers) -> None:
    """Django in this process, on the database of those servers."""
    os.environ.update(running.environment)
    os.environ["DJANGO_SETTINGS_MODULE"] = "deploy.settings"
    import django

    django.setup()


def grow_book(sites: int) -> None:
    from tests.grown_book import Size, grow

    grow(Size(sites=sites, years=2))


def load(running: Servers, port: int, mail: MailServer, processes: list[Process], seconds: float) -> dict[str, Any]:
    phones = [Phone(port, number, jobs=30) for number in range(PHONES)]
    before = len(mail.mails)
    acts = [
        *(_office(port, number) for number in range(OFFICE)),
        *(_field(phone, number) for number, phone in enumerate(phones)),
        *(_client(port, number) for number in range(CLIENTS)),
    ]
    tally, stop = Tally(), threading.Event()
    began = time.monotonic()
    threads = [threading.Thread(target=_again, args=[act, tally, stop]) for act in acts]
    sender = threading.Thread(target=_mails, args=[stop])
    for thread in [*threads, sender]:
        thread.start()
    memory: dict[str, dict[str, float]] = {}
    for name, moment in (("start", min(WARM_UP_SECONDS, seconds / 4)), ("middle", seconds / 2), ("end", seconds)):
        time.sleep(max(began + moment - time.monotonic(), 0))
        memory[name] = _memory(running, processes)
    stop.set()
    for thread in [*threads, sender]:
        thread.join(90)
    took = time.monotonic() - began
    told = tally.told()
    return {
        "seconds": round(took, 1),
        "requests_a_second": round(told["all"]["requests"] / took, 1),
        **told,
        **_afterwards(phones, mail, before),
        "memory_mb": memory,
    }


def _again(act: Callable[[Tally], float], tally: Tally, stop: threading.Event) -> None:
    while not stop.is_set():
        try:
            pause = act(tally)
        except Exception as error:  # noqa: BLE001 – a load test counts what goes wrong and goes on
            with tally.lock:
                tally.errors[f"visitor: {error!r}"[:200]] += 1
            pause = 1.0
        stop.wait(pause)


def _office(port: int, number: int) -> Callable[[Tally], float]:
    """Somebody who goes through the pages of the office in an order of their own."""
    from business.models import Staff
    from tests.office_pages import office_pages

    person = Staff.objects.create_user(f"desk{number}", role="office", name=f"Desk {number}", sees_prices=True)
    visitor, chance = Visitor(port, session_of(person)), random.Random(number)
    pages = [(name, path) for name, path in office_pages() if visitor.get(path).status == 200]

    def act(tally: Tally) -> float:
        name, path = chance.choice(pages)
        tally.add(name, visitor.get(path))
        return chance.uniform(0.3, 1.5)

    return act


def _field(phone: Phone, number: int) -> Callable[[Tally], float]:
    """A phone: now a tick, now a measurement, sent together some seconds later; hello and the round now and then."""
    chance = random.Random(1000 + number)
    open_jobs = list(phone.tasks)

    def act(tally: Tally) -> float:
        if open_jobs and chance.random() < 0.4:
            phone.answer(open_jobs.pop())
        phone.measure(chance.randint(300, 1500))
        which = chance.random()
        if which < 0.5:
            tally.add("field-acts", phone.send())
        elif which < 0.6:
            tally.add("field-hello", phone.visitor.get(f"/field/hello?phone={phone.uid}&waiting={len(phone.outbox)}"))
        elif which < 0.65:
            tally.add("field-pack", phone.visitor.post_json("/field/pack", {"phone": str(phone.uid)}))
        return chance.uniform(0.5, 3.0)

    return act


def _client(port: int, number: int) -> Callable[[Tally], float]:
    """A client who came by a link and looks about."""
    from business.models import Client
    from business.services.client_links import link_token

    client = Client.objects.filter(sites__isnull=False).order_by("pk")[number]
    visitor = Visitor(port)
    visitor.follow(f"/open/{link_token(client)}")
    trees = list(_trees_of(client))

    def act(tally: Tally) -> float:
        if trees and number % 2:
            tally.add("garden-tree", visitor.get(f"/garden/trees/{trees[0]}/"))
        tally.add("garden-door", visitor.get("/garden/"))
        return 3.0

    return act


def _trees_of(client: Any) -> Any:
    from gardens.models import Tree

    return Tree.objects.filter(site__client=client).values_list("pk", flat=True)


def _mails(stop: threading.Event) -> None:
    """What the program would write by itself: mails, queued beside the web processes."""
    from django.db import connection

    from tests import make

    while not stop.wait(1 / MAILS_A_SECOND):
        make.message(subject="Load")
    connection.close()


def _memory(running: Servers, processes: list[Process]) -> dict[str, float]:
    """Resident memory of each process and its children [MB], and of the services."""
    found = {}
    for process in processes:
        for place, pid in enumerate([process.pid, *process.children()]):
            name = process.name.split("-")[0]
            found[f"{name} {process.name.split('-')[-1]}.{place}"] = _resident(pid)
    if running.redis.process is not None:
        found["redis"] = _resident(running.redis.process.pid)
    return found


def _resident(pid: int) -> float:
    try:
        with open(f"/proc/{pid}/status", encoding="ascii") as file:
            kilobytes = next(int(line.split()[1]) for line in file if line.startswith("VmRSS"))
    except (FileNotFoundError, StopIteration):
        return 0.0
    return round(kilobytes / 1024, 1)


def _afterwards(phones: list[Phone], mail: MailServer, before: int) -> dict[str, Any]:
    """Nothing lost and nothing doubled: every act that was sent, every mail that was queued."""
    from business.models import Message
    from scheduling.models import FieldAct

    for phone in phones:
        for _ in range(20):
            if phone.outbox:
                phone.send()
    deadline = time.monotonic() + 60
    queued = Message.objects.filter(subject="Load")
    while queued.exclude(state="handed_over").exists() and time.monotonic() < deadline:
        time.sleep(0.5)
    said = [uid for phone in phones for uid in phone.said]
    loads = mail.copies()["Load"]
    return {
        "acts": {"said": len(said), "kept": FieldAct.objects.filter(uid__in=said, result="accepted").count()},
        "mails": {"queued": queued.count(), "copies": loads, "all": len(mail.mails) - before},
    }


if __name__ == "__main__":
    main()
