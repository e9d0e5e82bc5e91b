"""Rows of gardens and rounds for tests: each builder fills in what the test is not about."""

from __future__ import annotations

from datetime import date, datetime, time
from typing import Any

from business import clock
from gardens.models import Record, Site, Support, Tree, Wire
from scheduling.models import Crew, CrewMember, Need, Round, Season, Shift, Task, Visit, WorkOrder
from tests import make


def site(**values: Any) -> Site:
    number = make.next_number()
    defaults = {
        "code": f"garden-{number}",
        "name": f"Garden {number}",
        "latitude_deg": 51.03,
        "longitude_deg": -2.8,
        "elevation_m": 20.0,
        "time_zone": "Europe/London",
        "climate_profile": "maritime",
    }
    return Site.objects.create(**{"client": values.pop("client", None) or make.client(), **defaults, **values})


def support(*, wires: tuple[int, ...] = (450, 900, 1350), **values: Any) -> Support:
    defaults = {
        "code": f"row-{make.next_number()}",
        "name": "Apple row",
        "kind": "post_and_wire",
        "length_mm": 8000,
        "height_mm": 1900,
        "gap_mm": 0,
    }
    row = Support.objects.create(**{"site": values.pop("site", None) or site(), **defaults, **values})
    Wire.objects.bulk_create(Wire(support=row, height_mm=height, support_height_mm=row.height_mm) for height in wires)
    return row


def tree(**values: Any) -> Tree:
    where = values.pop("support", None) or support()
    number = make.next_number()
    defaults = {
        "code": f"tree-{number}",
        "label": f"Apple {number}",
        "species": "apple_spur",
        "form": "horizontal_tiers",
        "rootstock": "mm106",
        "tiers": 3,
        "position_mm": 2000,
        "run_left_mm": 1900,
        "run_right_mm": 1900,
        "planted_on": date(2023, 11, 20),
    }
    return Tree.objects.create(**{"support": where, "site": where.site, **defaults, **values})


def record(**values: Any) -> Record:
    defaults = {
        "on": date(2025, 1, 10),
        "kind": "measured",
        "what": "leader_height",
        "limb": "leader",
        "value": 980.0,
        "source": "office",
        "entered_at": clock.now(),
    }
    return Record.objects.create(**{"tree": values.pop("tree", None) or tree(), **defaults, **values})


def crew(**values: Any) -> Crew:
    number = make.next_number()
    defaults = {
        "code": f"crew-{number}",
        "name": f"Crew {number}",
        "size": 2,
        "skills": ["ladder"],
        "yard_latitude_deg": 51.03,
        "yard_longitude_deg": -2.82,
        "time_zone": "Europe/London",
        "starts": time(8, 0),
        "ends": time(16, 30),
    }
    members = values.pop("members", ())
    row = Crew.objects.create(**{**defaults, **values})
    for person in members:
        CrewMember.objects.create(crew=row, staff=person)
    return row


def shift(**values: Any) -> Shift:
    defaults = {"on": date(2027, 1, 12), "starts": time(8, 0), "ends": time(16, 30)}
    return Shift.objects.create(**{"crew": values.pop("crew", None) or crew(), **defaults, **values})


def season(year: int = 2027) -> Season:
    return Season.objects.get_or_create(year=year)[0]


def need(**values: Any) -> Need:
    where = values.pop("tree", None) or tree()
    defaults = {
        "season": values.pop("season", None) or season(),
        "site": where.site,
        "key": f"winter_prune:whole:{make.next_number()}",
        "kind": "winter_prune",
        "instruction": "Shorten the laterals to three buds.",
        "opens": date(2026, 12, 1),
        "best_from": date(2027, 1, 5),
        "best_until": date(2027, 2, 10),
        "closes": date(2027, 2, 28),
        "basis": "normals",
        "minutes": 30.0,
        "why": "short spurs bear.",
        "source": "common practice",
    }
    return Need.objects.create(**{"tree": where, **defaults, **values})


def visit(*, needs: tuple[Need, ...] = (), **values: Any) -> Visit:
    """A visit; with a day it stands on a round. ``needs`` become its tasks."""
    where = values.pop("site", None) or (needs[0].site if needs else site())
    on = values.pop("on", None)
    who = values.pop("crew", None)
    defaults: dict[str, Any] = {
        "season": season(),
        "opens": date(2026, 12, 1),
        "best_from": date(2027, 1, 5),
        "best_until": date(2027, 2, 10),
        "closes": date(2027, 2, 28),
        "minutes": 75,
    }
    if on is not None:
        who = who or crew()
        defaults |= {
            "on": on,
            "round": Round.objects.get_or_create(
                crew=who, on=on, defaults={"leaves_at": time(8, 0), "back_at": time(15, 0)}
            )[0],
            "state": Visit.State.PLANNED,
            "position": 1,
            "arrives_at": time(9, 0),
            "leaves_at": time(10, 15),
        }
    row = Visit.objects.create(site=where, **{**defaults, **values})
    order = WorkOrder.objects.create(visit=row)
    for number, due in enumerate(needs, start=1):
        Task.objects.create(
            work_order=order,
            need=due,
            tree=due.tree,
            number=number,
            kind=due.kind,
            limb=due.limb,
            instruction=due.instruction,
            why=due.why,
            minutes=due.minutes,
            at_mm=due.at_mm,
            to_angle_deg=due.to_angle_deg,
        )
    return row


def utc(year: int, month: int, day: int, hour: int = 12) -> datetime:
    return datetime(year, month, day, hour, tzinfo=clock.UTC)
