"""Who is signed in where, for how long at most, and ending it.

A session ends after a while of rest and after a while in any case: soon for those who see money and every client, late
for a crew, whose phone may lie in a garden without a signal for days.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from typing import Any

from django.contrib.sessions.backends.base import SessionBase
from django.contrib.sessions.backends.db import SessionStore
from django.contrib.sessions.models import Session
from django.db import transaction
from django.db.models import QuerySet

from business import clock
from business.models import Staff, StaffSession
from business.services.audit import note

AT_DESK = (timedelta(hours=8), timedelta(hours=24))
IN_THE_FIELD = (timedelta(days=14), timedelta(days=30))
"""Rest, and in any case (ASVS v5.0.0-7.3.1, 7.3.2)."""
NOTED_EVERY = timedelta(minutes=5)
PROOF_LASTS = timedelta(minutes=30)
"""How long after the password or a code grave acts are open."""
FORM_LASTS = timedelta(minutes=30)
"""How long a form that was opened in time may be filled in."""

OPENED, USED, PROVED, FACTOR = "opened_at", "used_at", "proved_at", "second_factor"


@transaction.atomic
def open_session(*, session: SessionBase, staff: Staff, device: str, address: str) -> None:
    """Somebody's password was right: remember where and when."""
    now = clock.now()
    session[OPENED] = session[USED] = session[PROVED] = now.timestamp()
    session.pop(FACTOR, None)
    if session.session_key is None:
        session.create()
    StaffSession.objects.update_or_create(
        session_key=session.session_key,
        defaults={
            "staff": staff,
            "device": device[:300],
            "address": address,
            "opened_at": now,
            "used_at": now,
        },
    )


def is_over(session: SessionBase, staff: Staff) -> bool:
    """Rested too long, or signed in too long ago."""
    rest, whole = IN_THE_FIELD if staff.is_field else AT_DESK
    now = clock.now()
    return now - _moment(session, USED, now) > rest or now - _moment(session, OPENED, now) > whole


def note_use(*, session: SessionBase, address: str) -> None:
    """Write down that it is in use, every few minutes at most."""
    now = clock.now()
    if OPENED in session and now - _moment(session, USED, now) < NOTED_EVERY:
        return
    session.setdefault(OPENED, now.timestamp())
    session[USED] = now.timestamp()
    StaffSession.objects.filter(session_key=session.session_key, opened_at__lte=now).update(
        used_at=now, address=address
    )


def renew_key(session: SessionBase) -> None:
    """A fresh name for the session after a step that opens more (ASVS v5.0.0-7.2.4)."""
    old = session.session_key
    session.cycle_key()
    follow_key(old=old, new=session.session_key)


def follow_key(*, old: str | None, new: str | None) -> None:
    """The session goes on under another name."""
    if old and new:
        StaffSession.objects.filter(session_key=old).update(session_key=new)


def mark_proved(session: SessionBase, *, factor_id: int | None = None) -> None:
    """The password, or a code of the second factor, was right just now."""
    session[PROVED] = clock.now().timestamp()
    if factor_id is not None:
        session[FACTOR] = factor_id


def is_proved(session: SessionBase, *, while_filling_in: bool = False) -> bool:
    """Whether they proved who they are a short while ago; a form may be sent a little later than it was opened."""
    now = clock.now()
    lasts = PROOF_LASTS + (FORM_LASTS if while_filling_in else timedelta(0))
    return PROVED in session and now - _moment(session, PROVED, now) <= lasts


def sessions_of(staff: Staff) -> QuerySet[StaffSession]:
    """Those that are not over, the latest first."""
    rest, whole = IN_THE_FIELD if staff.is_field else AT_DESK
    now = clock.now()
    return StaffSession.objects.filter(staff=staff, used_at__gt=now - rest, opened_at__gt=now - whole)


@transaction.atomic
def end_session(*, staff: Staff, number: int) -> bool:
    """End one of somebody's sessions; False if it is not theirs or gone."""
    return bool(_end(StaffSession.objects.filter(staff=staff, pk=number), staff, "session ended"))


@transaction.atomic
def end_sessions(*, staff: Staff, but: str | None = None, why: str = "sessions ended") -> int:
    """End all of somebody's sessions, except the one with the key ``but``; how many were ended."""
    return _end(StaffSession.objects.filter(staff=staff).exclude(session_key=but or ""), staff, why)


def forget_old_sessions() -> int:
    """Remove what is over; how many rows went."""
    now = clock.now()
    rows = StaffSession.objects.filter(used_at__lt=now - max(IN_THE_FIELD))
    return rows.delete()[0] + Session.objects.filter(expire_date__lt=now).delete()[0]


def forget_session(key: str | None) -> None:
    """Signed out."""
    StaffSession.objects.filter(session_key=key or "").delete()


def _end(rows: QuerySet[StaffSession], staff: Staff, why: str) -> int:
    found = list(rows)
    for row in found:
        SessionStore(row.session_key).delete()
    StaffSession.objects.filter(pk__in=[row.pk for row in found]).delete()
    if found:
        note(why, f"person:{staff.pk}", before={"on": ", ".join(device_words(row.device) for row in found)})
    return len(found)


def _moment(session: SessionBase, name: str, missing: datetime) -> datetime:
    said: Any = session.get(name)
    return datetime.fromtimestamp(said, UTC) if isinstance(said, int | float) else missing


# Order matters: many browsers also name those they descend from.
BROWSERS = (
    (r"Edg(?:e|A|iOS)?/", "Edge"),
    (r"OPR/", "Opera"),
    (r"SamsungBrowser/", "Samsung browser"),
    (r"Firefox/|FxiOS/", "Firefox"),
    (r"Chrome/|CriOS/|Chromium/", "Chrome"),
    (r"Safari/", "Safari"),
)
SYSTEMS = (
    (r"iPhone", "an iPhone"),
    (r"iPad", "an iPad"),
    (r"Android.*Mobile", "an Android phone"),
    (r"Android", "an Android tablet"),
    (r"Windows", "Windows"),
    (r"Mac OS X|Macintosh", "a Mac"),
    (r"CrOS", "a Chromebook"),
    (r"Linux|X11", "Linux"),
)


def device_words(user_agent: str) -> str:
    """``Firefox on Windows``: what people recognise of what a browser calls itself."""
    browser = next((words for pattern, words in BROWSERS if re.search(pattern, user_agent)), "")
    system = next((words for pattern, words in SYSTEMS if re.search(pattern, user_agent)), "")
    if browser and system:
        return f"{browser} on {system}"
    return browser or system or "an unknown device"
