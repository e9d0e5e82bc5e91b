"""Every rule as a row to read, search and trace: what it says, when, where it applies, who says so."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from gardens.knowledge.load import Knowledge
from gardens.knowledge.rule_schema import Applies, Closed, Task, Watch
from gardens.knowledge.schema import Species

RuleTable = Literal["task", "closed", "watch"]


@dataclass(frozen=True, kw_only=True)
class RuleRow:
    """One rule. ``species`` are the ids it speaks of; ``original`` what our rule said where a business changed a key."""

    rule: str
    table: RuleTable
    kinds: tuple[str, ...]
    when: str
    text: str
    why: str
    profiles: tuple[str, ...]
    forms: tuple[str, ...]
    species: tuple[str, ...]
    source: tuple[str, ...]
    original: tuple[tuple[str, str], ...] = ()
    reason: str = ""


def rule_rows(knowledge: Knowledge) -> tuple[RuleRow, ...]:
    """All rules, each once, in the order of the species and groups they come from."""
    speaks: dict[str, list[str]] = {}
    rules: dict[str, Task | Closed | Watch] = {}
    for species in knowledge.species.values():
        for rule in _rules_of(species):
            speaks.setdefault(rule.rule, []).append(species.id)
            rules.setdefault(rule.rule, rule)
    return tuple(_row(rule, tuple(speaks[name]), knowledge) for name, rule in sorted(rules.items()))


def rules_of_species(knowledge: Knowledge, species_id: str) -> tuple[RuleRow, ...]:
    """The rules that speak of one species, its own before those of its groups.

    Raises:
        KeyError: for an unknown species.
    """
    species = knowledge.species[species_id]
    order = {origin: place for place, origin in enumerate((species.id, *species.lineage))}
    rows = [row for row in rule_rows(knowledge) if species_id in row.species]
    return tuple(sorted(rows, key=lambda row: (order.get(row.rule.partition("/")[0], 99), row.rule)))


def search_rules(knowledge: Knowledge, words: str) -> tuple[RuleRow, ...]:
    """The rules in which every word occurs: in name, text, reason, source, species or time."""
    wanted = words.casefold().split()
    return tuple(row for row in rule_rows(knowledge) if all(word in _text(row) for word in wanted))


def _rules_of(species: Species) -> tuple[Task | Closed | Watch, ...]:
    return (*species.tasks, *species.closed, *species.watches)


def _text(row: RuleRow) -> str:
    parts = (row.rule, *row.kinds, row.when, row.text, row.why, *row.profiles, *row.species, *row.source, row.reason)
    return " ".join(parts).casefold()


def _row(rule: Task | Closed | Watch, species: tuple[str, ...], knowledge: Knowledge) -> RuleRow:
    laid = [item for item in knowledge.overlaid if item.overlay.rule == rule.rule]
    table, kinds, when, text, why = _told(rule)
    return RuleRow(
        rule=rule.rule,
        table=table,
        kinds=kinds,
        when=when,
        text=text,
        why=why,
        profiles=rule.profiles,
        forms=_forms(rule),
        species=species,
        source=rule.source,
        original=tuple((item.overlay.key, str(item.original)) for item in laid),
        reason="; ".join(f"{item.overlay.by}, {item.overlay.on}: {item.overlay.reason}" for item in laid),
    )


def _told(rule: Task | Closed | Watch) -> tuple[RuleTable, tuple[str, ...], str, str, str]:
    if isinstance(rule, Task):
        return "task", (rule.kind,), _span_of_task(rule), rule.instruction, rule.why
    if isinstance(rule, Closed):
        when = "all year" if rule.always else f"{rule.starts} … {rule.ends}"
        verb = "Mind" if rule.warn_only else "Closed"
        return "closed", rule.kinds, when, f"{verb}: {', '.join(rule.kinds)} ({rule.code})", rule.why
    when = f"{rule.opens} … {rule.closes}" if rule.opens else f"months {', '.join(map(str, rule.months))}"
    return "watch", ("inspect",), when, f"Look for {rule.look_for}.", rule.act


def _span_of_task(task: Task) -> str:
    if task.always:
        return "all year"
    best = ""
    if task.best_from is not None or task.best_until is not None:
        best = f" (best {task.best_from or task.opens} … {task.best_until or task.closes})"
    return f"{task.opens} … {task.closes}{best}"


def _forms(rule: Applies) -> tuple[str, ...]:
    return rule.forms or tuple(f"not {form}" for form in rule.not_forms)
