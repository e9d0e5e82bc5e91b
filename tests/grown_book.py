"""A book of any size, made quickly: one row of each kind is built as the program builds it, the others are its copies.

Copies differ where rows must (codes, numbers, keys, days, whom they belong to); so a model that gains a column needs no
change here. Sizes follow a business that has grown for ``years``: about seven trees a garden, three visits a year.
"""

from __future__ import annotations

import copy
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db.models import Model, UUIDField

from business import clock
from business.models import Charge, Client, Invoice, InvoiceLine, Message, Payment, Quote, QuoteLine
from gardens.models import Record, Site, Tree
from scheduling.models import Crew, Need, Round, Season, Task, Visit
from tests import make, make_garden

AT_ONCE = 2000
TREES_EVERY_THREE = (7, 7, 6)
RECORDS_A_YEAR = 4
VISITS_A_YEAR = 3
JOBS_A_VISIT = 3
CREWS = 3


@dataclass(frozen=True, kw_only=True)
class Size:
    sites: int
    years: int = 5


def copies(template: Model, values: Iterator[dict[str, Any]] | list[dict[str, Any]]) -> list[Any]:
    """Store a copy of ``template`` for each set of values; identities of its own kind are made anew."""
    made = []
    identities = [one for one in template._meta.concrete_fields if isinstance(one, UUIDField) and one.unique]
    for given in values:
        row = copy.copy(template)
        row._state = copy.copy(template._state)
        row._state.fields_cache = {}
        row.pk, row._state.adding = None, True
        for identity in identities:
            setattr(row, identity.attname, identity.get_default())
        for name, value in given.items():
            setattr(row, name, value)
        made.append(row)
    return list(type(template)._default_manager.bulk_create(made, batch_size=AT_ONCE))


def grow(size: Size) -> dict[str, int]:
    """Fill an empty book; how many rows of the main kinds there are comes back."""
    make.profile()
    today = clock.now().date()
    clients = copies(
        make.client(code="C-0", name="Client 0"),
        [{"code": f"G-{n:05}", "name": f"Client {n}", "email": f"g{n}@example.com"} for n in range(size.sites)],
    )
    sites = _sites(clients)
    trees = _trees(sites)
    _records(trees, size.years, today)
    visits = _visits(sites, trees, size.years, today)
    _money(clients, size.years, today)
    _mail(clients, size.years)
    kinds: tuple[type[Any], ...] = (Client, Site, Tree, Record, Visit, Task, Need, Invoice, Message)
    assert len(visits) <= Visit.objects.count()
    return {kind.__name__.lower(): kind.objects.count() for kind in kinds}


