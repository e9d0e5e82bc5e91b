"""Drives as the phones tell them: from leaving one garden to arriving at the next."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

from gardens.models import Site
from scheduling.models import Visit
from scheduling.rounds import (
    Correction,
    Point,
    TravelRules,
    Trip,
    area_of,
    estimate_minutes,
    great_circle_km,
    learn_corrections,
    learn_elsewhere,
)

YEARS_BACK = 3
MIDDAY = (11 * 60 + 30, 14 * 60 + 30)
"""Nobody knows how long lunch took: drives that fall into these minutes of the day are left out, the short ones too."""
MOST_TIMES = 4.0
MOST_OVER_MINUTES = 30.0
"""More than four times the estimate and half an hour: an errand, or a clock that was set late."""


@dataclass(frozen=True, kw_only=True)
class DrivesSeen:
    """What recorded drives say. ``gardens`` names those of each area; ``left_out`` drives were no plain drives."""

    areas: Sequence[Correction] = ()
    elsewhere: Correction | None = None
    gardens: Mapping[str, Sequence[str]] = field(default_factory=dict)
    trips: int = 0
    left_out: int = 0

    @property
    def rules(self) -> TravelRules:
        """The estimate's rules with what was learned."""
        return TravelRules(
            corrections={each.area: each.factor for each in self.areas},
            correction=self.elsewhere.factor if self.elsewhere else 1.0,
        )

    @property
    def note(self) -> str:
        """What was learned, in a sentence for a plan; empty if nothing was."""
        if not self.areas and self.elsewhere is None:
            return ""
        places = (
            f"by area in {len(self.areas)} area{'s' if len(self.areas) != 1 else ''}" if self.areas else "by one factor"
        )
        return f"Estimates are corrected {places}, from {self.trips} recorded drives."


def point_of(latitude_deg: float, longitude_deg: float) -> Point:
    """A place with the area it lies in."""
    return Point(latitude_deg=latitude_deg, longitude_deg=longitude_deg, area=area_of(latitude_deg, longitude_deg))


def learned_drives(today: date) -> DrivesSeen:
    """Factors on the estimate from the drives of the last three years, in two queries."""
    trips, left_out = recorded_trips(today)
    areas = learn_corrections(trips)
    return DrivesSeen(
        areas=areas,
        elsewhere=learn_elsewhere(trips),
        gardens=_gardens({each.area for each in areas}) if areas else {},
        trips=len(trips),
        left_out=left_out,
    )


def recorded_trips(today: date) -> tuple[list[Trip], int]:
    """Drives between finished visits of one round, and how many were left out as no plain drives."""
    trips: list[Trip] = []
    left_out = 0
    known: dict[tuple[int, int], float] = {}
    for one, other in _neighbours(today):
        ends = (one.site, other.site)
        if ends not in known:
            known[ends] = float(estimate_minutes(great_circle_km(one.point, other.point)))
        taken = (other.started_at - one.finished_at).total_seconds() / 60
        if _is_plain(one, taken, known[ends]):
            trips.append(
                Trip(
                    area=other.point.area,
                    from_area=one.point.area,
                    estimated_minutes=known[ends],
                    taken_minutes=taken,
                    on=one.on,
                )
            )
        else:
            left_out += 1
    return trips, left_out


@dataclass(frozen=True)
class _Made:
    """A finished visit: in which round, where, from when until when."""

    round: int
    site: int
    on: date
    started_at: datetime
    finished_at: datetime
    latitude_deg: float
    longitude_deg: float
    time_zone: str

    @property
    def point(self) -> Point:
        return point_of(self.latitude_deg, self.longitude_deg)


def _neighbours(today: date) -> Iterator[tuple[_Made, _Made]]:
    """Visits made one after the other by one crew on one day in two gardens, the second with a beginning of its own.

    A visit finished without "arrived" being pressed begins, as a row, when it ends; nothing is known of its drive.
    """
    rows = (
        Visit.objects.filter(
            state=Visit.State.FINISHED,
            on__gt=today - timedelta(days=365 * YEARS_BACK),
            round__isnull=False,
            started_at__isnull=False,
        )
        .order_by("round", "finished_at", "pk")
        .values_list(
            "round_id",
            "site_id",
            "on",
            "started_at",
            "finished_at",
            "site__latitude_deg",
            "site__longitude_deg",
            "round__crew__time_zone",
        )
    )
    for one, other in pairwise(_Made(*row) for row in rows):  # type: ignore[arg-type] # none is empty, see the filter
        if one.round == other.round and one.site != other.site and other.started_at < other.finished_at:
            yield one, other


def _is_plain(one: _Made, taken: float, estimated: float) -> bool:
    if taken <= 0 or estimated <= 0 or taken > MOST_TIMES * estimated + MOST_OVER_MINUTES:
        return False
    local = one.finished_at.astimezone(ZoneInfo(one.time_zone))
    leaves = local.hour * 60 + local.minute
    return leaves + taken <= MIDDAY[0] or leaves >= MIDDAY[1]


def _gardens(areas: set[str]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {area: [] for area in areas}
    for name, latitude, longitude in Site.objects.order_by("name").values_list("name", "latitude_deg", "longitude_deg"):
        area = area_of(latitude, longitude)
        if area in found:
            found[area].append(name)
    return found
