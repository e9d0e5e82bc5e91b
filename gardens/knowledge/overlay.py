"""A business's own rule laid over ours: one key of one rule, with who, when and why; the original stays visible."""

from __future__ import annotations

import copy
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from business.errors import BadInput, Fault

Tables = Mapping[str, Mapping[str, dict[str, Any]]]
"""Folder → file stem → table."""

RULE_TABLES = ("task", "closed", "watch")


@dataclass(frozen=True, kw_only=True)
class Overlay:
    """One changed key. ``rule`` is "apple_spur/winter_prune" (or "stone/silver_leaf" for a whole group)."""

    rule: str
    key: str
    value: Any
    reason: str
    by: str
    on: date


@dataclass(frozen=True, kw_only=True)
class Overlaid:
    """An overlay as it was applied, with what our rule says."""

    overlay: Overlay
    original: Any


def lay_over(tables: Tables, overlays: Iterable[Overlay]) -> tuple[Tables, tuple[Overlaid, ...]]:
    """The tables with the overlays in them, and for each what stood there before.

    A changed rule names its new source: "house rule of <who>, <when>: <why>" is carried by the overlay, not by the
    rule; the rule keeps the sources of the original. The result still has to be checked like any rule file.

    Raises:
        BadInput: for an overlay that names no rule, or gives no reason.
    """
    overlays = tuple(overlays)
    if not overlays:
        return tables, ()
    changed = copy.deepcopy({folder: dict(files) for folder, files in tables.items()})
    laid: list[Overlaid] = []
    faults: list[Fault] = []
    for overlay in overlays:
        where = f"overlay of {overlay.rule}, {overlay.key}"
        rule = _rule_table(changed, overlay.rule)
        if rule is None:
            faults.append(
                Fault(where, f"there is no rule {overlay.rule}", "name it as file/rule: apple_spur/winter_prune")
            )
        elif overlay.key in ("id", "source"):
            faults.append(Fault(where, f"{overlay.key} cannot be overlaid", "the original keeps its name and source"))
        elif not overlay.reason.strip():
            faults.append(Fault(where, "no reason is given", "say why this business does it differently"))
        else:
            laid.append(Overlaid(overlay=overlay, original=copy.deepcopy(rule.get(overlay.key))))
            rule[overlay.key] = overlay.value
    if faults:
        raise BadInput(faults)
    return changed, tuple(laid)


def _rule_table(tables: Tables, rule: str) -> Any:
    """The very table of a rule, to be changed in place; None when there is none."""
    origin, _, rule_id = rule.partition("/")
    for folder in ("species", "groups"):
        table = tables.get(folder, {}).get(origin, {})
        for name in RULE_TABLES:
            for row in table.get(name, ()):
                if row.get("id") == rule_id:
                    return row
    return None