def _sites(clients: list[Client]) -> list[Site]:
    template = make_garden.site(client=clients[0])
    return copies(
        template,
        [
            {
                "client": client,
                "code": f"grown-{n}",
                "name": f"Garden {n}",
                "latitude_deg": 51.0 + (n % 40) * 0.004,
                "longitude_deg": -2.8 + (n // 40 % 40) * 0.006,
            }
            for n, client in enumerate(clients)
        ],
    )


def _trees(sites: list[Site]) -> list[Tree]:
    template = make_garden.tree(support=make_garden.support(site=sites[0]))
    rows = copies(
        template.support,
        [{"site": site, "code": f"grown-row-{n}", "name": "Apple row"} for n, site in enumerate(sites)],
    )
    for height in (450, 900, 1350):
        copies(template.support.wires.first(), [{"support": row, "height_mm": height} for row in rows])
    return copies(
        template,
        [
            {
                "site": row.site,
                "support": row,
                "code": f"grown-tree-{n}-{place}",
                "label": f"Apple {place + 1}",
                "position_mm": 500 + 1000 * place,
                "run_left_mm": 450,
                "run_right_mm": 450,
            }
            for n, row in enumerate(rows)
            for place in range(TREES_EVERY_THREE[n % 3])
        ],
    )


def _records(trees: list[Tree], years: int, today: date) -> None:
    template = make_garden.record(tree=trees[0])
    for ago in range(years):
        copies(
            template,
            (
                {
                    "tree": tree,
                    "on": today - timedelta(days=365 * ago + 90 * part + 5),
                    "value": 1350.0 - 250 * ago - 50 * part,
                }
                for tree in trees
                for part in range(RECORDS_A_YEAR)
            ),
        )


def _visits(sites: list[Site], trees: list[Tree], years: int, today: date) -> list[Visit]:
    by_site: dict[int, list[Tree]] = {}
    for tree in trees:
        by_site.setdefault(tree.site_id, []).append(tree)
    person = make.staff(role="crew")
    crews = [make_garden.crew(members=(person,) if n == 0 else ()) for n in range(CREWS)]
    need = make_garden.need(tree=trees[0])
    model = make_garden.visit(needs=(need,), on=today, crew=make_garden.crew())
    found: list[Visit] = []
    for ago in range(years):
        season = make_garden.season(today.year - ago)
        found += _visits_of_a_year(season, sites, crews, model, today - timedelta(days=365 * ago))
    _jobs(found, by_site, need, model.work_order.tasks.first())
    return found


def _visits_of_a_year(season: Season, sites: list[Site], crews: list[Crew], model: Visit, last: date) -> list[Visit]:
    """Spread over the year before ``last`` and four weeks after it; one in twenty of this year has no day yet."""
    days = [last + timedelta(days=28 - n) for n in range(392)]
    days = [day for day in days if day.weekday() < 5]
    plan = [(site, n, part) for n, site in enumerate(sites) for part in range(VISITS_A_YEAR)]
    where = {(n, part): ((n * VISITS_A_YEAR + part) * 7) % (len(days) * len(crews)) for _, n, part in plan}
    wanted = {(crews[slot % len(crews)].pk, days[slot // len(crews)]) for slot in where.values()}
    rounds = {(one.crew_id, one.on): one for one in Round.objects.filter(on__in=days)}
    new = [{"crew_id": crew, "on": day} for crew, day in sorted(wanted) if (crew, day) not in rounds]
    rounds |= {(one.crew_id, one.on): one for one in copies(model.round, new)}
    values = []
    for site, n, part in plan:
        slot = where[n, part]
        day, crew = days[slot // len(crews)], crews[slot % len(crews)]
        is_over, has_no_day = day < clock.now().date(), day > last and n % 3 == 0
        state = "proposed" if has_no_day and not is_over else "finished" if is_over else "planned"
        stands = state != "proposed"
        values.append(
            {
                "site": site,
                "season": season,
                "state": state,
                "on": day if stands else None,
                "round": rounds[crew.pk, day] if stands else None,
                "position": n % 9 + 1 if stands else None,
                "opens": day - timedelta(days=20),
                "best_from": day - timedelta(days=10),
                "best_until": day + timedelta(days=10),
                "closes": day + timedelta(days=20),
                "started_at": make_garden.utc(day.year, day.month, day.day, 9) if is_over else None,
                "finished_at": make_garden.utc(day.year, day.month, day.day, 10) if is_over else None,
                "minutes_taken": 70 if is_over else None,
            }
        )
    return copies(model, values)


def _jobs(visits: list[Visit], by_site: dict[int, list[Tree]], need: Need, task: Task) -> None:
    orders = copies(task.work_order, [{"visit": visit} for visit in visits])
    chosen = [(order, order.visit, tree) for order in orders for tree in by_site[order.visit.site_id][:JOBS_A_VISIT]]
    needs = copies(
        need,
        (
            {
                "season": visit.season,
                "site_id": visit.site_id,
                "tree": tree,
                "key": f"winter_prune:whole:{visit.pk}:{tree.pk}",
                "opens": visit.opens,
                "best_from": visit.best_from,
                "best_until": visit.best_until,
                "closes": visit.closes,
                "state": "done" if visit.state == "finished" else "open",
            }
            for _, visit, tree in chosen
        ),
    )
    copies(
        task,
        (
            {
                "work_order": order,
                "need": due,
                "tree": tree,
                "number": number % JOBS_A_VISIT + 1,
                "state": "done" if visit.state == "finished" else "open",
                "answered_at": visit.finished_at,
            }
            for number, ((order, visit, tree), due) in enumerate(zip(chosen, needs, strict=True))
        ),
    )


def _money(clients: list[Client], years: int, today: date) -> None:
    issued_on = today - timedelta(days=60)
    invoice = make.invoice(client=clients[0], issued_on=issued_on)
    line = InvoiceLine.objects.filter(invoice=invoice).first()
    values = [
        {
            "client": client,
            "series": f"G{ago}",
            "sequence": n + 1,
            "number": f"G{ago}-{n:05}",
            "issued_on": issued_on - timedelta(days=365 * ago),
            "due_on": issued_on - timedelta(days=365 * ago - 14),
        }
        for ago in range(years)
        for n, client in enumerate(clients)
    ]
    invoices = copies(invoice, values)
    copies(line, [{"invoice": one} for one in invoices])
    charge = make.charge(client=clients[0])
    copies(charge, [{"client": client, "reference": f"grown:{n}"} for n, client in enumerate(clients)])
    quote = make.quote(client=clients[0])
    lines = QuoteLine.objects.filter(quote=quote).first()
    numbered = "number" in {column.name for column in Quote._meta.get_fields()}
    quotes = copies(
        quote, [{"client": one, **({"number": f"GQ-{n:05}"} if numbered else {})} for n, one in enumerate(clients[::3])]
    )
    copies(lines, [{"quote": one} for one in quotes])
    payment = make.payment(client=clients[0])
    copies(payment, [{"client": client, "key": f"grown:{n}"} for n, client in enumerate(clients)])
    assert Charge.objects.exists()
    assert Payment.objects.exists()


def _mail(clients: list[Client], years: int) -> None:
    message = make.message(client=clients[0])
    copies(
        message,
        (
            {"client": client, "key": f"grown:{n}:{number}", "message_id": f"<grown.{n}.{number}@example.com>"}
            for n, client in enumerate(clients)
            for number in range(2 * years)
        ),
    )


__all__ = ["Size", "grow"]
