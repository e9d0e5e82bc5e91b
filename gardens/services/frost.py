"""Gardens where frost is forecast on buds or bloom: by species, so that nobody waits for every tree to be reckoned."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from gardens.climate.buds import FrostRisk, frost_risks
from gardens.models import Site, Support
from gardens.queries.trees import species_at
from gardens.services.site_season import SeasonBook


@dataclass(frozen=True, kw_only=True)
class FrostyNight:
    """What one night may do to one species in one garden."""

    site: Site
    species: str
    risk: FrostRisk


def frosty_nights(sites: Iterable[Site], as_of: date, days: int) -> list[FrostyNight]:
    """The nights of the next ``days`` in which buds are in danger, by the forecast of each garden's station."""
    book = SeasonBook(as_of)
    last = as_of + timedelta(days=days)
    found = []
    known = list(sites)
    kinds: dict[int, set[tuple[str, bool]]] = defaultdict(set)
    for site_id, species, kind in species_at([site.pk for site in known]):
        kinds[site_id].add((species, kind == Support.Kind.WALL))
    for site in known:
        year = book.year_of(site, as_of)
        ahead = [day for day in book.weather(site, year).days if as_of <= day.on <= last]
        worst: dict[tuple[str, date], FrostRisk] = {}
        for species, at_wall in sorted(kinds[site.pk]):
            for risk in frost_risks(species, book.stages(site, species, year), ahead, is_at_wall=at_wall):
                before = worst.get((species, risk.on))
                if before is None or risk.expected_loss > before.expected_loss:
                    worst[species, risk.on] = risk
        found += [FrostyNight(site=site, species=species, risk=risk) for (species, _), risk in worst.items()]
    return sorted(found, key=lambda night: (night.risk.on, night.site.name, night.species))
