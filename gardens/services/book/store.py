"""Write a checked book. The same book written twice changes nothing."""

from __future__ import annotations

import uuid
from collections import Counter
from dataclasses import dataclass
from typing import Any, TypeVar

from django.core.exceptions import ValidationError
from django.db import models

from business import clock
from business.errors import BadInput, Fault
from business.models import Client
from business.queries.profile import our_profile
from gardens.models import Record, Site, Support, Tree, WeatherStation, Wire
from gardens.services.book.checks import Book
from gardens.services.book.rows import RecordRow, SupportRow
from gardens.services.book.tables import TextRow

RECORD_NAMES = uuid.UUID("6f0c4d1e-52a3-4d6b-9c1f-0b7f1f7a2c55")
"""The name space of record ids made from the content of a row, so that the same row is the same record."""

Row = TypeVar("Row", bound=models.Model)


@dataclass
class Tally:
    """What became of the rows of one file."""

    added: int = 0
    changed: int = 0
    same: int = 0


def store_book(book: Book) -> dict[str, Tally]:
    """Write every row; to be called inside a transaction.

    Raises:
        BadInput: where a row breaks a law of the tables that the checks before did not see.
    """
    tallies = {file: Tally() for file in ("clients.csv", "sites.csv", "supports.csv", "trees.csv", "records.csv")}
    _store_clients(book, tallies["clients.csv"])
    sites = _store_sites(book, tallies["sites.csv"])
    supports = _store_supports(book, sites, tallies["supports.csv"])
    trees = _store_trees(book, sites, supports, tallies["trees.csv"])
    _store_records(book, trees, supports, tallies["records.csv"])
    return tallies


def _save(kept: Row | None, fresh: Row, values: dict[str, Any], row: TextRow, tally: Tally) -> Row:
    """Add ``fresh`` or bring ``kept`` up to ``values``; unchanged rows are not written."""
    instance = kept or fresh
    changed = [name for name, value in values.items() if kept is None or getattr(kept, name) != value]
    if kept is not None and not changed:
        tally.same += 1
        return kept
    for name, value in values.items():
        setattr(instance, name, value)
    try:
        instance.full_clean(validate_unique=False)
    except ValidationError as error:
        raise BadInput(_faults(error, row)) from error
    instance.save()
    if kept is None:
        tally.added += 1
    else:
        tally.changed += 1
    return instance


def _faults(error: ValidationError, row: TextRow) -> list[Fault]:
    return [
        Fault(row.where(column.removesuffix("_mm").removesuffix("_deg")), sentence.rstrip("."), "correct this cell")
        for column, sentences in error.message_dict.items()
        for sentence in sentences
    ]


def _store_clients(book: Book, tally: Tally) -> None:
    kept = {client.code: client for client in Client.objects.all()}
    for row in book.clients:
        values = {
            "name": row.name,
            "greeting": row.greeting,
            "kind": row.kind,
            "address": row.address,
            "country": row.country,
            "email": row.email,
            "phone": row.phone,
            "units": row.units,
            "notes": row.note,
        }
        _save(kept.get(row.code), Client(code=row.code), values, row.row, tally)


def _store_sites(book: Book, tally: Tally) -> dict[str, Site]:
    clients = {client.code: client for client in Client.objects.all()}
    stations = {station.code: station for station in WeatherStation.objects.all()}
    sites = {site.code: site for site in Site.objects.all()}
    zone = our_profile().zone
    for row in book.sites:
        values = {
            "client_id": clients[row.client].pk,
            "name": row.name,
            "address": row.address,
            "latitude_deg": row.latitude_deg,
            "longitude_deg": row.longitude_deg,
            "elevation_m": row.elevation_m,
            "time_zone": row.time_zone or zone,
            "climate_profile": row.climate_profile,
            "station_id": stations[row.station].pk if row.station else None,
            "access_notes": row.access_notes,
            "hazards": row.hazards,
            "phone": row.phone,
            "access_week": row.access_week,
            "access_from": row.access_from,
            "access_until": row.access_until,
        }
        sites[row.code] = _save(sites.get(row.code), Site(code=row.code), values, row.row, tally)
    return sites


