"""Ties that have to come off or be renewed this season."""

from __future__ import annotations

from collections.abc import Iterator

from gardens.training import seasons
from gardens.training.season_view import Part, SeasonView
from gardens.training.state import Step, Tie
from gardens.training.ties import girdling_alarm
from gardens.training.words import name_of


def old_ties(view: SeasonView) -> Iterator[Step]:
    """Each tie whose alarm falls in this season or before: off where the wood has set, renewed where it has not."""
    last = view.walk.day(view.year, seasons.ARMS_LOWERED)
    for tie in view.walk.ties:
        alarm = girdling_alarm(tie, view.state)
        if alarm > last:
            continue
        part: Part = "any" if alarm <= view.walk.today else view.part_of(alarm)
        limb = view.state.limb(tie.limb)
        name = name_of(limb) if limb else tie.limb
        since = f"on since {tie.since:%B %Y}"
        if _needs_holding(view, tie):
            yield from view.step(
                "ties_renew", tie.limb, f"Renew the ties of {name}, {since}, loosely, in figures of eight.", part=part
            )
        else:
            yield from view.step("ties_off", tie.limb, f"Take the ties off {name}, {since}.", part=part)


def _needs_holding(view: SeasonView, tie: Tie) -> bool:
    if tie.limb == "leader":
        return view.leader_goes_on or bool(view.walk.plan.stem)
    limb = view.walk.limbs.get(tie.limb)
    return limb is not None and limb.status != "set"
