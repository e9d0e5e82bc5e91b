"""The sheet a crew takes along: the stops of the day in order, whom to ring, how to get in, what to load."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from django.template.loader import render_to_string

from business import clock
from business.documents.pdf import render
from business.queries.profile import our_profile
from scheduling.documents.loads import loads_of
from scheduling.models import Round, Visit

EMERGENCY_NUMBERS = {
    "GB": "999",
    "IE": "112",
    "US": "911",
    "CA": "911",
    "AU": "000",
    "NZ": "111",
    "JP": "119",
    "CH": "144",
}
"""Where 112 is not the number people know. From memory; 112 also reaches help from mobiles in most of the world."""
USUAL_EMERGENCY_NUMBER = "112"


@dataclass(frozen=True, kw_only=True)
class SheetStop:
    """One stop as the sheet shows it."""

    number: int
    visit: Visit
    jobs: int
    kinds: Sequence[str]


def emergency_number(country: str) -> str:
    """The number to ring for an ambulance, by the country of the business."""
    return EMERGENCY_NUMBERS.get(country.upper(), USUAL_EMERGENCY_NUMBER)


def round_sheet_pdf(found: Round, visits: Sequence[Visit], *, printed_at: datetime | None = None) -> bytes:
    """The sheet as PDF bytes; the visits come with their tasks, in order."""
    return render(round_sheet_html(found, visits, printed_at=printed_at), paper=our_profile().paper)


def round_sheet_html(found: Round, visits: Sequence[Visit], *, printed_at: datetime | None = None) -> str:
    """The text the PDF is made of. It names no price."""
    profile = our_profile()
    return render_to_string(
        "scheduling/documents/round_sheet.html",
        {
            "round": found,
            "crew": found.crew,
            "people": [member.staff.name for member in found.crew.members.select_related("staff")],
            "stops": [_stop(number, visit) for number, visit in enumerate(visits, start=1)],
            "loads": loads_of(visits),
            "business": profile,
            "emergency": emergency_number(profile.country),
            "printed_at": (printed_at or clock.now()).astimezone(ZoneInfo(found.crew.time_zone)),
        },
    )


def _stop(number: int, visit: Visit) -> SheetStop:
    order = getattr(visit, "work_order", None)
    tasks = list(order.tasks.all()) if order else []
    return SheetStop(
        number=number, visit=visit, jobs=len(tasks), kinds=list(dict.fromkeys(task.kind for task in tasks))
    )
