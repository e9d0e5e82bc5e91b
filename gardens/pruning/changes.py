"""What moved when a stage was seen, the weather came in or a rule was changed: two lists of needs compared."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from gardens.pruning.values import Need


@dataclass(frozen=True, kw_only=True)
class Moved:
    """A need whose window moved. ``days`` is that of its best part, later being positive."""

    before: Need
    after: Need
    days: int


@dataclass(frozen=True, kw_only=True)
class NeedChanges:
    """What a new list of needs changes against the old one."""

    moved: tuple[Moved, ...]
    appeared: tuple[Need, ...]
    vanished: tuple[Need, ...]

    @property
    def headline(self) -> str:
        """One line for the office: "14 needs moved (9 days earlier at most), 1 new, 2 gone"."""
        if not (self.moved or self.appeared or self.vanished):
            return "nothing moved"
        parts = []
        if self.moved:
            furthest = max(self.moved, key=lambda moved: abs(moved.days)).days
            way = "later" if furthest > 0 else "earlier"
            noun = "need" if len(self.moved) == 1 else "needs"
            parts.append(f"{len(self.moved)} {noun} moved ({abs(furthest)} days {way} at most)")
        parts += [f"{len(self.appeared)} new"] if self.appeared else []
        parts += [f"{len(self.vanished)} gone"] if self.vanished else []
        return ", ".join(parts)


def compare_needs(before: Iterable[Need], after: Iterable[Need]) -> NeedChanges:
    """Compare the needs of one tree; the same need is the same rule, kind, limb and turn."""
    old, new = _named(before), _named(after)
    moved = []
    for name, need in new.items():
        was = old.get(name)
        if was is not None and was.window != need.window:
            days = (need.window.best_from - was.window.best_from).days or (need.window.closes - was.window.closes).days
            if days:
                moved.append(Moved(before=was, after=need, days=days))
    return NeedChanges(
        moved=tuple(moved),
        appeared=tuple(need for name, need in new.items() if name not in old),
        vanished=tuple(need for name, need in old.items() if name not in new),
    )


def _named(needs: Iterable[Need]) -> dict[tuple[str, str, str, int], Need]:
    turns: Counter[tuple[str, str, str]] = Counter()
    named = {}
    for need in needs:
        name = (need.rule, need.kind, need.limb)
        turns[name] += 1
        named[(*name, turns[name])] = need
    return named
