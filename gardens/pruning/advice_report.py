"""An advice as plain values for programs and as text for people."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

from gardens.pruning.advice import Advice
from gardens.pruning.values import Need, Window


def advice_as_dict(advice: Advice) -> dict[str, Any]:
    """The answer with dates as ISO text, ready for JSON."""
    return {
        "species": advice.species,
        "form": advice.form,
        "profile": advice.profile,
        "stage": advice.state.stage,
        "estimated": advice.state.estimated,
        "stages": {key: {"date": _iso(stage.on), "basis": stage.basis} for key, stage in advice.stages.items()},
        "due": [_need(need) for need in advice.due],
        "allowed": [verdict.kind for verdict in advice.allowed],
        "forbidden": [
            {"kind": verdict.kind, "code": verdict.code, "why": verdict.why, "source": verdict.source}
            for verdict in advice.forbidden
        ],
        "blocked": [
            {"kind": work.kind, "limb": work.limb, "why": work.why, "source": work.source} for work in advice.blocked
        ],
        "warnings": [{"text": warning.text, "source": warning.source} for warning in advice.warnings],
        "forecast": {
            "full_p10": advice.forecast.full_p10,
            "full_p50": advice.forecast.full_p50,
            "full_p90": advice.forecast.full_p90,
        },
    }


def _need(need: Need) -> dict[str, Any]:
    return {
        "kind": need.kind,
        "limb": need.limb,
        "instruction": need.instruction,
        "opens": _iso(need.window.opens),
        "best_from": _iso(need.window.best_from),
        "best_until": _iso(need.window.best_until),
        "closes": _iso(need.window.closes),
        "basis": need.window.basis,
        "why": need.why,
        "source": need.source,
        "minutes": need.minutes,
        "optional": need.is_optional,
        "weather_rule": need.weather_rule,
        "rule": need.rule,
    }


def _iso(day: date) -> str:
    return day.isoformat()


def advice_as_text(advice: Advice, on: date) -> str:
    """The answer as lines a person reads in a terminal."""
    return "\n".join(_lines(advice, on))


def _lines(advice: Advice, on: date) -> Iterator[str]:
    state = advice.state
    guess = " (estimated from the planting date)" if state.estimated else ""
    yield f"{advice.species} as {advice.form}, {advice.profile} climate, on {on:%-d %B %Y}: {state.stage}{guess}"
    full = advice.forecast
    if full.full_p50 is not None:
        yield f"Full in {full.full_p50} (one in ten by {full.full_p10}, nine in ten by {full.full_p90 or 'later'})"
    yield ""
    yield "Stages"
    for key, stage in advice.stages.items():
        yield f"  {key:<16} {stage.on:%d %b %Y}  {stage.basis}"
    yield ""
    yield "Due in the next twelve months"
    for need in advice.due:
        mark = "now " if on in need.window else "    "
        extra = "  (if wanted)" if need.is_optional else ""
        yield f"  {mark}{_span(need.window):<33} {need.kind:<18} {need.limb:<14} {need.minutes:>5.0f} min{extra}"
        for line in need.instruction.splitlines():
            yield f"        {line}"
        yield f"        Why: {need.why}"
    for work in advice.blocked:
        yield f"      no open day this season: {work.kind} {work.limb}: {work.why}"
    yield ""
    yield f"Allowed on this day: {', '.join(verdict.kind for verdict in advice.allowed)}"
    yield "Not on this day"
    for verdict in advice.forbidden:
        yield f"  {verdict.kind:<18} {verdict.code:<12} {verdict.why}"
    yield ""
    yield "Mind"
    for warning in advice.warnings:
        yield f"  {warning.text}"


def _span(window: Window) -> str:
    """ "04 Dec (04 Dec to 28 Feb) 11 Mar": opens, best part, closes."""
    best = f"({window.best_from:%d %b} to {window.best_until:%d %b})"
    return f"{window.opens:%d %b} {best} {window.closes:%d %b}"
