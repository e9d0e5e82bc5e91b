"""The addresses the phone talks to: hello, the pack, and acts."""

from __future__ import annotations

import json
import uuid
from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponseBase, JsonResponse
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_GET, require_POST

from business import clock
from business.errors import BadInput
from scheduling.field.doors import for_the_field, person_of, problem
from scheduling.services.field_pack import PackAsk, build_pack, pack_version, today_of
from scheduling.services.field_phones import hear_hello, mark_lost, meet_phone
from scheduling.services.field_sync import Batch, take_batch

LONGEST_BATCH = 2 * 1024 * 1024
PHONE_COOKIE = "field_phone"
COOKIE_SECONDS = 400 * 24 * 3600


@for_the_field
@ensure_csrf_cookie
@require_GET
def hello(request: HttpRequest) -> HttpResponseBase:
    """What the server knows of this phone, and what time it is; renews the form token."""
    phone_uid = _identity(request.GET.get("phone", ""))
    staff = person_of(request)
    if phone_uid is None:
        return _told({"person": {"id": staff.pk, "name": staff.name}})
    before = _identity(request.COOKIES.get(PHONE_COOKIE, ""))
    is_fresh = request.GET.get("fresh") == "yes" and before not in (None, phone_uid)
    was_lost = is_fresh and before is not None and mark_lost(uid=before, staff=staff)
    phone = meet_phone(uid=phone_uid, staff=staff)
    waiting, photos = _count(request.GET.get("waiting")), _count(request.GET.get("photos"))
    hear_hello(phone=phone, staff=staff, waiting=waiting, photos_waiting=photos)
    answer = _told(
        {
            "person": {"id": staff.pk, "name": staff.name},
            "known_seq": phone.known_seq,
            "pack_version": pack_version(staff, today_of(staff)),
            "was_lost": was_lost,
        }
    )
    answer.set_cookie(
        PHONE_COOKIE, str(phone_uid), max_age=COOKIE_SECONDS, httponly=True, samesite="Lax", secure=request.is_secure()
    )
    return answer


@for_the_field
@gzip_page
@require_POST
def pack(request: HttpRequest) -> HttpResponseBase:
    """The rounds of the next days; drawings the phone has already are left out."""
    asked = _body(request)
    phone_uid = _identity(str(asked.get("phone", ""))) if asked is not None else None
    if asked is None or phone_uid is None:
        return problem(422, "no-phone", "The phone did not say who it is")
    staff = person_of(request)
    have = asked.get("drawings")
    ask = PackAsk(
        phone=meet_phone(uid=phone_uid, staff=staff),
        have_version=str(asked.get("version", "")),
        have_drawings=[str(digest) for digest in have] if isinstance(have, list) else [],
    )
    return _told({"pack": build_pack(staff=staff, ask=ask)})


@for_the_field
@require_POST
def acts(request: HttpRequest) -> HttpResponseBase:
    """A batch of acts; every act gets its own receipt."""
    if int(request.headers.get("Content-Length") or 0) > LONGEST_BATCH:
        return problem(413, "too-much", "Too much at once", "Send fewer acts at a time.")
    said = _body(request)
    phone_uid = _identity(str(said.get("phone", ""))) if said is not None else None
    if said is None or phone_uid is None or not isinstance(said.get("acts"), list):
        return problem(400, "unreadable", "The batch could not be read", "Send it again.")
    staff = person_of(request)
    batch = Batch(
        phone=phone_uid,
        acts=said["acts"],
        waiting=_count(said.get("waiting")),
        photos_waiting=_count(said.get("photos")),
        oldest_waiting_at=_moment(said.get("oldest")),
    )
    try:
        outcome = take_batch(batch=batch, by=staff)
    except BadInput as refusal:
        return problem(413, "too-much", "Too many acts at once", str(refusal))
    receipts = [
        {"id": r.id, "result": r.result, "flags": list(r.flags), **({"problem": r.problem} if r.problem else {})}
        for r in outcome.receipts
    ]
    version = pack_version(staff, today_of(staff))
    return _told({"receipts": receipts, "known_seq": outcome.known_seq, "pack_version": version})


def _told(values: dict[str, Any]) -> JsonResponse:
    answer = JsonResponse({**values, "server_time": clock.now().isoformat()})
    answer["Cache-Control"] = "no-store"
    return answer


def _refuse_number(name: str) -> float:
    raise ValueError(f"{name} is not a number")


def _body(request: HttpRequest) -> dict[str, Any] | None:
    try:
        value = json.loads(request.body, parse_constant=_refuse_number)
    except (ValueError, RecursionError):
        return None
    return value if isinstance(value, dict) else None


def _identity(raw: str) -> uuid.UUID | None:
    try:
        return uuid.UUID(raw)
    except ValueError:
        return None


def _count(raw: object) -> int:
    try:
        return min(max(int(str(raw)), 0), 100_000)
    except ValueError:
        return 0


def _moment(raw: object) -> datetime | None:
    try:
        moment = datetime.fromisoformat(str(raw))
    except ValueError:
        return None
    return moment if moment.tzinfo else None
