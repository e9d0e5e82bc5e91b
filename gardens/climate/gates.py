"""Weather gates of the day: dry spells, frost, heat, wind. Checked when a visit is near, never weeks ahead.

A gate is asked for one day with the days known around it, measured or forecast. It answers "open", "closed", or
"unknown" where a needed day is missing; unknown days are counted and named, not guessed.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from typing import Literal

from pydantic import Field

from business.errors import BadInput, Fault
from gardens.climate.tables import Row, read_table, shipped_text
from gardens.climate.values import DailyWeather, MonthlyNormals

FILE = "gates.toml"
Kind = Literal["dry", "dry_weeks", "cold", "frozen", "mild", "hot", "calm", "paint"]
Answer = Literal["open", "closed", "unknown"]

FORECAST_DAYS = 7
"""Beyond a week a forecast says little; what lies further ahead is taken from normals."""
LOOK_BACK_DAYS = 21

NEEDS: Mapping[str, tuple[str, ...]] = {
    "dry": ("rain_mm", "days_ahead"),
    "dry_weeks": ("rain_mm", "days_ahead"),
    "cold": ("below_c", "days_ahead", "resume_c", "resume_days"),
    "frozen": ("above_c",),
    "mild": ("min_c", "max_c"),
    "hot": ("at_c", "days_ahead", "times"),
    "calm": ("wind_ms",),
    "paint": ("rain_mm", "min_c", "max_c", "wind_ms"),
}


class Gate(Row):
    """A rule about the weather of the day and the next days, with its reason and source."""

    id: str
    kind: Kind
    days_ahead: int = Field(default=0, ge=0, le=60)
    rain_mm: float = Field(default=0.0, ge=0)
    below_c: float = 0.0
    resume_c: float = 0.0
    resume_days: int = Field(default=0, ge=0, le=14)
    above_c: float = 0.0
    min_c: float = 0.0
    max_c: float = 0.0
    at_c: float = 0.0
    times: int = Field(default=1, ge=1)
    wind_ms: float = Field(default=0.0, ge=0)
    why: str = Field(min_length=1)
    source: str = Field(min_length=1)


class _File(Row):
    gate: tuple[Gate, ...]


@dataclass(frozen=True, kw_only=True)
class GateAnswer:
    """What a gate says on a day. ``because`` names the days and figures, ``missing`` the days that were needed.

    ``from_normals`` is true where the answer rests on usual rain, not on a forecast.
    """

    gate: str
    on: date
    answer: Answer
    because: str
    why: str
    source: str
    missing: tuple[date, ...] = ()
    from_normals: bool = False

    @property
    def is_open(self) -> bool:
        """Whether the work may go ahead as far as this gate knows."""
        return self.answer == "open"


@dataclass(frozen=True)
class _Question:
    gate: Gate
    on: date
    days: Mapping[date, DailyWeather]
    normals: MonthlyNormals | None

    def ahead(self, count: int) -> list[date]:
        return [self.on + timedelta(days=step) for step in range(count + 1)]

    def answer(self, answer: Answer, because: str, missing: Sequence[date] = (), *, usual: bool = False) -> GateAnswer:
        return GateAnswer(
            gate=self.gate.id,
            on=self.on,
            answer=answer,
            because=because,
            why=self.gate.why,
            source=self.gate.source,
            missing=tuple(missing),
            from_normals=usual,
        )

    def unknown(self, missing: Sequence[date], what: str) -> GateAnswer:
        return self.answer("unknown", f"no {what} for {', '.join(map(str, missing[:3]))}", missing)


def read_gates(text: str, file: str = FILE) -> Mapping[str, Gate]:
    """The gates in ``text`` by id.

    Raises:
        BadInput: with every fault, each naming file, gate and key.
    """
    gates = read_table(_File, text, file).gate
    faults = [
        Fault(f"{file}, {gate.id}", f"a {gate.kind} gate needs {name}", f"add {name} = …")
        for gate in gates
        for name in NEEDS[gate.kind]
        if name not in gate.model_fields_set
    ]
    faults += [
        Fault(f"{file}, {gate.id}", "the id is used twice", "give every gate its own id")
        for number, gate in enumerate(gates)
        if gate.id in {other.id for other in gates[:number]}
    ]
    if faults:
        raise BadInput(faults)
    return {gate.id: gate for gate in gates}


@lru_cache(maxsize=1)
def shipped_gates() -> Mapping[str, Gate]:
    """The gates the program ships with."""
    return read_gates(shipped_text(FILE))


def ask_gate(gate: str, on: date, days: Sequence[DailyWeather], normals: MonthlyNormals | None = None) -> GateAnswer:
    """Whether the weather lets a kind of work go ahead on a day.

    Args:
        gate: an id of `gardens/knowledge/climate/gates.toml`, such as "D24" or "COLD_STOP".
        on: the day of the work.
        days: measured and forecast days around it, in any order.
        normals: the site's normals with rain, for gates that look further ahead than a forecast.

    Raises:
        BadInput: when the gate is not known; the known ones are listed.
    """
    gates = shipped_gates()
    if gate not in gates:
        raise BadInput([Fault("gate", f"{gate!r} is not known", f"use one of: {', '.join(sorted(gates))}")])
    question = _Question(gates[gate], on, {day.on: day for day in days}, normals)
    return _ANSWERS[gates[gate].kind](question)


def usual_rain_mm_per_week(normals: MonthlyNormals, on: date) -> float | None:
    """Usual rain around a day [mm per week], straight lines between the middles of the months; None if unknown."""
    if not normals.rain_mm:
        return None
    lengths = (31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
    middle = date(on.year, on.month, 15)
    neighbour = on.month % 12 + 1 if on >= middle else (on.month - 2) % 12 + 1
    share = abs((on - middle).days) / 30.4
    here, there = (normals.rain_mm[month - 1] / lengths[month - 1] for month in (on.month, neighbour))
    return 7 * (here + min(share, 1.0) * (there - here))


def wet_season_starts(normals: MonthlyNormals, after: date, rain_mm_per_week: float) -> date | None:
    """First day from ``after`` on that usually brings this much rain a week; None within a year or if unknown."""
    for step in range(366):
        on = after + timedelta(days=step)
        usual = usual_rain_mm_per_week(normals, on)
        if usual is None:
            return None
        if usual >= rain_mm_per_week:
            return on
    return None


def _dry(question: _Question) -> GateAnswer:
    gate = question.gate
    wanted = question.ahead(gate.days_ahead)
    rain = {on: question.days[on].rain_mm for on in wanted if on in question.days}
    wet = [on for on in wanted if (rain.get(on) or 0.0) >= gate.rain_mm]
    if wet:
        return question.answer("closed", f"{rain[wet[0]]:g} mm of rain on {wet[0]}")
    missing = [on for on in wanted if rain.get(on) is None]
    if missing:
        return question.unknown(missing, "rain")
    return question.answer("open", f"dry from {wanted[0]} to {wanted[-1]}")


def _dry_weeks(question: _Question) -> GateAnswer:
    gate = question.gate
    near = question.ahead(FORECAST_DAYS - 1)
    for on in near:
        rain = question.days[on].rain_mm if on in question.days else None
        if rain is not None and rain >= gate.rain_mm:
            return question.answer("closed", f"{rain:g} mm of rain on {on}")
    if question.normals is None or not question.normals.rain_mm:
        return question.unknown(question.ahead(gate.days_ahead)[FORECAST_DAYS:], "usual rain")
    starts = wet_season_starts(question.normals, question.on, gate.rain_mm)
    last = question.on + timedelta(days=gate.days_ahead)
    if starts is not None and starts <= last:
        because = (
            f"{gate.rain_mm:g} mm of rain a week are usual from {starts}, {(starts - question.on).days} days ahead"
        )
        return question.answer("closed", because, usual=True)
    return question.answer("open", f"usually dry until {last}", usual=True)


def _cold(question: _Question) -> GateAnswer:
    gate = question.gate
    ahead = question.ahead(gate.days_ahead)
    coming = [on for on in ahead if on in question.days and question.days[on].tmin_c < gate.below_c]
    if coming:
        return question.answer("closed", f"{question.days[coming[0]].tmin_c:g} °C on {coming[0]}")
    past = [question.on - timedelta(days=step) for step in range(1, LOOK_BACK_DAYS + 1)]
    cold_days = [on for on in past if on in question.days and question.days[on].tmin_c < gate.below_c]
    if cold_days:
        since = [on for on in past if on > cold_days[0]]
        still_cold = [on for on in since if on in question.days and question.days[on].tmin_c < gate.resume_c]
        warm_from = max(still_cold, default=cold_days[0]) + timedelta(days=1)
        if (question.on - warm_from).days < gate.resume_days:
            because = f"{question.days[cold_days[0]].tmin_c:g} °C on {cold_days[0]}, above {gate.resume_c:g} since {warm_from}"
            return question.answer("closed", because)
    missing = [on for on in ahead if on not in question.days]
    if missing:
        return question.unknown(missing, "forecast")
    return question.answer("open", f"not below {gate.below_c:g} °C until {ahead[-1]}")


def _frozen(question: _Question) -> GateAnswer:
    day = question.days.get(question.on)
    if day is None:
        return question.unknown([question.on], "temperature")
    if day.tmax_c <= question.gate.above_c:
        return question.answer("closed", f"it does not thaw: {day.tmax_c:g} °C at the most")
    if day.tmin_c <= question.gate.above_c:
        return question.answer("open", f"wait until the wood has thawed: {day.tmin_c:g} °C at night")
    return question.answer("open", f"no frost: {day.tmin_c:g} °C at night")


def _mild(question: _Question) -> GateAnswer:
    day, gate = question.days.get(question.on), question.gate
    if day is None:
        return question.unknown([question.on], "temperature")
    if day.tmin_c <= gate.min_c:
        return question.answer("closed", f"{day.tmin_c:g} °C at night")
    if day.tmax_c < gate.max_c:
        return question.answer("closed", f"{day.tmax_c:g} °C at the most")
    return question.answer("open", f"{day.tmin_c:g} to {day.tmax_c:g} °C")


def _hot(question: _Question) -> GateAnswer:
    gate = question.gate
    wanted = question.ahead(gate.days_ahead)
    hot = [on for on in wanted if on in question.days and question.days[on].tmax_c >= gate.at_c]
    if len(hot) >= gate.times:
        return question.answer("closed", f"{question.days[hot[0]].tmax_c:g} °C on {hot[0]}, {len(hot)} hot days")
    missing = [on for on in wanted if on not in question.days]
    if len(hot) + len(missing) >= gate.times and missing:
        return question.unknown(missing, "forecast")
    return question.answer("open", f"{len(hot)} days of {gate.at_c:g} °C until {wanted[-1]}")


def _calm(question: _Question) -> GateAnswer:
    day = question.days.get(question.on)
    if day is None or day.wind_ms is None:
        return question.unknown([question.on], "wind")
    return question.answer("closed" if day.wind_ms >= question.gate.wind_ms else "open", f"wind {day.wind_ms:g} m/s")


def _paint(question: _Question) -> GateAnswer:
    day, gate = question.days.get(question.on), question.gate
    if day is None or day.rain_mm is None or day.wind_ms is None:
        return question.unknown([question.on], "rain, temperature or wind")
    if day.rain_mm >= gate.rain_mm:
        return question.answer("closed", f"{day.rain_mm:g} mm of rain")
    if day.wind_ms >= gate.wind_ms:
        return question.answer("closed", f"wind {day.wind_ms:g} m/s")
    if day.tmax_c < gate.min_c or day.tmax_c > gate.max_c:
        return question.answer("closed", f"{day.tmax_c:g} °C at the most")
    return question.answer("open", f"dry, {day.tmax_c:g} °C, wind {day.wind_ms:g} m/s")


_ANSWERS: Mapping[str, Callable[[_Question], GateAnswer]] = {
    "dry": _dry,
    "dry_weeks": _dry_weeks,
    "cold": _cold,
    "frozen": _frozen,
    "mild": _mild,
    "hot": _hot,
    "calm": _calm,
    "paint": _paint,
}
