"""Slow down whoever guesses passwords, without locking out the person whose name is guessed.

After five wrong passwords for a name from one address that address waits, twice as long each time, up to a quarter of
an hour; the same name from another address does not. An address that tries many names waits too. A name tried a
hundred times in a day from all over the world is open only to addresses where it worked before (a hundred in a row is
the most that NIST SP 800-63B, section 5.2.2, allows).
"""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import Sum
from django.utils.crypto import salted_hmac

from business import clock
from business.models import SignInTry, Staff

FREE_TRIES = 5
FIRST_WAIT, LONGEST_WAIT = timedelta(seconds=30), timedelta(minutes=15)
MOST_FROM_AN_ADDRESS, MOST_FOR_A_NAME = 50, 100
MEMORY = timedelta(days=1)
"""Older failures are forgotten."""


def wait_before(*, username: str, address: str) -> timedelta:
    """How long this name must wait at this address; zero: go ahead."""
    now = clock.now()
    fresh = SignInTry.objects.filter(last_failed_at__gt=now - MEMORY)
    pair = fresh.filter(username=_folded(username), address=address).first()
    if pair is not None and pair.failures >= FREE_TRIES and pair.last_failed_at is not None:
        wait: timedelta = min(FIRST_WAIT * 2 ** min(pair.failures - FREE_TRIES, 10), LONGEST_WAIT)
        if (left := pair.last_failed_at + wait - now) > timedelta(0):
            return left
    if _sum(fresh.filter(address=address, last_failed_at__gt=now - LONGEST_WAIT)) >= MOST_FROM_AN_ADDRESS:
        return LONGEST_WAIT
    if _sum(fresh.filter(username=_folded(username))) >= MOST_FOR_A_NAME and not _worked_here(username, address):
        return LONGEST_WAIT
    return timedelta(0)


@transaction.atomic
def note_failure(*, username: str, address: str) -> None:
    now = clock.now()
    row = _row(username, address)
    forgotten = row.last_failed_at is None or row.last_failed_at <= now - MEMORY
    row.failures = 1 if forgotten else row.failures + 1
    row.last_failed_at = now
    row.save()


@transaction.atomic
def note_success(*, username: str, address: str) -> None:
    row = _row(username, address)
    row.failures, row.last_failed_at, row.worked_at = 0, None, clock.now()
    row.save()


def second_step_name(staff: Staff) -> str:
    """The name under which tries after the password are counted: one that nobody can type, so that strangers who guess
    passwords do not slow down whoever knows it.
    """
    return salted_hmac("tries after the password", str(staff.pk)).hexdigest()


def link_ask_name(email: str) -> str:
    """The name under which asks for a new link to an address are counted; it tells nobody the address."""
    return salted_hmac("asks for a new link", email.strip().casefold()).hexdigest()


def forget_old_tries(*, at: datetime | None = None) -> int:
    """Drop rows that say nothing any more; how many comes back."""
    before = (at or clock.now()) - MEMORY
    return SignInTry.objects.filter(last_failed_at__lt=before, worked_at=None).delete()[0]


def _row(username: str, address: str) -> SignInTry:
    SignInTry.objects.get_or_create(username=_folded(username), address=address)
    return SignInTry.objects.select_for_update().get(username=_folded(username), address=address)


def _worked_here(username: str, address: str) -> bool:
    return SignInTry.objects.filter(username=_folded(username), address=address, worked_at__isnull=False).exists()


def _sum(tries: object) -> int:
    return tries.aggregate(n=Sum("failures"))["n"] or 0  # type: ignore[attr-defined]


def _folded(username: str) -> str:
    return username.strip().casefold()[:254]
