"""When something happened, by a phone whose clock may be wrong."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

DOUBTFUL = timedelta(seconds=120)
"""A clock further off than this is remarked."""
AHEAD = timedelta(minutes=5)


@dataclass(frozen=True, kw_only=True)
class Moment:
    """A trusted moment and what is doubtful about it."""

    at: datetime
    flags: frozenset[str] = frozenset()


def moment_of(
    device_time: datetime, *, received_at: datetime, offset_s: float | None = None, pack_at: datetime | None = None
) -> Moment:
    """The phone's time set right by its measured offset, never later than the moment it reached us.

    Args:
        device_time: what the phone's clock said, aware.
        received_at: when the act reached us, aware; the same act keeps its first one.
        offset_s: server clock minus phone clock, as the phone last measured it [s]; None if it never did.
        pack_at: when the phone fetched the round it worked from; nothing done from it can be earlier.
    """
    if device_time.tzinfo is None or received_at.tzinfo is None:
        raise ValueError("moments must know their time zone")
    flags = set()
    at = device_time + timedelta(seconds=offset_s or 0)
    if offset_s is None:
        flags.add("clock_unchecked")
    elif abs(timedelta(seconds=offset_s)) > DOUBTFUL:
        flags.add("clock_off")
    if at > received_at + AHEAD:
        flags.add("from_the_future")
    if pack_at is not None and at < pack_at - AHEAD:
        flags.add("before_the_round")
    return Moment(at=min(at, received_at), flags=frozenset(flags))
