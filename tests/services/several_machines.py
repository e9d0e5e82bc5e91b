"""Two web servers and three workers on one PostgreSQL and one Redis, as deploy/GUIDE.md says; tells as JSON what happened.

python -m tests.services.several_machines
"""

from __future__ import annotations

import json
import os
import re
import sys
from typing import Any

from tests.services.field_day import PIECE, Phone, photo_of
from tests.services.mail_server import MailServer, mail_server
from tests.services.servers import Process, Servers, servers, wait_for
from tests.services.visitor import Answer, Visitor, session_of

MAILS = 30
COPIES = 3
TOKEN = "a word for the watcher"  # noqa: S105 – of tests only
PASSWORD = "seven pears on a wall"  # noqa: S105 – of people who exist in tests only


def set_up(running: Servers) -> None:
    """Django in this process, on the database of those servers."""
    os.environ.update(running.environment)
    os.environ["DJANGO_SETTINGS_MODULE"] = "deploy.settings"
    import django

    django.setup()
    from tests import make

    make.profile()


def main() -> None:
    with mail_server() as mail, servers("fruit-several-", **mail.settings, METRICS_TOKEN=TOKEN) as running:
        set_up(running)
        ports = [running.start_web()[1] for _ in range(2)]
        workers = [running.start_worker(concurrency=1) for _ in range(3)]
        told = {
            "mails": mails_once(workers, mail),
            "session": session_across(ports),
            "photo": photo_across(ports),
            "figures": figures_across(ports),
            "ready": [Visitor(port).get("/readyz").status for port in ports],
        }
    sys.stdout.write(json.dumps(told) + "\n")


def mails_once(workers: list[Process], mail: MailServer) -> dict[str, Any]:
    """Each mail is put in the queue three times, for three workers to fight over."""
    from business.jobs import later
    from business.models import Message
    from tests import make

    messages = [make.message(subject=f"Tomorrow, garden {number}") for number in range(MAILS)]
    for _ in range(COPIES - 1):
        for message in messages:
            later("business.tasks.send_message", message_id=message.pk)
    done = re.compile(r"business\.tasks\.send_message\[[^\]]+\] succeeded")

    def finished() -> list[int]:
        return [len(done.findall(worker.log.read_text(errors="replace"))) for worker in workers]

    wait_for(lambda: sum(finished()) >= MAILS * COPIES, "the mails", 120)
    states = Message.objects.filter(pk__in=[message.pk for message in messages]).values_list("state", flat=True)
    return {
        "handed over": list(states).count("handed_over"),
        "copies": sorted(set(mail.copies().values())),
        "different": len(mail.copies()),
        "jobs of each worker": finished(),
    }


def session_across(ports: list[int]) -> dict[str, Any]:
    """Signed in at one server, known at the other; signed out there, unknown here."""
    from business.models import Staff

    Staff.objects.create_user("oriel", PASSWORD, role="office", name="Oriel", email="oriel@example.com")
    first, second = (Visitor(port) for port in ports)
    before = second.get("/clients/").status
    entered = first.post("/sign-in/", username="oriel", password=PASSWORD)
    first.cookies["sessionid"] = second.cookies["sessionid"] = _session_in(entered)
    seen = [first.get("/clients/").status, second.get("/clients/").status]
    left = second.post("/sign-out/").status
    return {
        "before": before,
        "signed in": entered.status,
        "seen": seen,
        "left": left,
        "after": first.get("/clients/").status,
    }


def _session_in(answer: Answer) -> str:
    found = re.search(r"sessionid=([^;]+)", answer.headers.get("Set-Cookie", ""))
    return found[1] if found else ""


def photo_across(ports: list[int]) -> dict[str, Any]:
    """A photo whose pieces go to the two servers in turn, looked at through both."""
    from gardens.models import Photo

    phone = Phone(ports[0], 1)
    other = Visitor(ports[1], session_of(phone.person))
    picture = photo_of(1)
    digest = phone.announce(picture)
    announced = phone.send().status
    statuses = []
    for number, offset in enumerate(range(0, len(picture), PIECE)):
        statuses.append(phone.send_piece(digest, picture, offset, through=other if number % 2 else None).status)
    kept = Photo.objects.get(digest=digest)
    seen = [visitor.get(f"/field/pictures/{kept.uid}") for visitor in (phone.visitor, other)]
    return {
        "announced": announced,
        "pieces": statuses,
        "is here": kept.is_here,
        "seen": [answer.status for answer in seen],
        "same bytes": seen[0].body == seen[1].body and len(seen[0].body) > 1000,
    }


def figures_across(ports: list[int]) -> dict[str, Any]:
    """Either server tells the requests of both, since they share a machine and its folder."""
    name = 'fruit_requests_total{pages="scheduling",name="field-hello",method="GET",status="401"}'
    name = name.replace('"scheduling"', '"field"')
    for port in ports:
        Visitor(port).get("/field/hello")
    told = []
    for port in ports:
        answer = Visitor(port).ask("GET", "/metrics", headers={"Authorization": f"Bearer {TOKEN}"})
        told += [line.rpartition(" ")[2] for line in answer.body.decode().splitlines() if line.startswith(name)]
    return {"told": told}


if __name__ == "__main__":
    main()
