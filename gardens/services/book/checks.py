"""What can only be seen across rows and files: codes, references, places, the order of dates."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace

from business.errors import Fault
from gardens.models import Site, Support, Tree, WeatherStation
from gardens.queries.book import ClientCodes
from gardens.services.book.rows import ClientRow, RecordRow, SiteRow, SupportRow, TreeRow
from gardens.services.book.tables import TextRow
from gardens.services.placement import Standing, placement_faults, shared_runs

SUPPORTED_CORDON_RUN_MM = 400
"""Half the usual 75-80 cm between cordons: the most an upright or oblique cordon's share of wire is taken to be."""

NARROW_FORMS = frozenset({"oblique_cordon", "upright_cordon"})


@dataclass
class Book:
    """Every readable row of the book."""

    clients: list[ClientRow] = field(default_factory=list)
    sites: list[SiteRow] = field(default_factory=list)
    supports: list[SupportRow] = field(default_factory=list)
    trees: list[TreeRow] = field(default_factory=list)
    records: list[RecordRow] = field(default_factory=list)


@dataclass
class Named:
    """What the book names in rows that could not be read: those rows are reported, references to them are not."""

    clients: set[str] = field(default_factory=set)
    sites: set[str] = field(default_factory=set)
    supports: set[tuple[str, str]] = field(default_factory=set)
    trees: set[tuple[str, str]] = field(default_factory=set)
    unreadable: set[str] = field(default_factory=set)

    def take(self, row: TextRow) -> None:
        """Remember the codes of a row that has faults."""
        code, site = (row.cells.get(column, "").lower() for column in ("code", "site"))
        match row.file:
            case "clients.csv":
                self.clients.add(code)
            case "sites.csv":
                self.sites.add(code)
            case "supports.csv":
                self.supports.add((site, code))
            case "trees.csv":
                self.trees.add((site, code))


def faults_across(book: Book, client_codes: ClientCodes, named: Named) -> list[Fault]:
    """Every fault between rows and files, and between the book and what is already kept.

    Where a whole file could not be read, nothing is said of references into it.
    """
    kept_sites = set(Site.objects.values_list("code", flat=True))
    kept_supports = set(Support.objects.values_list("site__code", "code"))
    kept_trees = set(Tree.objects.values_list("site__code", "code"))
    stations = set(WeatherStation.objects.values_list("code", flat=True))
    faults = _repeated(book)
    clients = {row.code for row in book.clients} | client_codes | named.clients
    sites = {row.code for row in book.sites} | kept_sites | named.sites
    supports = {(row.site, row.code) for row in book.supports} | kept_supports | named.supports
    trees = {(row.site, row.code) for row in book.trees} | kept_trees | named.trees
    if named.unreadable:
        return faults + _placement(book) + _date_order(book)
    for site in book.sites:
        if site.client not in clients:
            faults.append(_missing(site.row.where("client"), "client", site.client, clients))
        if site.station and site.station not in stations:
            faults.append(_missing(site.row.where("station"), "weather station", site.station, stations))
    for support in book.supports:
        if support.site not in sites:
            faults.append(_missing(support.row.where("site"), "site", support.site, sites))
    for tree in book.trees:
        if tree.site not in sites:
            faults.append(_missing(tree.row.where("site"), "site", tree.site, sites))
        elif (tree.site, tree.support) not in supports:
            here = [code for site_code, code in supports if site_code == tree.site]
            faults.append(_missing(tree.row.where("support"), "support of this site", tree.support, here))
    for record in book.records:
        faults += _record_reference(record, sites, supports, trees)
    return faults + _placement(book) + _date_order(book)


def with_runs(book: Book) -> Book:
    """The book with every tree's room along its support filled in where the file left it open."""
    lengths = _support_lengths(book)
    by_support: dict[tuple[str, str], list[TreeRow]] = defaultdict(list)
    for tree in book.trees:
        by_support[(tree.site, tree.support)].append(tree)
    filled = []
    for key, trees in by_support.items():
        trees.sort(key=lambda tree: tree.position_mm)
        length = lengths.get(key)
        if length is None:
            filled += trees
            continue
        shares = shared_runs([tree.position_mm for tree in trees], support_length_mm=length)
        for tree, (left, right) in zip(trees, shares, strict=True):
            if tree.form in NARROW_FORMS:
                left, right = min(left, SUPPORTED_CORDON_RUN_MM), min(right, SUPPORTED_CORDON_RUN_MM)
            filled.append(
                replace(
                    tree,
                    run_left_mm=left if tree.run_left_mm is None else tree.run_left_mm,
                    run_right_mm=right if tree.run_right_mm is None else tree.run_right_mm,
                )
            )
    filled.sort(key=lambda tree: tree.row.number)
    return replace(book, trees=filled)


