"""How long drives take: the estimate, corrected by what crews recorded; road times where a service told them."""

from __future__ import annotations

import urllib.error
import urllib.request
from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from http.client import HTTPException
from time import monotonic
from typing import Any

from django.conf import settings

from business import clock
from business.errors import BadInput
from business.queries.profile import our_profile
from scheduling.models import RoadLeg
from scheduling.queries.drives import learned_drives
from scheduling.rounds import (
    LegStore,
    Point,
    TableAnswer,
    TravelMatrix,
    estimate_matrix,
    join_to_estimate,
    read_table,
    table_requests,
)

KEPT_DAYS = 180
"""Roads change slowly; a leg is asked for again after half a year."""
TIMEOUT_SECONDS = 10.0
TRIES = 2
WHOLE_SECONDS = 60.0
"""No plan waits longer than this for a road service, however many places it has."""
MOST_BYTES = 4_000_000
"""An answer for 100 places has about 200 kB; what is far larger is no such answer."""
MILLION = 1_000_000
ANSWERS_MISSING = "The road service {}; estimates stand in for the drives it did not tell."


def travel_between(places: Mapping[str, Point]) -> TravelMatrix:
    """Minutes and kilometres between places by what is known now. Nothing is asked of anybody."""
    today = clock.today(our_profile().time_zone)
    drives = learned_drives(today)
    matrix = estimate_matrix(places, drives.rules)
    notes = [*matrix.notes, *([drives.note] if drives.note else [])]
    if settings.ROAD_MATRIX_URL:
        store = _store(places, today)
        answer = store.known(places, not_before=today - timedelta(days=KEPT_DAYS))
        matrix = join_to_estimate(matrix, [answer], places, asked_on=today)
        notes = [*matrix.notes, *([drives.note] if drives.note else [])]
    return TravelMatrix(matrix.places, matrix.minutes, matrix.km, tuple(notes))


def ask_road_service(places: Mapping[str, Point]) -> str:
    """Ask for the drives that are not known yet, and keep them. What went wrong comes back in words, empty if nothing.

    The service is the one the settings name; no other address is ever called.
    """
    if not settings.ROAD_MATRIX_URL:
        return ""
    today = clock.today(our_profile().time_zone)
    missing = _store(places, today).missing(places, not_before=today - timedelta(days=KEPT_DAYS))
    if not missing:
        return ""
    until = monotonic() + WHOLE_SECONDS
    # Nearly all are new: one whole table is a shorter question than its parts.
    fresh = None if len(missing) >= len(places) - 1 else missing
    for request in table_requests(settings.ROAD_MATRIX_URL, places, fresh=fresh):
        if monotonic() > until:
            return ANSWERS_MISSING.format(f"took longer than {WHOLE_SECONDS:.0f} s")
        try:
            answer = read_table(request, _fetched(request.url))
        except _Unanswered as trouble:
            return ANSWERS_MISSING.format(trouble)
        except BadInput as refusal:
            return ANSWERS_MISSING.format(f"could not be understood: {refusal.faults[0].wrong}")
        _keep(answer, places, today)
    return ""


class _Unanswered(Exception):
    """The service gave no answer; the words say how."""


class _NoWayRound(urllib.request.HTTPRedirectHandler):
    """An answer that sends us to another address is none: only the address of the settings is called."""

    def redirect_request(self, *_: Any) -> None:
        return None


def _fetched(url: str) -> str:
    opener = urllib.request.build_opener(_NoWayRound, urllib.request.ProxyHandler({}))
    trouble = "gave no answer"
    for _ in range(TRIES):
        try:
            with opener.open(url, timeout=TIMEOUT_SECONDS) as answer:
                body = answer.read(MOST_BYTES + 1)
        except urllib.error.HTTPError as error:
            with error:
                body = error.read(MOST_BYTES + 1)
            if error.code == 400:  # the service explains what it refuses in the body
                return _text(body)
            trouble = f"answered {error.code}"
        except TimeoutError:
            trouble = f"gave no answer within {TIMEOUT_SECONDS:.0f} s"
        except (OSError, HTTPException) as error:
            trouble = f"could not be reached ({_reason(error)})"
        else:
            return _text(body)
    raise _Unanswered(trouble)


def _reason(error: Exception) -> str:
    reason = getattr(error, "reason", error)
    return "it took too long" if isinstance(reason, TimeoutError) else type(reason).__name__


def _text(body: bytes) -> str:
    if len(body) > MOST_BYTES:
        raise _Unanswered(f"sent more than {MOST_BYTES // MILLION} MB")
    return body.decode("utf-8", errors="replace")


def _store(places: Mapping[str, Point], today: date) -> LegStore:
    """What is kept about drives between these places."""
    store = LegStore()
    latitudes = {_whole(point.latitude_deg) for point in places.values()}
    rows = RoadLeg.objects.filter(
        service=settings.ROAD_MATRIX_URL,
        asked_on__gte=today - timedelta(days=KEPT_DAYS),
        from_latitude__in=latitudes,
        to_latitude__in=latitudes,
    ).values_list("from_latitude", "from_longitude", "to_latitude", "to_longitude", "seconds", "metres", "asked_on")
    for *ends, seconds, metres, asked_on in rows.iterator():
        store.put((_at(*ends[:2]), _at(*ends[2:])), seconds, metres, asked_on)
    return store


def _keep(answer: TableAnswer, places: Mapping[str, Point], today: date) -> None:
    """Write the legs of an answer, in place of older ones."""
    RoadLeg.objects.bulk_create(
        _legs(answer, places, today),
        update_conflicts=True,
        unique_fields=["service", "from_latitude", "from_longitude", "to_latitude", "to_longitude"],
        update_fields=["seconds", "metres", "asked_on"],
        batch_size=500,
    )


def _legs(answer: TableAnswer, places: Mapping[str, Point], today: date) -> Iterable[RoadLeg]:
    found = {}
    for row, start in enumerate(answer.rows):
        for column, end in enumerate(answer.columns):
            seconds, metres = float(answer.seconds[row, column]), float(answer.metres[row, column])
            ends = (*_ends(places[start]), *_ends(places[end]))
            if start != end and seconds == seconds and metres == metres:  # no number where there is no way
                found[ends] = RoadLeg(
                    service=settings.ROAD_MATRIX_URL,
                    from_latitude=ends[0],
                    from_longitude=ends[1],
                    to_latitude=ends[2],
                    to_longitude=ends[3],
                    seconds=seconds,
                    metres=metres,
                    asked_on=today,
                )
    return found.values()


def _ends(point: Point) -> tuple[int, int]:
    return _whole(point.latitude_deg), _whole(point.longitude_deg)


def _whole(degrees: float) -> int:
    return round(round(degrees, 6) * MILLION)


def _at(latitude: int, longitude: int) -> Point:
    return Point(latitude_deg=latitude / MILLION, longitude_deg=longitude / MILLION)
