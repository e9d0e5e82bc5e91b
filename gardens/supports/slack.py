"""Slack measured in the garden: from a sag or a sideways pull to the tension, and what to do about it."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, inf

from gardens.knowledge.material_book import Materials, materials
from gardens.supports.statics import Load, Strung, tension_for_sag_n, unloaded_tension_n
from gardens.supports.values import PartVerdict
from gardens.supports.wires import Wire

GAUGE_SPAN_MM, GAUGE_PULL_MM = 1000.0, 12.5
"""The board with two nails 1 m apart and a third 12.5 mm off the line between them."""

SAG_FORMULA = "H = w·L²/(8·d) + P·L/(4·d), then back to H₀ by the equation of state"
PULL_FORMULA = "H = P·L/(4·d), less what the pull itself adds: E·A·ΔS/run"


@dataclass(frozen=True, kw_only=True)
class Slack:
    """What a reading says about a wire. [N]

    ``tension_n`` is the pull without load, ``low_n`` … ``high_n`` what the reading allows, ``now_n`` the pull under
    what hung on the wire when it was read.
    """

    tension_n: float
    low_n: float
    high_n: float
    now_n: float
    verdict: PartVerdict
    text: str
    formula: str
    source: str


@dataclass(frozen=True, kw_only=True)
class SagReading:
    """A sag read at mid-span below a tight string [mm], and what hung on the wire meanwhile: leaf and crop per metre
    [N/m], something in the middle [N]. Without load the wire's own weight alone is reckoned."""

    sag_mm: float
    span_mm: float
    load_n_m: float = 0.0
    point_n: float = 0.0

    def __post_init__(self) -> None:
        if self.span_mm <= 0 or self.sag_mm < 0 or self.load_n_m < 0 or self.point_n < 0:
            raise ValueError("the span must be above zero, the sag and the loads not below it")


def tension_from_pull_n(*, pull_n: float, span_mm: float = GAUGE_SPAN_MM, moved_mm: float = GAUGE_PULL_MM) -> float:
    """Tension from a pull that moves the middle of a short span sideways: H = P·L/(4·d). [N]

    Nails 40 in apart and ½ in off the line make it 20·P, and so do 1 m and 12.5 mm.

    Source: "Wire tension", Iowa vineyard note, 2014.
    """
    if moved_mm <= 0 or span_mm <= 0:
        raise ValueError("span and movement must be above zero")
    return pull_n * span_mm / (4 * moved_mm)


def pull_adds_n(wire: Wire, *, free_run_mm: float) -> float:
    """What the pull of the gauge itself adds to the tension: E·A·ΔS/run. [N]

    Little on a long row where the wire slides, much on a short wire held at both eyes.
    """
    if free_run_mm <= 0:
        raise ValueError("the run must be above zero")
    longer_mm = 2 * hypot(GAUGE_SPAN_MM / 2, GAUGE_PULL_MM) - GAUGE_SPAN_MM
    return wire.stiffness_n * longer_mm / free_run_mm


def tension_from_sag_n(wire: Wire, reading: SagReading) -> float:
    """Tension now of a wire that hangs so far: w·L²/(8·d) + P·L/(4·d), w with its own weight. [N] inf without sag."""
    if reading.sag_mm == 0:
        return inf
    even = tension_for_sag_n(
        load_n_m=wire.weight_n_m + reading.load_n_m, span_m=reading.span_mm / 1000, sag_m=reading.sag_mm / 1000
    )
    return even + reading.point_n * reading.span_mm / (4 * reading.sag_mm)


def tension_without_load_n(wire: Wire, reading: SagReading) -> float:
    """Tension of the wire were nothing hung on it, from a sag read under load. [N] inf without sag."""
    now = tension_from_sag_n(wire, reading)
    if now == inf or not (reading.load_n_m or reading.point_n):
        return now
    load = Load(per_metre_n=wire.weight_n_m + reading.load_n_m, point_n=reading.point_n)
    return unloaded_tension_n(Strung(wire=wire, span_m=reading.span_mm / 1000, tension_n=1), load, now)


