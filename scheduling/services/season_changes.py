"""What moved when a season was worked out again, in words for the office. Values in, values out: no rows here."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from datetime import date, datetime
from typing import Any

FIRST_TOLD = "full_bloom"
"""The stage the trade reckons a year by; it leads the account where it moved."""
MOST_NEEDS_TOLD = 60
"""The furthest moved are listed; of the others only their number is kept."""
MOST_STAGES_TOLD = 40

Days = tuple[date, date, date, date]
"""opens, best_from, best_until, closes"""


@dataclass(frozen=True, kw_only=True)
class StageMove:
    """A stage whose day is another than in the plan before."""

    site: str
    species: str
    stage: str
    before: date
    after: date

    @property
    def days(self) -> int:
        """Days later; earlier is negative."""
        return (self.after - self.before).days


@dataclass(frozen=True, kw_only=True)
class NeedMove:
    """A need whose window is another than in the plan before."""

    need: int
    tree: int
    label: str
    site: str
    kind: str
    before: Days
    after: Days

    @property
    def days(self) -> int:
        """Days by which its best part, else its end or beginning, comes later; earlier is negative."""
        moved = ((new - old).days for old, new in zip(self.before, self.after, strict=True))
        opens, best_from, best_until, closes = moved
        return best_from or best_until or closes or opens


@dataclass(frozen=True, kw_only=True)
class DatedTask:
    """A task still to be done on a visit that has a day, with the window of its need as it is now."""

    visit: int
    on: date
    site: str
    need: int
    kind: str
    opens: date
    closes: date


@dataclass(frozen=True, kw_only=True)
class VisitOutside:
    """A visit whose day lies outside windows that held it before."""

    visit: int
    on: date
    site: str
    kinds: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class SeasonAccount:
    """What moved, and what the office should look at."""

    headline: str
    stages: tuple[StageMove, ...]
    needs: tuple[NeedMove, ...]
    visits: tuple[VisitOutside, ...]

    def kept(self, at: datetime) -> dict[str, Any]:
        """As it is kept with the season: plain values, the lists bounded."""
        return {
            "at": at.isoformat(),
            "headline": self.headline,
            "stages": [_plain(move) for move in self.stages[:MOST_STAGES_TOLD]],
            "needs": [
                {
                    "tree": move.tree,
                    "label": move.label,
                    "site": move.site,
                    "kind": move.kind,
                    "opens": move.after[0].isoformat(),
                    "closes": move.after[3].isoformat(),
                    "days": move.days,
                }
                for move in self.needs[:MOST_NEEDS_TOLD]
            ],
            "need_count": len(self.needs),
            "visits": [
                {"visit": one.visit, "on": one.on.isoformat(), "site": one.site, "kinds": list(one.kinds)}
                for one in self.visits
            ],
        }


def account_of(
    stages: Iterable[StageMove], needs: Iterable[NeedMove], tasks: Iterable[DatedTask]
) -> SeasonAccount | None:
    """The account of one re-planning; None where no window moved.

    Args:
        stages: every stage whose day changed.
        needs: every need that stayed, with its window before and after.
        tasks: what stands on visits with a day, with its window after.
    """
    moved = sorted((move for move in needs if move.before != move.after), key=lambda move: -abs(move.days))
    if not moved:
        return None
    shifted = sorted((move for move in stages if move.days), key=lambda move: (move.stage, -abs(move.days), move.site))
    outside = visits_outside(moved, tasks)
    return SeasonAccount(
        headline=headline(shifted, moved, outside), stages=tuple(shifted), needs=tuple(moved), visits=outside
    )


def visits_outside(moved: Iterable[NeedMove], tasks: Iterable[DatedTask]) -> tuple[VisitOutside, ...]:
    """Visits whose day lay in the window of a need before it moved, and does not any more; in order of their days."""
    before = {move.need: move.before for move in moved}
    found: dict[int, list[DatedTask]] = defaultdict(list)
    for task in tasks:
        was = before.get(task.need)
        if was is not None and was[0] <= task.on <= was[3] and not task.opens <= task.on <= task.closes:
            found[task.visit].append(task)
    rows = [
        VisitOutside(
            visit=visit,
            on=own[0].on,
            site=own[0].site,
            kinds=tuple(dict.fromkeys(task.kind for task in own)),
        )
        for visit, own in found.items()
    ]
    return tuple(sorted(rows, key=lambda row: (row.on, row.visit)))


def headline(stages: Sequence[StageMove], needs: Sequence[NeedMove], visits: Sequence[VisitOutside]) -> str:
    """Full bloom 9 days earlier at 3 sites: 14 needs moved, 3 visits now outside their window"""
    parts = [f"{len(needs)} need{'s' if len(needs) != 1 else ''} moved"]
    if visits:
        parts.append(f"{len(visits)} visit{'s' if len(visits) != 1 else ''} now outside their window")
    told = ", ".join(parts)
    lead = _leading(stages)
    if not lead:
        return told
    furthest = max(lead, key=lambda move: abs(move.days)).days
    at_most = "" if len({move.days for move in lead}) == 1 else "up to "
    amount = f"{at_most}{abs(furthest)} day{'s' if abs(furthest) != 1 else ''}"
    sites = {move.site for move in lead}
    where = f"at {len(sites)} sites" if len(sites) > 1 else f"at {lead[0].site}"
    name = lead[0].stage.replace("_", " ").capitalize()
    return f"{name} {amount} {'later' if furthest > 0 else 'earlier'} {where}: {told}"


def _leading(stages: Sequence[StageMove]) -> list[StageMove]:
    """The moves of the stage that is told first: full bloom, else the one that moved furthest."""
    if not stages:
        return []
    names = {move.stage for move in stages}
    name = FIRST_TOLD if FIRST_TOLD in names else max(stages, key=lambda move: abs(move.days)).stage
    return [move for move in stages if move.stage == name]


def _plain(move: StageMove) -> dict[str, Any]:
    row = asdict(move)
    return {**row, "before": move.before.isoformat(), "after": move.after.isoformat(), "days": move.days}
