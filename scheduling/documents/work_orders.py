"""The work order: what the crew carries for one visit. Black on white, big boxes, the drawing leads."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.template.loader import render_to_string

from business import clock
from business.documents.pdf import render
from business.queries.profile import our_profile
from gardens.drawing import Options
from gardens.units import Units
from scheduling.documents.loads import loads_of
from scheduling.documents.pictures import Picture, pictures_of_visit
from scheduling.models import Visit

DRAWING_WIDTH_MM = 170.0
DRAWING_HEIGHT_MM = 60.0


@dataclass(frozen=True, kw_only=True)
class PaperPicture:
    """A tree on paper: its picture as an image address that needs no file."""

    picture: Picture
    source: str


def work_order_pdf(visit: Visit, *, printed_at: datetime | None = None) -> bytes:
    """The work order of a visit as PDF bytes; the visit comes with its tasks."""
    return render(work_order_html(visit, printed_at=printed_at), paper=our_profile().paper)


def work_order_html(visit: Visit, *, printed_at: datetime | None = None) -> str:
    """The text the PDF is made of."""
    profile = our_profile()
    units: Units = "imperial" if profile.units == "imperial" else "metric"
    pictures = pictures_of_visit(visit, options=paper_options(), units=units)
    return render_to_string(
        "scheduling/documents/work_order.html",
        {
            "visit": visit,
            "business": profile,
            "order": visit.work_order,
            "printed_at": (printed_at or clock.now()).astimezone(visit.site.zone),
            "pictures": on_paper(pictures),
            "cautions": list(dict.fromkeys(caution for picture in pictures for caution in picture.cautions)),
            "loads": loads_of([visit]),
            "jobs": sum(len(picture.tasks) for picture in pictures),
        },
    )


def paper_options() -> Options:
    """How a tree is drawn for a sheet that any printer must manage."""
    return Options(width_mm=DRAWING_WIDTH_MM, max_height_mm=DRAWING_HEIGHT_MM, black_and_white=True)


def on_paper(pictures: Sequence[Picture]) -> list[PaperPicture]:
    """Pictures as images: the PDF library writes alternative text for images, not for inline SVG."""
    return [
        PaperPicture(
            picture=picture,
            source="data:image/svg+xml;base64," + base64.b64encode(picture.drawing.encode()).decode(),
        )
        for picture in pictures
    ]
