"""Phones send to a database of its own while processes are killed in the middle; tells what came of it as JSON.

    VAR_DIR=… python -m tests.faults.field_batches        (an empty folder, or DATABASE_URL of an empty database)

Runs as a process of its own because it forks, and because what it kills must not be the test.
"""

from __future__ import annotations

import json
import os
import random
import signal
import sys
import uuid
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

ACTS = 200
BATCH = 50
KILLS = 12
TWINS = 5
TEN = datetime(2025, 1, 14, 10, 0, tzinfo=UTC)
LATER = TEN + timedelta(hours=8)


def prepare() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)


def build_round(number: int) -> tuple[Any, Any, list[dict[str, Any]]]:
    """One person's visit with a hundred jobs, and two hundred acts on it; the same acts for the same number."""
    from business.models import Staff
    from scheduling.models import HandedOut
    from scheduling.services.field_phones import meet_phone
    from tests import make_garden

    person = Staff.objects.create_user(f"walker{number}", role="crew")
    tree = make_garden.tree()
    needs = tuple(make_garden.need(tree=tree) for _ in range(ACTS // 2))
    visit = make_garden.visit(needs=needs, on=TEN.date(), crew=make_garden.crew(members=(person,)))
    phone = uuid.uuid5(uuid.NAMESPACE_OID, f"phone{number}")
    HandedOut.objects.create(phone=meet_phone(uid=phone, staff=person), staff=person, visit=visit, first_at=TEN)
    return person, phone, list(acts_of(number, person, visit, tree))


def acts_of(number: int, person: Any, visit: Any, tree: Any) -> Any:
    """Answers to every job, some of them taken back; measurements, notes, and at last the finish."""
    tasks = list(visit.work_order.tasks.order_by("pk"))
    said: list[dict[str, Any]] = [{"kind": "started"}]
    for place, task in enumerate(tasks):
        job = {"tree": tree.pk, "kind": task.kind, "limb": task.limb, "need": task.need_id}
        if place % 3 == 0:
            said.append({"kind": "not_done", "task": task.pk, "job": job, "value": {"reason": "weather"}})
        else:
            said.append({"kind": "done", "task": task.pk, "job": job})
    while len(said) < ACTS - 1:
        place = len(said)
        if place % 2:
            value = {"what": "limb_length", "limb": f"arm:1:{'left' if place % 4 == 1 else 'right'}", "value": place}
            said.append({"kind": "measured", "tree": tree.pk, "value": value})
        else:
            said.append({"kind": "note", "tree": tree.pk, "value": {"text": f"note {place}"}})
    said.append({"kind": "finished", "value": {"minutes": 90}})
    for seq, one in enumerate(said, 1):
        uid = uuid.uuid5(uuid.NAMESPACE_OID, f"{number}|{seq}")
        at = TEN + timedelta(seconds=10 * seq)
        base = {"id": str(uid), "seq": seq, "schema": 1, "person": person.pk, "visit": visit.pk, "at": at.isoformat()}
        yield {**base, "offset_s": 0, "value": {}, **one}


def send(person: Any, phone: Any, acts: list[dict[str, Any]]) -> list[str]:
    from scheduling.services.field_sync import Batch, take_batch

    batch = Batch(phone=phone, acts=acts)
    return [receipt.result for receipt in take_batch(batch=batch, by=person, received_at=LATER).receipts]


def standing(person: Any) -> dict[str, Any]:
    """What stands of one person's visit, without anything that differs between two equal visits."""
    from gardens.models import Record
    from scheduling.models import FieldAct, Need, Task, Visit

    visit = Visit.objects.get(round__crew__members__staff=person)
    tasks = Task.objects.filter(work_order__visit=visit).order_by("pk")
    records = Record.objects.filter(tree__site=visit.site, is_withdrawn=False)
    return {
        "visit": [visit.state, visit.minutes_taken],
        "tasks": [
            [state, reason, str(at)] for state, reason, at in tasks.values_list("state", "reason", "answered_at")
        ],
        "needs": list(Need.objects.filter(site=visit.site).order_by("pk").values_list("state", flat=True)),
        "records": sorted(
            [kind, what, limb, value, text, str(on)]
            for kind, what, limb, value, text, on in records.values_list("kind", "what", "limb", "value", "text", "on")
        ),
        "acts": FieldAct.objects.filter(author=person).count(),
        "receipts": FieldAct.objects.filter(author=person, result="accepted").count(),
    }


def in_a_child(work: Callable[[], None]) -> int:
    """Run in a forked process with a connection of its own; gives its exit status, negative if it was killed."""
    from django.db import connections

    connections.close_all()
    child = os.fork()
    if child == 0:
        try:
            work()
            os._exit(0)
        except BaseException as error:  # noqa: BLE001 - a forked child must never come back into the parent's code
            sys.stderr.write(f"{error!r}\n")
            os._exit(1)
    return child


def wait(child: int) -> int:
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def kill_at(query: int) -> Callable[..., Any]:
    """Stop the process dead when it is about to ask its n-th question."""
    asked = 0

    def wrapper(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        nonlocal asked
        asked += 1
        if asked == query:
            os.kill(os.getpid(), signal.SIGKILL)
        return execute(sql, params, many, context)

    return wrapper


def killed_batches(number: int) -> dict[str, Any]:
    """The server dies at many places of a batch; the phone sends again until it has its receipts."""
    from django.db import connection

    person, phone, acts = build_round(number)
    chance = random.Random(number)
    deaths = 0
    for start in range(0, len(acts), BATCH):
        batch = acts[start : start + BATCH]
        for _ in range(KILLS // (ACTS // BATCH)):
            query = chance.randint(2, 40)

            def work(query: int = query, batch: list[dict[str, Any]] = batch) -> None:
                with connection.execute_wrapper(kill_at(query)):
                    send(person, phone, batch)

            deaths += wait(in_a_child(work)) == -signal.SIGKILL
        send(person, phone, batch)
    return {"deaths": deaths, "state": standing(person)}


def parallel_batches(number: int) -> dict[str, Any]:
    """The same batch from five requests at once."""
    person, phone, acts = build_round(number)
    failures = 0
    for start in range(0, len(acts), BATCH):
        batch = acts[start : start + BATCH]
        children = [in_a_child(lambda batch=batch: send(person, phone, batch) and None) for _ in range(TWINS)]
        failures += sum(wait(child) != 0 for child in children)
        send(person, phone, batch)
    return {"failures": failures, "state": standing(person)}


def cut_batches(number: int) -> dict[str, Any]:
    """The link is cut at every single act: before it is sent, and after it is stored but before the answer comes."""
    person, phone, acts = build_round(number)
    received = 0
    for place in range(len(acts)):
        piece = acts[max(0, place - 1) : place + 1]
        send(person, phone, piece)  # stored, and the answer is lost
        results = send(person, phone, piece)
        received += results[-1] == "already_had"
    return {"received_again": received, "state": standing(person)}


def main() -> None:
    prepare()
    person, phone, acts = build_round(1)
    for start in range(0, len(acts), BATCH):
        send(person, phone, acts[start : start + BATCH])
    told = {
        "clean": {"state": standing(person)},
        "killed": killed_batches(2),
        "parallel": parallel_batches(3),
        "cut": cut_batches(4),
    }
    sys.stdout.write(json.dumps(told) + "\n")


if __name__ == "__main__":
    main()
