"""What the pages of rules show: a species, a form, one rule in full, and the trees a rule speaks of."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from business.queries.profile import our_profile
from gardens.climate import season_year
from gardens.knowledge import Frame, Knowledge, RuleRow, Species, form_group, rule_rows
from gardens.knowledge.form_schema import FormRecord, forms
from gardens.knowledge.rule_schema import Applies, Closed, Task, Watch, applies_to_cultivar, applies_to_form
from gardens.knowledge.words import FORMS
from gardens.models import RuleOverride, Tree
from gardens.queries.rules import living_trees_of, overrides_of, sites_of
from gardens.services.rule_keys import KEYS, RuleKey, read, shown
from gardens.services.rule_words import FullSource, day_words, form_words, full_sources, profile_words, usual_day
from gardens.services.rules import HouseRules, overlaid, rule_named
from gardens.services.site_season import climate_profile_of
from gardens.services.words import FORM_WORDS
from gardens.services.work_words import WORK_WORDS

GRADE_WORDS = {3: "suits well", 2: "possible with care", 1: "poor", 0: "not advised"}
MONTHS = (
    "",
    *[
        "January",
        "February",
        "March",
        "April",
        "May",
        "June",
        "July",
        "August",
        "September",
        "October",
        "November",
        "December",
    ],
)

AnyRule = Task | Closed | Watch


@dataclass(frozen=True, kw_only=True)
class RuleLine:
    """One rule as a list shows it. ``usual`` are its first and last day in an average year of ``profile``."""

    name: str
    table: str
    heading: str
    when: str
    usual: tuple[date, date] | None
    profile: str
    text: str
    why: str
    only: str
    sources: tuple[FullSource, ...]
    is_ours: bool
    """Whether this business changed it."""

    @property
    def origin(self) -> str:
        return self.name.partition("/")[0]

    @property
    def rule_id(self) -> str:
        return self.name.partition("/")[2]


@dataclass(frozen=True, kw_only=True)
class Span:
    """Where usual days are wanted for: the profile and the season."""

    profile: str
    frame: Frame


def usual_span(today: date) -> Span:
    """The business's own profile and the season that runs there."""
    profile = our_profile()
    is_southern = profile.latitude is not None and profile.latitude < 0
    year = season_year(today, is_southern=is_southern)
    return Span(profile=profile.climate_profile or "maritime", frame=Frame(year, is_southern))


def line_of(rule: AnyRule, knowledge: Knowledge, span: Span, species: Species) -> RuleLine:
    """A rule in words, dated as it usually falls for one species."""
    table, heading, text, why = _told(rule)
    return RuleLine(
        name=rule.rule,
        table=table,
        heading=heading,
        when=_when(rule),
        usual=_usual(rule, species, span),
        profile=span.profile,
        text=text,
        why=why,
        only=_only(rule),
        sources=full_sources(knowledge, rule.source),
        is_ours=bool(overlaid(knowledge, rule.rule)),
    )


def _told(rule: AnyRule) -> tuple[str, str, str, str]:
    if isinstance(rule, Task):
        return "task", WORK_WORDS.get(rule.kind, rule.kind), rule.instruction, rule.why
    if isinstance(rule, Closed):
        kinds = ", ".join(WORK_WORDS.get(kind, kind).lower() for kind in rule.kinds)
        return "closed", "Mind" if rule.warn_only else "Closed", f"{kinds[:1].upper()}{kinds[1:]}.", rule.why
    return "watch", "Look for", rule.look_for, rule.act


def _ends(rule: AnyRule) -> tuple[Any, Any]:
    return (rule.starts, rule.ends) if isinstance(rule, Closed) else (rule.opens, rule.closes)


def _when(rule: AnyRule) -> str:
    first, last = _ends(rule)
    if first is not None and last is not None:
        best = ""
        if isinstance(rule, Task) and (rule.best_from or rule.best_until):
            best = f"; best from {day_words(rule.best_from or first)} to {day_words(rule.best_until or last)}"
        return f"from {day_words(first)} to {day_words(last)}{best}"
    if isinstance(rule, Watch) and rule.months:
        return f"in {', '.join(MONTHS[month] for month in rule.months)}"
    return "all year"


