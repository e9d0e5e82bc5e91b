"""Several rows one behind the other, from the "rows" part of a support document."""

from __future__ import annotations

from datetime import date

from gardens.supports.measures import bearing_faults
from gardens.supports.rows import Rows, RowsWish, row_faults
from gardens.supports.sheet import Sheet

EQUINOXES = {"north": date(2025, 9, 22), "south": date(2025, 3, 20)}
"""The end of the growing season's long days; the year moves the sun by less than half a degree."""


def read_rows(
    sheet: Sheet | None, *, height_mm: int | None, lowest_wire_mm: int | None, faces_deg: float | None
) -> RowsWish | None:
    """The rows that are wanted; None where none are, or where something is wrong (noted as faults)."""
    if sheet is None:
        return None
    latitude = sheet.number("latitude", -66, 66)
    if latitude is None and sheet.values.get("latitude") is None:
        sheet.fault("latitude", "is missing", "give it in degrees, north positive, such as 51.5")
    count, hours = sheet.number("count", -1e6, 1e6, 2), sheet.number("sun_hours", -1e6, 1e6)
    runs = _runs(sheet, faces_deg)
    rises = sheet.number("rises_percent", -1e6, 1e6, 0)
    lit_from = sheet.length("lit_from", 0, 5000, lowest_wire_mm or 400)
    day = _day(sheet, latitude or 0)
    if sheet.faults or latitude is None or height_mm is None or None in (count, runs, rises, lit_from) or day is None:
        return None
    wish = RowsWish(
        rows=Rows(
            height_mm=height_mm,
            latitude_deg=latitude,
            runs_deg=(runs or 0) % 360,
            day=day,
            lit_from_mm=lit_from or 0,
            rises_percent=rises or 0,
        ),
        count=round(count or 0),
        sun_hours=hours,
    )
    for fault in row_faults(wish):
        sheet.fault(fault.where, fault.wrong, fault.remedy)
    return None if sheet.faults else wish


def _runs(sheet: Sheet, faces_deg: float | None) -> float | None:
    """The bearing along the rows; where only the face is known, a quarter turn to its left."""
    usual = 0.0 if faces_deg is None else (faces_deg - 90) % 180
    if sheet.values.get("runs") is None:
        sheet.assume(f"rows run {usual:.0f}°")
    runs = sheet.number("runs", -1e9, 1e9, usual)
    faults = bearing_faults(runs, f"{sheet.where}, runs")
    sheet.faults.extend(faults)
    return None if faults else runs


def _day(sheet: Sheet, latitude_deg: float) -> date | None:
    text = sheet.text("day")
    if not text:
        usual = EQUINOXES["north" if latitude_deg >= 0 else "south"]
        sheet.assume(f"the day that counts for the sun: {usual.day} {usual:%B}")
        return usual
    try:
        return date.fromisoformat(text)
    except ValueError:
        sheet.fault("day", f"{text!r} is no day", "write it as 2026-09-21")
        return None
