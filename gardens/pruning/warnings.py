"""What a person must know before acting on a tree: does the form suit, is the stock too weak, sap, thorns, nests, law."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date

from gardens.knowledge.rule_schema import Caution
from gardens.knowledge.schema import Species
from gardens.pruning.book import SpeciesYear
from gardens.pruning.crop import chill_need, crop_limit
from gardens.pruning.planting import planting_doubts
from gardens.pruning.side_wood import SideWood
from gardens.pruning.values import Need, Verdict, Warning
from gardens.training.state import TreeFacts, TreeState

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
        *(Warning(text=doubt.text, source=doubt.source) for doubt in planting_doubts(state.facts, year.species)),
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