def judge_slack(
    wire: Wire, reading: SagReading, *, wanted_n: float, on_wall: bool, book: Materials | None = None
) -> Slack:
    """What a measured sag says: the tension it stands for, and whether to tighten.

    Not enough: sags more than a fiftieth of the span (30 mm on a wall) or pulls less than 30 N. Near its limit: less
    than half of the wanted tension. The reading may be 2 mm off; where that leaves the answer open, it says so.
    """
    book = book or materials()
    error = book.limit("sag_reading_mm")
    tensions = (
        tension_without_load_n(wire, _shifted(reading, error)),
        tension_without_load_n(wire, reading),
        tension_without_load_n(wire, _shifted(reading, -error)),
    )
    most_mm = book.limit("sag_crop_share") * reading.span_mm
    if on_wall:
        most_mm = min(most_mm, book.limit("sag_crop_wall_mm"))
    if reading.sag_mm > most_mm:
        verdict: PartVerdict = "not_enough"
        text = f"Tighten to {wanted_n:.0f} N: it sags {reading.sag_mm:.0f} mm, at most {most_mm:.0f} mm is right."
    else:
        verdict, text = _judge(tensions, wanted_n, book.limit("warm_tension_n"))
    return Slack(
        tension_n=tensions[1],
        low_n=tensions[0],
        high_n=tensions[2],
        now_n=tension_from_sag_n(wire, reading),
        verdict=verdict,
        text=text,
        formula=SAG_FORMULA,
        source=f"parabola of a taut wire; limits: {book.limits['sag_crop_share'].source}",
    )


def judge_pull(
    wire: Wire, *, pull_n: float, free_run_mm: float, wanted_n: float, book: Materials | None = None
) -> Slack:
    """What a pull on the gauge board says: the tension it stands for, and whether to tighten.

    Args:
        pull_n: on the spring scale, when the wire touches the middle nail. [N]
        free_run_mm: length over which the wire can move: the run where it slides, else one span. [mm]
    """
    book = book or materials()
    now = tension_from_pull_n(pull_n=pull_n)
    adds = pull_adds_n(wire, free_run_mm=free_run_mm)
    tensions = (max(0.0, 0.9 * now - adds), max(0.0, now - adds), max(0.0, 1.1 * now - adds))
    verdict, text = _judge(tensions, wanted_n, book.limit("warm_tension_n"))
    return Slack(
        tension_n=tensions[1],
        low_n=tensions[0],
        high_n=tensions[2],
        now_n=now,
        verdict=verdict,
        text=text,
        formula=PULL_FORMULA,
        source="Wire tension, Iowa vineyard note, 2014; a spring scale reads to a tenth: house default",
    )


def _shifted(reading: SagReading, by_mm: float) -> SagReading:
    return SagReading(
        sag_mm=max(0.0, reading.sag_mm + by_mm),
        span_mm=reading.span_mm,
        load_n_m=reading.load_n_m,
        point_n=reading.point_n,
    )


def _judge(tensions: tuple[float, float, float], wanted_n: float, least_n: float) -> tuple[PartVerdict, str]:
    low, tension, high = tensions
    if high < least_n:
        return "not_enough", f"Tighten to {wanted_n:.0f} N: it pulls only about {tension:.0f} N and hangs loose."
    if tension < wanted_n / 2 and high < wanted_n:
        return "near_its_limit", f"Tighten to {wanted_n:.0f} N at this visit: about {tension:.0f} N is left."
    if low < wanted_n / 2:
        return "not_proved", f"This reading cannot tell ({low:.0f} N or more): lay the pull gauge on the wire."
    return "fine", f"Leave it: about {tension:.0f} N." if tension < inf else "Leave it: no sag can be seen."
