"""Write the client book of the invented business, as anybody would bring one."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from random import Random

from deploy.demo_business.layouts import garden_rows
from deploy.demo_business.people import client_rows, demo_sites, site_row
from deploy.demo_business.records import record_rows, support_of


def write_book(folder: Path, *, as_of: date) -> None:
    """The five files, the same for the same day."""
    random = Random("the invented business")
    sites = demo_sites(random)
    supports: list[dict[str, str]] = []
    trees: list[dict[str, str]] = []
    for site in sites:
        site_supports, site_trees = garden_rows(site.code, site.index, as_of=as_of, random=random)
        supports += site_supports
        trees += site_trees
    by_place = {(row["site"], row["code"]): support_of(row) for row in supports}
    records = [
        record
        for tree in trees
        for record in record_rows(tree, by_place[(tree["site"], tree["support"])], as_of=as_of, random=random)
    ]
    folder.mkdir(parents=True, exist_ok=True)
    _write(folder / "clients.csv", client_rows(random))
    _write(folder / "sites.csv", [site_row(site, random) for site in sites])
    _write(folder / "supports.csv", supports)
    _write(folder / "trees.csv", trees)
    _write(folder / "records.csv", records)


def _write(path: Path, rows: Sequence[dict[str, str]]) -> None:
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, fieldnames=list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