def _usual(rule: AnyRule, species: Species, span: Span) -> tuple[date, date] | None:
    first, last = _ends(rule)
    if span.profile not in rule.profiles or first is None or last is None:
        return None
    calendar = species.calendar[span.profile]
    opens, closes = usual_day(first, calendar, span.frame), usual_day(last, calendar, span.frame)
    if opens > closes:
        # Written over the turn of the year: it ends in the season after.
        closes = usual_day(last, calendar, span.frame.away(1))
    return opens, closes


def _only(rule: Applies) -> str:
    """Whom it speaks of, in words; empty: every tree of its species."""
    said = []
    if len(rule.profiles) < 3:
        said.append(f"where the climate is {' or '.join(profile_words(profile) for profile in rule.profiles)}")
    if rule.forms:
        said.append(f"for {', '.join(form_words(rule.forms))}")
    if rule.not_forms:
        said.append(f"not for {', '.join(form_words(rule.not_forms))}")
    if rule.cultivars:
        said.append(f"for sorts named {', '.join(rule.cultivars)}")
    if rule.not_cultivars:
        said.append(f"not for sorts named {', '.join(rule.not_cultivars)}")
    if rule.if_disease:
        said.append(f"where {rule.if_disease.replace('_', ' ')} was seen")
    if rule.unless_disease:
        said.append(f"unless {rule.unless_disease.replace('_', ' ')} was seen")
    return "; ".join(said)


@dataclass(frozen=True, kw_only=True)
class SpeciesPage:
    """Everything the rules say of a species."""

    species: Species
    groups: tuple[tuple[str, tuple[RuleLine, ...]], ...]
    grades: tuple[tuple[str, str, int, str], ...]
    """Form id, its name, grade 0 to 3, the grade in words."""
    profile: str


def species_page(knowledge: Knowledge, species_id: str, today: date) -> SpeciesPage:
    """A species with its rules in three groups, its own before those of its groups.

    Raises:
        KeyError: for an unknown species.
    """
    species = knowledge.species[species_id]
    span = usual_span(today)
    order = {origin: place for place, origin in enumerate((species.id, *species.lineage))}

    def lines(rules: Sequence[AnyRule]) -> tuple[RuleLine, ...]:
        ranked = sorted(rules, key=lambda rule: order.get(rule.origin, len(order)))
        return tuple(line_of(rule, knowledge, span, species) for rule in ranked)

    grades = [(form, FORM_WORDS[form], species.grade(form)) for form in FORMS]
    return SpeciesPage(
        species=species,
        groups=(
            ("Work", lines(species.tasks)),
            ("Closed seasons and warnings", lines(species.closed)),
            ("What to look for", lines(species.watches)),
        ),
        grades=tuple((form, words, grade, GRADE_WORDS[grade]) for form, words, grade in grades),
        profile=profile_words(span.profile),
    )


@dataclass(frozen=True, kw_only=True)
class KeyLine:
    """A key of a rule: what stands there, and what our rule says where the business changed it."""

    key: RuleKey
    value: str
    original: str | None = None
    reason: str = ""
    by: str = ""
    on: date | None = None


@dataclass(frozen=True, kw_only=True)
class RulePage:
    """One rule in full."""

    line: RuleLine
    keys: tuple[KeyLine, ...]
    species: tuple[tuple[Species, RuleLine], ...]
    code: str
    history: Sequence[RuleOverride]
    seen: str
    """The house rules over it, to tell a stale page."""

    @property
    def changed(self) -> tuple[KeyLine, ...]:
        return tuple(key for key in self.keys if key.original is not None)


