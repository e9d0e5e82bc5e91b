"""The rules of the trade with this business's own laid over them: the one door to them for everything on rows."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache
from types import MappingProxyType
from typing import Any, TypeVar, cast

from django.db import IntegrityError, transaction

from business import clock
from business.errors import AlreadyDone, BadInput, Fault, NotAllowed, Refusal, Stale
from business.models import Staff
from gardens.knowledge import Knowledge, Overlaid, Overlay, load_knowledge
from gardens.knowledge.browse import RuleTable
from gardens.knowledge.rule_schema import Closed, Task, Watch
from gardens.knowledge.schema import Species
from gardens.models import RuleOverride
from gardens.queries.rules import standing_overrides
from gardens.services.rule_keys import KEYS, read, shown

MOST_FAULTS = 6
"""A rule of a group fails in every species of it; the first few say it all."""
LONGEST_TEXT = 4000
LONGEST_REASON = RuleOverride._meta.get_field("reason").max_length or 300
KEPT_REVISIONS = 4

AnyRule = TypeVar("AnyRule", bound=Task | Closed | Watch)


@dataclass(frozen=True)
class KeptRule:
    """A house rule as its row holds it; two with the same words are the same, stored or only proposed."""

    rule: str
    key: str
    value: str
    reason: str
    by: str
    on: date

    @property
    def overlay(self) -> Overlay:
        return Overlay(
            rule=self.rule, key=self.key, value=json.loads(self.value), reason=self.reason, by=self.by, on=self.on
        )


@dataclass(frozen=True, kw_only=True)
class HouseRules:
    """Our rules with the business's own laid over. ``unfit`` are house rules that no longer fit ours and rest."""

    knowledge: Knowledge
    laid: tuple[KeptRule, ...] = ()
    unfit: tuple[tuple[KeptRule, str], ...] = ()


def our_knowledge() -> Knowledge:
    """The rules this business works by. One query; read anew only when a house rule was made or ended."""
    return house_rules().knowledge


def house_rules() -> HouseRules:
    """The same, with which house rules stand in it."""
    return _laid_over(tuple(_kept(row) for row in standing_overrides()))


def _kept(row: RuleOverride) -> KeptRule:
    value = json.dumps(row.value, sort_keys=True)
    return KeptRule(row.rule, row.key, value, row.reason, row.made_by.name, row.made_at.date())


@lru_cache(maxsize=KEPT_REVISIONS)
def _laid_over(kept: tuple[KeptRule, ...]) -> HouseRules:
    """Kept by the house rules themselves, so that every process sees a new one at once and an old one never again."""
    if not kept:
        return HouseRules(knowledge=load_knowledge())
    try:
        return HouseRules(knowledge=_signed(_load(kept)), laid=kept)
    except BadInput:
        return _those_that_fit(kept)


def _those_that_fit(kept: Sequence[KeptRule]) -> HouseRules:
    """A newer version of our rules may know a rule no longer. The rest must go on working."""
    fitting: list[KeptRule] = []
    unfit: list[tuple[KeptRule, str]] = []
    for rule in dict.fromkeys(item.rule for item in kept):
        own = [item for item in kept if item.rule == rule]
        try:
            _load([*fitting, *own])
        except BadInput as refusal:
            unfit += [(item, str(refusal.faults[0])) for item in own]
        else:
            fitting += own
    return HouseRules(knowledge=_signed(_load(fitting)), laid=tuple(fitting), unfit=tuple(unfit))


def _load(kept: Iterable[KeptRule]) -> Knowledge:
    return _read_anew(tuple(kept))


@lru_cache(maxsize=KEPT_REVISIONS)
def _read_anew(kept: tuple[KeptRule, ...]) -> Knowledge:
    """Reading all rules takes about a second: what was read to check a change serves the page that follows."""
    return load_knowledge(overlays=[item.overlay for item in kept])


def _signed(knowledge: Knowledge) -> Knowledge:
    """A changed rule names who changed it beside its sources, wherever it is printed."""
    if not knowledge.overlaid:
        return knowledge
    signatures = {name: signature(knowledge, name) for name in {item.overlay.rule for item in knowledge.overlaid}}

    def signed(one: Species) -> Species:
        return replace(
            one,
            tasks=_signed_rules(one.tasks, signatures),
            closed=_signed_rules(one.closed, signatures),
            watches=_signed_rules(one.watches, signatures),
        )

    species = {key: signed(one) for key, one in knowledge.species.items()}
    return replace(knowledge, species=MappingProxyType(species))


def _signed_rules(rules: tuple[AnyRule, ...], signatures: Mapping[str, str]) -> tuple[AnyRule, ...]:
    def signed(one: AnyRule) -> AnyRule:
        if one.rule not in signatures:
            return one
        return cast("AnyRule", one.model_copy(update={"source": (*one.source, signatures[one.rule])}))

    return tuple(signed(one) for one in rules)


def signature(knowledge: Knowledge, rule: str) -> str:
    """Who changed a rule, when and why, in one line."""
    said = [
        f"{laid.overlay.by} on {laid.overlay.on:%-d %B %Y}: {laid.overlay.reason}" for laid in overlaid(knowledge, rule)
    ]
    return f"house rule of {'; '.join(dict.fromkeys(said))}"


def overlaid(knowledge: Knowledge, rule: str) -> list[Overlaid]:
    """What is laid over one rule."""
    return [item for item in knowledge.overlaid if item.overlay.rule == rule]


