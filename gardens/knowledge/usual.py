"""The usual day of a stage, from the calendar of a species, where nothing better is known."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date

from gardens.knowledge.when import Frame, When

Known = Callable[[str, Frame], date | None]


def _nothing_known(anchor: str, frame: Frame) -> date | None:
    return None


def stage_day(anchor: str, frame: Frame, calendar: Mapping[str, When], known: Known = _nothing_known) -> date:
    """The date of a stage or mark in one tree-year.

    Args:
        anchor: a stage or mark.
        frame: the tree-year.
        calendar: the usual day of every anchor; days there may hang on other stages, which are looked up alike.
        known: gives the better date where one is known.
    """
    better = known(anchor, frame)
    if better is not None:
        return better
    return when_day(calendar[anchor], frame, calendar, known)


def when_day(when: When, frame: Frame, calendar: Mapping[str, When], known: Known = _nothing_known) -> date:
    """The date of an expression in one tree-year."""
    return when.on(frame, lambda anchor, away: stage_day(anchor, frame.away(away), calendar, known))


def circle(calendar: Mapping[str, When]) -> tuple[str, ...]:
    """Stages of a calendar that hang on themselves, in order; empty when there are none."""
    done: set[str] = set()

    def walk(anchor: str, path: tuple[str, ...]) -> tuple[str, ...]:
        if anchor in path:
            return (*path[path.index(anchor) :], anchor)
        if anchor in done or anchor not in calendar:
            return ()
        for next_anchor in calendar[anchor].stages:
            if found := walk(next_anchor, (*path, anchor)):
                return found
        done.add(anchor)
        return ()

    for anchor in calendar:
        if found := walk(anchor, ()):
            return found
    return ()
