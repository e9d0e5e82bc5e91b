"""A crew's day in the database that Django is set up for, and phones that answer it over the wire."""

from __future__ import annotations

import hashlib
import io
import random
import uuid
from datetime import timedelta
from typing import Any

from tests.services.visitor import Answer, Visitor, session_of

PIECE = 64 * 1024


class Phone:
    """One person's phone with one visit of today: it numbers its acts, and keeps each until a receipt names it."""

    def __init__(self, port: int, number: int, jobs: int = 10) -> None:
        from business import clock
        from business.models import Staff
        from scheduling.models import HandedOut
        from scheduling.services.field_phones import meet_phone
        from tests import make_garden

        self.person = Staff.objects.create_user(f"phone{number}", role="crew", name=f"Phone {number}")
        tree = make_garden.tree()
        needs = tuple(make_garden.need(tree=tree) for _ in range(jobs))
        crew = make_garden.crew(members=(self.person,))
        self.visit = make_garden.visit(needs=needs, on=clock.today(tree.site.zone), crew=crew)
        self.tree, self.uid = tree, uuid.uuid5(uuid.NAMESPACE_OID, f"phone {number}")
        phone = meet_phone(uid=self.uid, staff=self.person)
        HandedOut.objects.create(phone=phone, staff=self.person, visit=self.visit, first_at=clock.now())
        self.began = clock.now() - timedelta(hours=1)
        self.tasks = list(self.visit.work_order.tasks.order_by("pk"))
        self.visitor = Visitor(port, session_of(self.person))
        self.seq = 0
        self.outbox: list[dict[str, Any]] = []
        self.said: list[str] = []

    def say(self, **act: Any) -> None:
        self.seq += 1
        uid = str(uuid.uuid5(self.uid, str(self.seq)))
        at = (self.began + timedelta(seconds=self.seq)).isoformat()
        base = {"id": uid, "seq": self.seq, "schema": 1, "person": self.person.pk, "visit": self.visit.pk, "at": at}
        self.outbox.append({**base, "offset_s": 0, "value": {}, **act})
        self.said.append(uid)

    def answer(self, task: Any) -> None:
        job = {"tree": task.tree_id, "kind": task.kind, "limb": task.limb, "need": task.need_id}
        self.say(kind="done", task=task.pk, job=job)

    def measure(self, value: int) -> None:
        self.say(
            kind="measured", tree=self.tree.pk, value={"what": "limb_length", "limb": "arm:1:left", "value": value}
        )

    def announce(self, photo: bytes) -> str:
        digest = hashlib.sha256(photo).hexdigest()
        self.say(kind="photo", tree=self.tree.pk, value={"digest": digest, "pair": "after"})
        return digest

    def send(self, most: int = 50) -> Answer:
        """The oldest of what it holds; what is not named in a receipt stays."""
        answer = self.visitor.post_json(
            "/field/acts", {"phone": str(self.uid), "acts": self.outbox[:most], "waiting": len(self.outbox)}
        )
        if answer.status == 200:
            named = {one["id"] for one in answer.json()["receipts"]}
            self.outbox = [act for act in self.outbox if act["id"] not in named]
        return answer

    def send_piece(self, digest: str, photo: bytes, offset: int, through: Visitor | None = None) -> Answer:
        headers = {"Upload-Offset": str(offset), "Upload-Length": str(len(photo))}
        who = through or self.visitor
        return who.ask("PUT", f"/field/photos/{digest}", photo[offset : offset + PIECE], headers)


def photo_of(number: int, side: int = 700) -> bytes:
    """A noisy picture, so that it does not shrink: about 250 kB at 700 px."""
    from PIL import Image

    picture = Image.frombytes("RGB", (side, side), random.Random(number).randbytes(side * side * 3))
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=60)
    return out.getvalue()
