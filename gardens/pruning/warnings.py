"""What a person must know before acting on a tree: does the form suit, is the stock too weak, sap, thorns, nests, law."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date

from gardens.knowledge import form_schema
from gardens.knowledge.rule_schema import Caution
from gardens.knowledge.schema import Species
from gardens.knowledge.words import form_group
from gardens.pruning.book import SpeciesYear
from gardens.pruning.crop import chill_need, crop_limit
from gardens.pruning.side_wood import SideWood
from gardens.pruning.values import Need, Verdict, Warning
from gardens.training.state import TreeFacts, TreeState

WEAK_STOCK, STRONG_STOCK = 1, 5
FEW_METRES_MM = 2500
GRADES = {0: "does not suit", 1: "suits badly", 2: "suits with care"}
NORTH_SHIFT = 6


def warnings_for(
    state: TreeState, year: SpeciesYear, needs: Sequence[Need], on: date, wood: SideWood | None = None
) -> tuple[Warning, ...]:
    """Everything to know about a tree and the work named, once each, the most particular first.

    Args:
        state: the tree as it stands.
        year: its species' year.
        needs: the work that is open or near; cautions that speak of other work are left out.
        on: the day; cautions with months speak in those months only.
        wood: what its records tell; a heavy crop is warned of.
    """
    kinds = {need.kind for need in needs}
    found: list[Warning] = [
        *_of_form(state.facts, year.species),
        *_of_stock(state.facts),
        *_of_cultivar(state.facts, year.species),
        *_of_crop(state, year, wood),
        *_of_closures(year, kinds, on),
        *_of_people(year, kinds, on),
        *_of_weather(year, needs),
        Warning(text=year.knowledge.hazards.follow, source="house default"),
    ]
    return tuple(dict.fromkeys(found))


def with_verdicts(verdicts: Iterable[Verdict]) -> tuple[Warning, ...]:
    """Allowed work that carries a reason code all the same, such as a vine that will bleed."""
    return tuple(
        Warning(text=f"{verdict.kind}: {verdict.why}", source=verdict.source)
        for verdict in verdicts
        if verdict.is_allowed and verdict.code
    )


def chill_warning(species: Species, cultivar: str, site_portions: float) -> Warning | None:
    """A warning where a site's usual chill falls short of what the sort (or the species at its least) wants.

    Args:
        species: the species.
        cultivar: name of the sort, "" if unknown.
        site_portions: chill portions of the dynamic model the site usually reaches. [CP]
    """
    need = chill_need(species, cultivar)
    if need is None or site_portions >= need:
        return None
    sort = f"'{cultivar}'" if cultivar else species.name
    sources = dict.fromkeys(source for row in species.facts.chill if row.portions for source in row.source)
    return Warning(
        text=f"{sort} wants {need:g} chill portions, the site reaches {site_portions:g}: expect late, uneven, poor bloom.",
        source="; ".join(sources),
    )


def _of_form(facts: TreeFacts, species: Species) -> Iterator[Warning]:
    record = form_schema.forms().get(facts.form)
    for suits in record.suits if record is not None else ():
        if species.id in suits.species and suits.text:
            better = f" Better: {', '.join(suits.better)}." if suits.better else ""
            yield Warning(text=f"{suits.text}{better}", source=suits.source)
            return
    grade = species.grade(facts.form)
    if grade in GRADES:
        suitability = species.facts.suitability
        note = f" {suitability.note}" if suitability.note else ""
        yield Warning(
            text=f"The form {facts.form} {GRADES[grade]} {species.name}.{note}", source="; ".join(suitability.source)
        )


def _of_stock(facts: TreeFacts) -> Iterator[Warning]:
    if not facts.rootstock:
        return
    known = form_schema.rootstocks()
    plain = "".join(letter for letter in facts.rootstock.casefold() if letter.isalnum())
    stock = known.get(plain)
    if stock is None:
        yield Warning(
            text=f"The rootstock {facts.rootstock} is not known; usual growth is assumed. Known are {', '.join(known)}.",
            source="house default",
        )
        return
    if stock.species and facts.species not in stock.species:
        yield Warning(text=f"{stock.name} is no usual rootstock for {facts.species}.", source=stock.source)
    run_mm = facts.run_left_mm + facts.run_right_mm
    group = form_group(facts.form)
    if group in ("tiers", "fan", "palmette") and facts.form != "step_over" and stock.vigour <= WEAK_STOCK:
        yield Warning(
            text=f"{stock.name} is too weak for {facts.form}: the arms will not fill the wires.", source=stock.source
        )
    if (group == "cordon" or facts.form == "step_over") and stock.vigour >= STRONG_STOCK:
        yield Warning(
            text=f"{stock.name} is too strong for {facts.form}: summer cuts alone will not hold it.",
            source=stock.source,
        )
    if stock.spacing_mm is not None and group != "cordon" and run_mm < stock.spacing_mm[0] * 0.8:
        yield Warning(
            text=f"{run_mm / 1000:g} m of wire is little for {stock.name}, which fills {stock.spacing_mm[0] / 1000:g} m "
            "and more; expect strong regrowth.",
            source=stock.source,
        )


def _of_cultivar(facts: TreeFacts, species: Species) -> Iterator[Warning]:
    name = facts.cultivar.casefold()
    for cultivar in species.facts.cultivar:
        if not name or cultivar.name.casefold() != name:
            continue
        if cultivar.bears_as and cultivar.bears_as != species.id:
            yield Warning(
                text=f"'{cultivar.name}' bears as {cultivar.bears_as}: {cultivar.note or 'follow the rules of that species'}.",
                source="; ".join(cultivar.source),
            )


def _of_crop(state: TreeState, year: SpeciesYear, wood: SideWood | None) -> Iterator[Warning]:
    if wood is None or state.girth_mm is None:
        return
    fruits = sum(count for season, _, count in wood.fruit_counts if season == year.season.year)
    limit = crop_limit(year.species, state.girth_mm)
    if fruits and limit is not None and fruits > limit.high:
        yield Warning(
            text=f"{fruits} fruits were counted; a girth of {state.girth_mm / 10:g} cm carries {limit.low} to "
            f"{limit.high} well, {limit.most} at most: thin, or next year's crop fails.",
            source=limit.source,
        )


def _of_closures(year: SpeciesYear, kinds: set[str], on: date) -> Iterator[Warning]:
    for closure in year.closures:
        if closure.rule.warn_only and closure.shuts(on) and kinds & set(closure.rule.kinds):
            yield Warning(text=closure.span.why, source=closure.span.source)


def _of_people(year: SpeciesYear, kinds: set[str], on: date) -> Iterator[Warning]:
    month = (on.month + NORTH_SHIFT - 1) % 12 + 1 if year.season.place.is_southern else on.month
    for caution in (*reversed(year.species.cautions), *year.knowledge.hazards.caution):
        if _speaks(caution, kinds, month):
            yield Warning(text=caution.text, source="; ".join(caution.source))


def _speaks(caution: Caution, kinds: set[str], month: int) -> bool:
    return (not caution.kinds or bool(kinds & set(caution.kinds))) and (not caution.months or month in caution.months)


def _of_weather(year: SpeciesYear, needs: Sequence[Need]) -> Iterator[Warning]:
    asked = {gate for need in needs for gate in need.weather_rule.split()}
    for gate in year.knowledge.gates.values():
        if gate.asks in asked:
            asked.discard(gate.asks)
            yield Warning(text=gate.text, source="; ".join(gate.source))
