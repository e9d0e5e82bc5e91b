"""Rows one behind the other at a site: how far apart, with the pictures that show why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.safestring import SafeString, mark_safe

from business.errors import BadInput, Fault
from gardens.drawing import Options, RowsPicture, draw_rows_plan, draw_rows_section
from gardens.models import Support, Tree
from gardens.services.supports import document_of
from gardens.supports import RowSpacing, RowsWish, read_support, row_spacing
from gardens.units import Units


@dataclass(frozen=True, kw_only=True)
class RowsPage:
    """Several rows: their distance, the depth they take, the section across them and the plan from above."""

    wish: RowsWish
    spacing: RowSpacing
    depth_mm: int
    section: SafeString
    plan: SafeString


def usual_runs(support: Support) -> int:
    """The bearing along a support: a quarter turn from where its trained side faces."""
    return (support.faces_deg - 90) % 180


def rows_page(support: Support, trees: Sequence[Tree], wanted: Mapping[str, Any], units: Units = "metric") -> RowsPage:
    """Rows like this support, at its place.

    Raises:
        BadInput: with every fault of the rows, or of the support's build.
    """
    document = document_of(support, trees) | {"rows": {"latitude": support.site.latitude_deg, **wanted}}
    core = read_support(document, where=support.name)
    if core.rows is None:
        raise BadInput([Fault("rows", "are not described", "say how many")])
    spacing = row_spacing(core.rows.rows, sun_hours=core.rows.sun_hours)
    picture = RowsPicture(
        rows=core.rows.rows,
        spacing=spacing,
        count=core.rows.count,
        run_mm=core.run_mm,
        wire_heights_mm=core.wire_heights_mm,
        label=support.name,
    )
    section = Options(width_px=1080, max_height_mm=75, id_prefix=f"section{support.pk}", units=units)
    plan = Options(width_px=480, max_height_mm=90, id_prefix=f"plan{support.pk}", units=units)
    return RowsPage(
        wish=core.rows,
        spacing=spacing,
        depth_mm=spacing.spacing_mm * (core.rows.count - 1),
        section=mark_safe(draw_rows_section(picture, section)),  # noqa: S308 - our own core
        plan=mark_safe(draw_rows_plan(picture, plan)),  # noqa: S308 - our own core
    )
