"""Windows of one tree-year: the span a task asks for, less the spans that disease, sap and frost close."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from gardens.knowledge.rule_schema import Closed, Task
from gardens.pruning.seasons import YearDays, weakest
from gardens.pruning.values import Closure, Window

ONE_DAY = timedelta(days=1)
NEIGHBOURS = (-1, 0, 1)


@dataclass(frozen=True)
class DatedClosure:
    """A closed season of one year with the rule behind it."""

    rule: Closed
    span: Closure

    def closes(self, task: Task) -> bool:
        """Whether this closure shuts a task."""
        return (
            not self.rule.warn_only
            and task.kind in self.rule.kinds
            and task.id not in self.rule.allow
            and task.kind not in self.rule.allow
        )

    def shuts(self, day: date) -> bool:
        """Whether a day lies in the span."""
        return self.span.opens <= day <= self.span.closes


@dataclass(frozen=True)
class DatedTask:
    """A task with its windows in one year, in order of time: usually one, none where something closes it all.

    ``best`` is the piece a need takes. ``shut_by`` says why there is no window, or what cut it short.
    """

    task: Task
    windows: tuple[Window, ...]
    best: Window | None
    shut_by: DatedClosure | None = None
    why_none: str = ""

    def is_open(self, day: date) -> bool:
        """Whether any window holds the day."""
        return any(day in window for window in self.windows)


def closed_spans(rules: Iterable[Closed], days: YearDays, cite: str = "; ") -> tuple[DatedClosure, ...]:
    """The closed seasons that touch a tree-year, from the year before to the year after."""
    spans: list[DatedClosure] = []
    for rule in rules:
        spans.extend(DatedClosure(rule, _closure(rule, start, end, cite)) for start, end in _spans(rule, days))
    return tuple(sorted(spans, key=lambda dated: dated.span.opens))


def _spans(rule: Closed, days: YearDays) -> Iterator[tuple[date, date]]:
    if rule.starts is None or rule.ends is None:
        yield date.min, date.max
        return
    over_the_turn = days.day(rule.starts).on > days.day(rule.ends).on
    for away in NEIGHBOURS:
        start = days.day(rule.starts, away).on
        end = days.day(rule.ends, away + 1 if over_the_turn else away).on
        if start <= end:
            yield start, end


def _closure(rule: Closed, opens: date, closes: date, cite: str) -> Closure:
    return Closure(opens=opens, closes=closes, code=rule.code, why=rule.why, source=cite.join(rule.source))


def date_task(task: Task, days: YearDays, closures: Sequence[DatedClosure], away: int = 0) -> DatedTask:
    """A task's windows in one tree-year, less what is closed.

    The best part lies inside the window: where a stage runs late, the best days are those nearest to it.
    """
    asked = _asked(task, days, away)
    if isinstance(asked, str):
        return DatedTask(task, (), None, None, asked)
    shutting = [
        closure
        for closure in closures
        if closure.span.opens <= asked.closes and closure.span.closes >= asked.opens and closure.closes(task)
    ]
    if not shutting:
        return DatedTask(task, (asked,), asked)
    pieces = open_pieces(asked.opens, asked.closes, shutting)
    windows = tuple(_piece(asked, start, end) for start, end in pieces)
    if not windows:
        by = shutting[0]
        why = f"all of {asked.opens:%-d %b} to {asked.closes:%-d %b} is closed: {by.span.why}"
        return DatedTask(task, (), None, by, why)
    best = max(windows, key=lambda window: (_shared(window, asked), _length(window)))
    cut_by = shutting[0] if _length(best) < _length(asked) else None
    return DatedTask(task, windows, best, cut_by)


def _asked(task: Task, days: YearDays, away: int) -> Window | str:
    """The window before anything is closed, or a sentence why there is none this year."""
    if task.opens is None or task.closes is None:
        start, end = days.whole_year(away)
        return Window(opens=start, best_from=start, best_until=end, closes=end, basis="normals")
    opens, closes = days.day(task.opens, away), days.day(task.closes, away)
    if opens.on > closes.on:
        return f"{task.opens} ({opens.on:%-d %b}) falls after {task.closes} ({closes.on:%-d %b}) this year"
    best_from = days.day(task.best_from, away) if task.best_from else opens
    best_until = days.day(task.best_until, away) if task.best_until else closes
    first = min(max(best_from.on, opens.on), closes.on)
    last = min(max(best_until.on, first), closes.on)
    return Window(
        opens=opens.on,
        best_from=first,
        best_until=last,
        closes=closes.on,
        basis=weakest((opens.basis, closes.basis, best_from.basis, best_until.basis)),
    )


def open_pieces(opens: date, closes: date, shutting: Iterable[DatedClosure]) -> list[tuple[date, date]]:
    """What is left of a span when closed spans are taken out; in order, all days inclusive."""
    pieces: list[tuple[date, date]] = []
    start = opens
    for closure in sorted(shutting, key=lambda dated: dated.span.opens):
        span = closure.span
        if span.closes < start or span.opens > closes:
            continue
        if span.opens > start:
            pieces.append((start, span.opens - ONE_DAY))
        if span.closes >= closes:
            return pieces
        start = span.closes + ONE_DAY
    pieces.append((start, closes))
    return pieces


def _piece(asked: Window, opens: date, closes: date) -> Window:
    best_from = min(max(asked.best_from, opens), closes)
    best_until = max(best_from, min(max(asked.best_until, opens), closes))
    return Window(opens=opens, best_from=best_from, best_until=best_until, closes=closes, basis=asked.basis)


def _shared(piece: Window, asked: Window) -> int:
    """Days of the best part that a piece keeps."""
    return (min(piece.closes, asked.best_until) - max(piece.opens, asked.best_from)).days


def _length(window: Window) -> int:
    return (window.closes - window.opens).days


def passes(window: Window, count: int) -> tuple[Window, ...]:
    """A window split into so many visits, one after the other; fewer where the window is too short."""
    days = (window.closes - window.opens).days + 1
    count = min(count, days)
    if count <= 1:
        return (window,)
    edges = [window.opens + timedelta(days=round(days * part / count)) for part in range(count + 1)]
    return tuple(
        Window(opens=start, best_from=start, best_until=end - ONE_DAY, closes=end - ONE_DAY, basis=window.basis)
        for start, end in pairwise(edges)
    )
