"""The question and the answer of `manage.py climate`: words in, words out."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

from business.errors import BadInput, Fault
from gardens.climate.readings import Readings
from gardens.climate.summary import DEFAULT_BASE_C, ClimateSummary
from gardens.climate.values import Place


@dataclass(frozen=True, kw_only=True)
class SpanQuestion:
    """A place, a span of days and the base of the degree-days. [°C]"""

    place: Place
    first: date
    last: date
    base_c: float


def read_question(words: Mapping[str, str | None]) -> SpanQuestion:
    """The question in ``latitude``, ``longitude``, ``timezone``, ``from``, ``until`` and ``base``, as written.

    Raises:
        BadInput: with every fault at once.
    """
    faults: list[Fault] = []
    latitude = _number(words, "latitude", (-90, 90), faults)
    longitude = _number(words, "longitude", (-180, 180), faults)
    base = _number({"base": words.get("base") or str(DEFAULT_BASE_C)}, "base", (-20, 40), faults)
    zone = words.get("timezone") or ""
    try:
        ZoneInfo(zone)
    except (KeyError, ValueError, OSError):
        faults.append(Fault("--timezone", f"{zone!r} is not a time zone", "write it as Europe/London"))
    first, last = _date(words, "from", faults), _date(words, "until", faults)
    if first and last and last < first:
        faults.append(Fault("--until", f"{last} lies before {first}", "give a last day on or after the first"))
    if faults or first is None or last is None:
        raise BadInput(faults)
    place = Place(latitude_deg=latitude, longitude_deg=longitude, timezone=zone)
    return SpanQuestion(place=place, first=first, last=last, base_c=base)


def summary_as_dict(summary: ClimateSummary) -> dict[str, object]:
    """The figures for JSON: dates and times in ISO form, None where nothing can be said."""

    def iso(moment: date | None) -> str | None:
        return None if moment is None else moment.isoformat()

    return {
        "days": summary.days,
        "missing": summary.missing,
        "chill_hours": summary.chill_hours,
        "utah_units": summary.utah_units,
        "chill_portions": summary.chill_portions,
        "gdd": summary.gdd,
        "gdh": summary.gdh,
        "last_frost": iso(summary.last_frost),
        "first_frost": iso(summary.first_frost),
        "sunrise": iso(summary.sunrise),
        "sunset": iso(summary.sunset),
        "day_length_h": summary.day_length_h,
    }


def summary_as_text(summary: ClimateSummary, question: SpanQuestion) -> str:
    """The figures as a table for people."""
    rows = [
        ("Days", f"{summary.days} ({question.first} to {question.last})"),
        ("Days lacking a temperature", str(summary.missing)),
        ("Chill portions", _shown(summary.chill_portions, 1)),
        ("Chilling hours, 0 to 7.2 °C", _shown(summary.chill_hours, 0)),
        ("Utah chill units", _shown(summary.utah_units, 1)),
        (f"Degree-days over {question.base_c:g} °C", _shown(summary.gdd, 1)),
        ("Growing degree hours", _shown(summary.gdh, 0)),
        ("Last frost of spring", str(summary.last_frost or "none")),
        ("First frost of autumn", str(summary.first_frost or "none")),
        (f"Sunrise on {question.last}", f"{summary.sunrise:%H:%M:%S}" if summary.sunrise else "none"),
        (f"Sunset on {question.last}", f"{summary.sunset:%H:%M:%S}" if summary.sunset else "none"),
        ("Day length", f"{summary.day_length_h:.2f} h"),
    ]
    width = max(len(name) for name, _ in rows)
    return "\n".join(f"{name:<{width}}  {value}" for name, value in rows)


def remarks(summary: ClimateSummary, readings: Readings) -> tuple[str, ...]:
    """What a person should know about the figures: bridged and unbridged gaps, oddities of the file."""
    said = []
    bridged = [gap for gap in summary.gaps if gap.is_bridged]
    if bridged and summary.chill_hours is not None:
        said.append(f"{sum(gap.days for gap in bridged)} missing days were bridged by straight lines.")
    for gap in summary.gaps:
        if not gap.is_bridged:
            said.append(f"{gap.first} to {gap.last}: {gap.days} days are missing; no sum is given over such a gap.")
    if summary.chill_hours is None and all(gap.is_bridged for gap in summary.gaps):
        said.append("The file does not hold the first or the last day of the span; no sum is given.")
    return (*said, *readings.notes)


def _shown(value: float | None, digits: int) -> str:
    return "not known" if value is None else f"{value:,.{digits}f}".replace(",", " ")


def _number(words: Mapping[str, str | None], name: str, allowed: tuple[float, float], faults: list[Fault]) -> float:
    text = words.get(name) or ""
    low, high = allowed
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not low <= value <= high:
        wrong = f"{text!r} is not a number from {low:g} to {high:g}"
        faults.append(
            Fault(
                f"--{name}",
                wrong,
                "write degrees as 51.5, south and west negative" if name != "base" else "write °C as 10",
            )
        )
        return 0.0
    return value


def _date(words: Mapping[str, str | None], name: str, faults: list[Fault]) -> date | None:
    text = words.get(name) or ""
    try:
        return date.fromisoformat(text)
    except ValueError:
        faults.append(Fault(f"--{name}", f"{text!r} is not a date", "write it as 2026-02-28"))
        return None