@transaction.atomic
def override_rule(
    *, rule: str, changes: Mapping[str, Any], reason: str, by: Staff, seen: Iterable[int] | None = None
) -> list[RuleOverride]:
    """Lay keys of our own over a rule. A key that gets back what our rule says loses its house rule.

    Args:
        rule: "apple_spur/summer_prune".
        changes: key → value as a rule file would hold it; all of them are laid together.
        reason: why this business does it differently.
        seen: the house rules over this rule that the person had before them.

    Raises:
        NotAllowed: the person is not of the office.
        Stale: somebody changed the rule meanwhile.
        BadInput: no reason, nothing changed, or rules that would make no sense; with every fault.
    """
    _must_be_office(by)
    standing = _standing_over(rule, seen)
    _check_words(changes, reason)
    originals = _originals(rule, changes)
    others = [item for item in house_rules().laid if not (item.rule == rule and item.key in changes)]
    now = clock.now()
    fresh = [
        KeptRule(rule, key, json.dumps(value, sort_keys=True), reason.strip(), by.name, now.date())
        for key, value in changes.items()
        if value != originals[key]
    ]
    taken_back = [row for row in standing if row.key in changes]
    if not fresh and not taken_back:
        raise BadInput([Fault("rule", "nothing was changed", "change a key, or leave the rule as it is")])
    _must_load([*others, *fresh])
    _end(taken_back, by)
    try:
        with transaction.atomic():
            return [
                RuleOverride.objects.create(
                    rule=rule,
                    key=item.key,
                    value=json.loads(item.value),
                    original=originals[item.key],
                    reason=reason.strip(),
                    made_by=by,
                    made_at=now,
                )
                for item in fresh
            ]
    except IntegrityError as error:
        raise _stale() from error


@transaction.atomic
def end_overrides(*, rule: str, by: Staff, keys: Iterable[str] | None = None) -> int:
    """Go back to our rule, whole or in some keys; how many house rules ended.

    Raises:
        NotAllowed: the person is not of the office.
        AlreadyDone: no house rule stands there (any more).
        BadInput: what is left over the rule would make no sense without it.
    """
    _must_be_office(by)
    wanted = None if keys is None else set(keys)
    ending = [row for row in _standing_over(rule) if wanted is None or row.key in wanted]
    if not ending:
        raise AlreadyDone([Fault("rule", "has no house rule to go back from", "look at the rule again")])
    gone = {row.key for row in ending}
    _must_load([item for item in house_rules().laid if not (item.rule == rule and item.key in gone)])
    _end(ending, by)
    return len(ending)


def _must_be_office(by: Staff) -> None:
    if not by.is_office:
        raise NotAllowed([Fault("rule", "is changed by the office", "ask the office")])


def _standing_over(rule: str, seen: Iterable[int] | None = None) -> list[RuleOverride]:
    rows = list(RuleOverride.objects.select_for_update().filter(rule=rule, ended_at=None))
    if seen is not None and {row.pk for row in rows} != set(seen):
        raise _stale()
    return rows


def _stale() -> Refusal:
    return Stale([Fault("rule", "was changed by somebody else meanwhile", "look at it again, then change it")])


def _check_words(changes: Mapping[str, Any], reason: str) -> None:
    faults = []
    if not reason.strip():
        faults.append(Fault("reason", "is empty", "say why this business does it differently"))
    if len(reason.strip()) > LONGEST_REASON:
        faults.append(Fault("reason", f"has {len(reason)} signs", f"use at most {LONGEST_REASON}"))
    for key, value in changes.items():
        if len(json.dumps(value)) > LONGEST_TEXT:
            faults.append(Fault(key, "is too long", f"use at most {LONGEST_TEXT} signs"))
    if faults:
        raise BadInput(faults)


def rule_named(knowledge: Knowledge, name: str) -> tuple[RuleTable, Task | Closed | Watch]:
    """A rule and the table it stands in.

    Raises:
        KeyError: no species has it.
    """
    for species in knowledge.species.values():
        tables: tuple[tuple[RuleTable, Sequence[Task | Closed | Watch]], ...] = (
            ("task", species.tasks),
            ("closed", species.closed),
            ("watch", species.watches),
        )
        for table, rules in tables:
            for rule in rules:
                if rule.rule == name:
                    return table, rule
    raise KeyError(name)


def _originals(rule: str, keys: Iterable[str]) -> dict[str, Any]:
    """What our rule says at each key, in the shape of a rule file.

    Raises:
        BadInput: there is no such rule, or no such key that may be changed.
    """
    try:
        table, ours = rule_named(load_knowledge(), rule)
    except KeyError:
        raise BadInput([Fault("rule", f"there is no rule {rule}", "choose one from the rules' pages")]) from None
    known = {key.name: key for key in KEYS[table]}
    if wrong := [key for key in keys if key not in known]:
        raise BadInput([Fault(key, "cannot be changed", f"use one of {', '.join(known)}") for key in wrong])
    return {key: read(shown(known[key].of(ours), known[key].manner), known[key].manner) for key in keys}


def _must_load(kept: Iterable[KeptRule]) -> None:
    try:
        _load(kept)
    except BadInput as refusal:
        alike = {(fault.wrong, fault.remedy): fault for fault in reversed(refusal.faults)}
        raise BadInput(list(reversed(alike.values()))[:MOST_FAULTS]) from refusal


def _end(rows: Sequence[RuleOverride], by: Staff) -> None:
    for row in rows:
        row.ended_at, row.ended_by = clock.now(), by
        row.save(update_fields=["ended_at", "ended_by"])
