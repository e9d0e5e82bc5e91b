"""Ties that have to come off or be renewed this season."""

from __future__ import annotations

from collections.abc import Iterator

from gardens.training import seasons
from gardens.training.frame_acts import wave_name
from gardens.training.season_view import Part, SeasonView
from gardens.training.state import Step, Tie
from gardens.training.ties import girdling_alarm
from gardens.training.words import name_of


def old_ties(view: SeasonView) -> Iterator[Step]:
    """Ties whose alarm falls in this season or before: off where the wood has set, renewed where it has not.

    Ties of a whole tier that went on together come off together.
    """
    last = view.walk.day(view.year, seasons.ARMS_LOWERED)
    due: dict[tuple[str, Part, bool, str], list[Tie]] = {}
    for tie in view.walk.ties:
        alarm = girdling_alarm(tie, view.state)
        if alarm <= last:
            part: Part = "any" if alarm <= view.walk.today else view.part_of(alarm)
            group = (_tier_key(view, tie), part, _needs_holding(view, tie), f"{tie.since:%B %Y}")
            due.setdefault(group, []).append(tie)
    for (tier, part, holding, since), ties in due.items():
        whole = tier and len(ties) == len(_members(view, tier))
        targets = [(tier, wave_name(view, int(tier.split(":")[1])))] if whole else [_named(view, tie) for tie in ties]
        for key, name in targets:
            if holding:
                text = f"Renew the ties of {name}, on since {since}: loosely, in figures of eight."
                yield from view.step("ties_renew", key, text, part=part)
            else:
                yield from view.step("ties_off", key, f"Take the ties off {name}, on since {since}.", part=part)


def _tier_key(view: SeasonView, tie: Tie) -> str:
    limb = view.walk.limbs.get(tie.limb)
    return f"tier:{limb.place.limb.tier}" if limb and not view.walk.plan.stem else ""


def _members(view: SeasonView, tier: str) -> list[str]:
    return [limb.key for limb in view.limbs if f"tier:{limb.place.limb.tier}" == tier]


def _named(view: SeasonView, tie: Tie) -> tuple[str, str]:
    limb = view.state.limb(tie.limb)
    return tie.limb, name_of(limb, many_tiers=view.has_tiers) if limb else tie.limb.replace(":", " ")


def _needs_holding(view: SeasonView, tie: Tie) -> bool:
    if tie.limb == "leader":
        return view.leader_goes_on or bool(view.walk.plan.stem)
    limb = view.walk.limbs.get(tie.limb)
    return limb is not None and (limb.status != "set" or limb.key == view.walk.plan.stem)
