"""One way to ask the adviser in the checks against published advice: a full-grown tree, ten years old, unless said."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

from gardens.climate import Place
from gardens.pruning import Advice, AdviceRequest, Need, Situation, Verdict, advise

ENGLAND = Place(latitude_deg=52.0, longitude_deg=-1.0)
SOUTHERN_ENGLAND = Place(latitude_deg=51.0, longitude_deg=-1.0)
MINNESOTA = Place(latitude_deg=45.0, longitude_deg=-93.2)
UTAH = Place(latitude_deg=41.7, longitude_deg=-111.8)
VIRGINIA = Place(latitude_deg=37.2, longitude_deg=-80.4)
CALIFORNIA = Place(latitude_deg=38.0, longitude_deg=-121.5)
OREGON = Place(latitude_deg=45.5, longitude_deg=-122.7)
NEW_ZEALAND_NORTH = Place(latitude_deg=-37.0, longitude_deg=175.0)
NEW_ZEALAND_SOUTH = Place(latitude_deg=-40.0, longitude_deg=175.6)


def ask(species: str, form: str, on: date, place: Place = ENGLAND, **more: Any) -> Advice:
    """The advice on one tree; ``more`` are fields of the request or of the situation of the day."""
    situation = Situation()
    for name in [name for name in more if name in Situation.__dataclass_fields__]:
        situation = replace(situation, **{name: more.pop(name)})
    planted = more.pop("planted_on", date(on.year - 10, on.month, 1))
    return advise(
        AdviceRequest(species=species, form=form, planted_on=planted, on=on, place=place, situation=situation, **more)
    )


def verdict(advice: Advice, kind: str) -> Verdict:
    """What is said of one kind of work."""
    return next(verdict for verdict in advice.verdicts if verdict.kind == kind)


def due_now(advice: Advice, on: date, kind: str) -> list[Need]:
    """The needs of a kind whose window holds the day."""
    return [need for need in advice.due if need.kind == kind and on in need.window]
