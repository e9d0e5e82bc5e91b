"""How long 1 000 acts take on the server, with how many questions; how heavy the first load of a day's round is.

    python -m tests.benchmarks.field_sync        (makes a database of its own in a temporary folder)

One JSON line: ``sync`` with seconds, seconds of the processor (what a machine with nothing else to do would take) and queries for one batch of 1 000 acts and for twenty of 50; ``load`` with the
compressed bytes (gzip 6) of shell, pack and drawings for 12 visits with 60 trees, and the seconds to build the pack.
"""

from __future__ import annotations

import gzip
import json
import os
import tempfile
import time
import uuid
from datetime import UTC, datetime, timedelta
from typing import Any

TEN = datetime(2025, 1, 14, 10, 0, tzinfo=UTC)
LATER = TEN + timedelta(hours=8)
VISITS = 12
TREES_A_VISIT = 5
ACTS = 1000
BATCH = 50


def prepare() -> None:
    os.environ["VAR_DIR"] = tempfile.mkdtemp(prefix="field-sync-")
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)


def build_day(jobs_a_tree: int) -> tuple[Any, list[Any]]:
    """A crew's day of today: twelve gardens, five trees each, with some years of measurements."""
    from business.models import Staff
    from scheduling.services.field_pack import today_of
    from tests import make, make_garden

    make.profile()
    person = Staff.objects.create_user(f"walker{make.next_number()}", role="crew")
    crew = make_garden.crew(members=(person,))
    today = today_of(person)
    visits = []
    for position in range(1, VISITS + 1):
        row = make_garden.support(length_mm=30_000)
        needs = []
        for number in range(TREES_A_VISIT):
            tree = make_garden.tree(support=row, position_mm=2000 + 4000 * number)
            make_garden.record(tree=tree, on=TEN.date() - timedelta(days=60), value=900.0 + 70 * number)
            for limb in (
                "leader",
                "arm:1:left",
                "arm:1:right",
                "arm:2:left",
                "arm:2:right",
                "whole",
                "tier:1",
                "tier:2",
            )[:jobs_a_tree]:
                needs.append(make_garden.need(tree=tree, limb=limb))
        visits.append(make_garden.visit(needs=tuple(needs), on=today, crew=crew, position=position))
    return person, visits


def acts_of(person: Any, visits: list[Any], first_seq: int = 1) -> list[dict[str, Any]]:
    """Answers to every job, then measurements and notes, up to the wanted number."""
    said: list[dict[str, Any]] = []
    for visit in visits:
        for task in visit.work_order.tasks.order_by("pk"):
            job = {"tree": task.tree_id, "kind": task.kind, "limb": task.limb, "need": task.need_id}
            said.append({"kind": "done", "visit": visit.pk, "task": task.pk, "job": job})
    places = [(visit.pk, tree) for visit in visits for tree in {task.tree_id for task in visit.work_order.tasks.all()}]
    while len(said) < ACTS:
        visit_id, tree = places[len(said) % len(places)]
        value = {"what": "limb_length", "limb": "arm:1:left", "value": 500 + len(said) % 300}
        said.append({"kind": "measured", "visit": visit_id, "tree": tree, "value": value})
    for seq, one in enumerate(said[:ACTS], first_seq):
        at = (TEN + timedelta(seconds=seq)).isoformat()
        base = {"id": str(uuid.uuid4()), "seq": seq, "schema": 1, "person": person.pk, "at": at, "offset_s": 0}
        said[seq - first_seq] = {**base, "value": {}, **one}
    return said[:ACTS]


def timed_sync(size: int) -> dict[str, Any]:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    from scheduling.models import FieldAct, Task
    from scheduling.services.field_sync import Batch, take_batch

    person, visits = build_day(jobs_a_tree=8)
    acts, phone = acts_of(person, visits), uuid.uuid4()
    spent, worked, counts = 0.0, 0.0, []
    for start in range(0, len(acts), size):
        batch = Batch(phone=phone, acts=acts[start : start + size])
        before, before_work = time.perf_counter(), time.process_time()
        take_batch(batch=batch, by=person, received_at=LATER)
        spent += time.perf_counter() - before
        worked += time.process_time() - before_work
    # Counted on a second day, because counting costs time of its own.
    person, visits = build_day(jobs_a_tree=8)
    acts, phone = acts_of(person, visits), uuid.uuid4()
    for start in range(0, len(acts), size):
        batch = Batch(phone=phone, acts=acts[start : start + size])
        with CaptureQueriesContext(
            connection,
        ) as asked:
            take_batch(batch=batch, by=person, received_at=LATER)
        counts.append(len(asked))
    done = Task.objects.filter(answered_by=person, state="done").count()
    kept = FieldAct.objects.filter(author=person, result="accepted").count()
    times = {"seconds": round(spent, 3), "processor_seconds": round(worked, 3)}
    return {"batch": size, **times, "most_queries": max(counts), "acts": kept, "done": done}


def first_load() -> dict[str, Any]:
    from django.contrib.staticfiles import finders
    from django.template.loader import render_to_string

    from scheduling.field.shell import KEPT
    from scheduling.services.field_pack import PackAsk, build_pack
    from scheduling.services.field_phones import meet_phone

    person, _ = build_day(jobs_a_tree=4)
    phone = meet_phone(uid=uuid.uuid4(), staff=person)
    before = time.perf_counter()
    pack = build_pack(staff=person, ask=PackAsk(phone=phone))
    seconds = time.perf_counter() - before
    assert pack is not None
    shell = len(gzip.compress(render_to_string("scheduling/field/page.html").encode(), 6))
    for name in KEPT:
        with open(str(finders.find(name)), "rb") as file:
            content = file.read()
        shell += len(content) if name.endswith(".woff2") else len(gzip.compress(content, 6))
    whole = len(gzip.compress(json.dumps({"pack": pack}).encode(), 6))
    drawings = len(gzip.compress(json.dumps(pack["drawings"]).encode(), 6))
    return {
        "visits": len(pack["stops"]),
        "trees": sum(len(stop["trees"]) for stop in pack["stops"]),
        "shell_bytes": shell,
        "pack_bytes": whole,
        "drawings_bytes": drawings,
        "total_bytes": shell + whole,
        "pack_seconds": round(seconds, 2),
    }


def main() -> None:
    prepare()
    print(json.dumps({"sync": [timed_sync(ACTS), timed_sync(BATCH)], "load": first_load()}))


if __name__ == "__main__":
    main()
