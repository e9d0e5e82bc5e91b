"""The owner's numbers of a plan."""

from __future__ import annotations

from collections.abc import Sequence

from scheduling.rounds.lookup import Lookup, worked_minutes
from scheduling.rounds.plan import PlanNumbers, Round


def numbers_of(lookup: Lookup, rounds: Sequence[Round], unplaced: int) -> PlanNumbers:
    """Utilisation over all shifts of the horizon; drive share of the time out; shares of placed visits."""
    work = sum(each.work_minutes for each in rounds)
    drive = sum(each.drive_minutes for each in rounds)
    overtime = sum(each.overtime_minutes for each in rounds)
    paid = sum(worked_minutes(day) for day in lookup.crew_days.values()) + overtime
    stops = [(lookup.visits[stop.visit], stop, each) for each in rounds for stop in each.stops]
    with_best = [stop.is_best for visit, stop, _ in stops if visit.best_from is not None]
    with_wish = [each.crew == visit.known_crew for visit, _, each in stops if visit.known_crew]
    return PlanNumbers(
        placed=len(stops),
        unplaced=unplaced,
        rounds=len(rounds),
        work_minutes=work,
        drive_minutes=drive,
        drive_km=round(sum(each.drive_km for each in rounds), 3),
        paid_minutes=paid,
        overtime_minutes=overtime,
        utilisation=_share(work + drive, paid),
        drive_share=_share(drive, work + drive),
        best_share=_share(sum(with_best), len(with_best), empty=1.0),
        known_crew_share=_share(sum(with_wish), len(with_wish), empty=1.0),
    )


def _share(part: int, whole: int, empty: float = 0.0) -> float:
    return round(part / whole, 4) if whole else empty