def _store_supports(book: Book, sites: dict[str, Site], tally: Tally) -> dict[tuple[str, str], Support]:
    supports = {
        (support.site.code, support.code): support
        for support in Support.objects.select_related("site").prefetch_related("wires")
    }
    for row in book.supports:
        key = (row.site, row.code)
        kept = supports.get(key)
        values = {
            "name": row.name,
            "kind": row.kind,
            "length_mm": row.length_mm,
            "height_mm": row.height_mm,
            "faces_deg": row.faces_deg,
            "gap_mm": row.gap_mm,
            "post_spacing_mm": row.post_spacing_mm,
            "walk_order": row.walk_order,
            "note": row.note,
        }
        rewires = kept is None or kept.wire_heights_mm != row.wire_heights_mm
        if kept is not None and rewires:
            # The table refuses a wire above its support: the old wires go before a lower height comes.
            kept.wires.all().delete()
        same_before = tally.same
        support = _save(kept, Support(site=sites[row.site], code=row.code), values, row.row, tally)
        if rewires:
            _string_wires(support, row)
            if tally.same > same_before:
                tally.same -= 1
                tally.changed += 1
        supports[key] = support
    return supports


def _string_wires(support: Support, row: SupportRow) -> None:
    Wire.objects.bulk_create(
        Wire(
            support=support,
            height_mm=height,
            diameter_mm=row.wire_diameter_mm,
            support_height_mm=row.height_mm,
        )
        for height in row.wire_heights_mm
    )


def _store_trees(
    book: Book, sites: dict[str, Site], supports: dict[tuple[str, str], Support], tally: Tally
) -> dict[tuple[str, str], Tree]:
    trees = {(tree.site.code, tree.code): tree for tree in Tree.objects.select_related("site")}
    for row in book.trees:
        key = (row.site, row.code)
        values = {
            "support_id": supports[(row.site, row.support)].pk,
            "label": row.label,
            "species": row.species,
            "cultivar": row.cultivar,
            "rootstock": row.rootstock,
            "form": row.form,
            "tiers": row.tiers,
            "position_mm": row.position_mm,
            "run_left_mm": row.run_left_mm or 0,
            "run_right_mm": row.run_right_mm or 0,
            "planted_on": row.planted_on,
            "start": row.start,
            "tiers_at_start": row.tiers_at_start,
            "note": row.note,
        }
        trees[key] = _save(trees.get(key), Tree(site=sites[row.site], code=row.code), values, row.row, tally)
    return trees


def _store_records(
    book: Book, trees: dict[tuple[str, str], Tree], supports: dict[tuple[str, str], Support], tally: Tally
) -> None:
    kept = set(Record.objects.filter(source=Record.Source.IMPORT).values_list("uid", flat=True))
    seen: Counter[str] = Counter()
    entered_at = clock.now()
    fresh = []
    for row in book.records:
        content = _content(row)
        seen[content] += 1
        # The same fact twice on one day (two fruits of equal girth) is two records; the count tells them apart.
        uid = uuid.uuid5(RECORD_NAMES, f"{content}|{seen[content]}")
        if uid in kept:
            tally.same += 1
            continue
        tally.added += 1
        fresh.append(
            Record(
                uid=uid,
                tree=trees[(row.site, row.tree)] if row.tree else None,
                support=supports[(row.site, row.support)] if row.support else None,
                on=row.on,
                kind=row.kind,
                what=row.what,
                limb=row.limb,
                value=row.value,
                text=row.text,
                source=Record.Source.IMPORT,
                entered_at=entered_at,
            )
        )
    Record.objects.bulk_create(fresh, batch_size=1000)


def _content(row: RecordRow) -> str:
    parts = (row.site, row.tree, row.support, row.on, row.kind, row.what, row.limb, row.value, row.text)
    return "|".join(str(part) for part in parts)