def _support_lengths(book: Book) -> dict[tuple[str, str], int]:
    lengths = {
        (site, code): length for site, code, length in Support.objects.values_list("site__code", "code", "length_mm")
    }
    lengths.update({(row.site, row.code): row.length_mm for row in book.supports})
    return lengths


def _repeated(book: Book) -> list[Fault]:
    faults: list[Fault] = []
    tables: list[tuple[Sequence[ClientRow | SiteRow | SupportRow | TreeRow], Callable[..., object]]] = [
        (book.clients, lambda row: row.code),
        (book.sites, lambda row: row.code),
        (book.supports, lambda row: (row.site, row.code)),
        (book.trees, lambda row: (row.site, row.code)),
    ]
    for rows, key in tables:
        first: dict[object, int] = {}
        for row in rows:
            if key(row) in first:
                faults.append(
                    Fault(
                        row.row.where("code"),
                        f"{row.code!r} stands in row {first[key(row)]} already",
                        "give each row a code of its own",
                    )
                )
            first.setdefault(key(row), row.row.number)
    return faults


def _missing(where: str, noun: str, code: str, known: Iterable[str]) -> Fault:
    near = sorted(known, key=lambda other: (other[:3] != code[:3], other))[:5]
    remedy = f"known are for example {', '.join(near)}" if near else f"add the {noun} first"
    return Fault(where, f"there is no {noun} {code!r}", remedy)


def _record_reference(
    record: RecordRow, sites: set[str], supports: set[tuple[str, str]], trees: set[tuple[str, str]]
) -> list[Fault]:
    if record.site not in sites:
        return [_missing(record.row.where("site"), "site", record.site, sites)]
    column, noun, known = ("tree", "tree", trees) if record.tree else ("support", "support", supports)
    code = record.tree or record.support
    if (record.site, code) in known:
        return []
    here = [other for site, other in known if site == record.site]
    return [_missing(record.row.where(column), f"{noun} at this site", code, here)]


def _placement(book: Book) -> list[Fault]:
    lengths = _support_lengths(book)
    by_support: dict[tuple[str, str], list[Standing]] = defaultdict(list)
    in_book = {(tree.site, tree.code) for tree in book.trees}
    touched = {(tree.site, tree.support) for tree in book.trees} | {(row.site, row.code) for row in book.supports}
    for tree in book.trees:
        by_support[(tree.site, tree.support)].append(
            Standing(
                where=f"{tree.row.file}, row {tree.row.number}",
                label=tree.code,
                position_mm=tree.position_mm,
                run_left_mm=tree.run_left_mm or 0,
                run_right_mm=tree.run_right_mm or 0,
                form=tree.form,
            )
        )
    for kept in Tree.objects.filter(removed_on=None).select_related("site", "support"):
        key = (kept.site.code, kept.support.code)
        if key in touched and (kept.site.code, kept.code) not in in_book:
            by_support[key].append(
                Standing(
                    where=f"site {kept.site.code}",
                    label=kept.code,
                    position_mm=kept.position_mm,
                    run_left_mm=kept.run_left_mm,
                    run_right_mm=kept.run_right_mm,
                    form=kept.form,
                )
            )
    return [
        fault
        for key, standings in by_support.items()
        if key in lengths
        for fault in placement_faults(standings, support_length_mm=lengths[key])
    ]


def _date_order(book: Book) -> list[Fault]:
    planted = {(site, code): day for site, code, day in Tree.objects.values_list("site__code", "code", "planted_on")}
    planted.update({(tree.site, tree.code): tree.planted_on for tree in book.trees})
    return [
        Fault(
            record.row.where("date"),
            f"{record.on} is before the tree was planted on {planted[(record.site, record.tree)]}",
            "correct the date here or the planting date in trees.csv",
        )
        for record in book.records
        if record.tree and record.on < planted.get((record.site, record.tree), record.on)
    ]