def rule_page(house: HouseRules, name: str, today: date) -> RulePage:
    """One rule: every key, its usual days by species, what was changed and by whom.

    Raises:
        KeyError: there is no such rule.
    """
    knowledge = house.knowledge
    table, rule = rule_named(knowledge, name)
    span = usual_span(today)
    of = [species for species in knowledge.species.values() if _own(species, name) is not None]
    laid = {item.overlay.key: item for item in overlaid(knowledge, name)}
    history = list(overrides_of(name))
    standing = {row.key: row for row in history if row.ended_at is None}
    keys = tuple(_key_line(key, rule, standing.get(key.name) if key.name in laid else None) for key in KEYS[table])
    return RulePage(
        line=line_of(rule, knowledge, span, of[0]),
        keys=keys,
        species=tuple((species, line_of(_own(species, name) or rule, knowledge, span, species)) for species in of),
        code=knowledge.codes[rule.code].why if isinstance(rule, Closed) else "",
        history=history,
        seen=seen_of(standing.values()),
    )


def seen_of(rows: Iterable[RuleOverride]) -> str:
    """The house rules a page shows, as its form sends them back."""
    return "-".join(str(pk) for pk in sorted(row.pk for row in rows))


def _own(species: Species, name: str) -> AnyRule | None:
    rules: tuple[AnyRule, ...] = (*species.tasks, *species.closed, *species.watches)
    return next((rule for rule in rules if rule.rule == name), None)


def _key_line(key: RuleKey, rule: AnyRule, row: RuleOverride | None) -> KeyLine:
    value = shown(key.of(rule), key.manner)
    if row is None:
        return KeyLine(key=key, value=value)
    return KeyLine(
        key=key,
        value=value,
        original=shown(row.original, key.manner),
        reason=row.reason,
        by=row.made_by.name,
        on=row.made_at.date(),
    )


def changes_of(page: RulePage, written: Mapping[str, str]) -> tuple[dict[str, Any], dict[str, str]]:
    """What was written in the boxes against what stood there: changed keys with their values, and faults by key."""
    changes: dict[str, Any] = {}
    faults: dict[str, str] = {}
    for line in page.keys:
        text = written.get(line.key.name, line.value).replace("\r\n", "\n").strip()
        if text == line.value:
            continue
        try:
            changes[line.key.name] = read(text, line.key.manner)
        except ValueError as error:
            faults[line.key.name] = str(error)
    return changes, faults


def trees_of_rule(house: HouseRules, name: str) -> list[Tree]:
    """The living trees a rule speaks of: by species, form, sort and the climate of their site.

    Raises:
        KeyError: there is no such rule.
    """
    _, rule = rule_named(house.knowledge, name)
    of = [species.id for species in house.knowledge.species.values() if _own(species, name) is not None]
    if rule.if_disease:
        # Diseases of a site are not told to the rules yet, so that such a rule speaks of no tree.
        return []
    fitting = [
        tree
        for tree in living_trees_of(of)
        if applies_to_form(rule, tree.form, form_group(tree.form)) and applies_to_cultivar(rule, tree.cultivar)
    ]
    if len(rule.profiles) == 3:
        return fitting
    profiles = _profiles({tree.site_id for tree in fitting})
    return [tree for tree in fitting if profiles[tree.site_id] in rule.profiles]


def _profiles(site_ids: set[int]) -> dict[int, str]:
    fallback = our_profile().climate_profile
    return {site.pk: climate_profile_of(site, fallback) for site in sites_of(site_ids)}


def lines_of(rows: Iterable[RuleRow], knowledge: Knowledge, today: date) -> list[RuleLine]:
    """Rules that were found, each dated for the first species it speaks of."""
    span = usual_span(today)
    return [
        line_of(rule_named(knowledge, row.rule)[1], knowledge, span, knowledge.species[row.species[0]]) for row in rows
    ]


def rule_counts(knowledge: Knowledge) -> Counter[str]:
    """How many rules speak of each species."""
    counts: Counter[str] = Counter()
    for row in rule_rows(knowledge):
        counts.update(row.species)
    return counts


def form_record(form_id: str) -> FormRecord:
    """The record of a form.

    Raises:
        KeyError: for an unknown form.
    """
    return forms()[form_id]
