"""Every page of the office on a grown book and on an empty one of the same server, in the same run.

    python -m tests.benchmarks.scale [--sites 1500] [--years 5] [--rounds 5]        (starts PostgreSQL of its own)

1,500 gardens, 10,000 trees, five years of records and visits by default. One JSON line: rows, seconds to make them, and
for each page its questions to the database and the p95 of its answers [s] on either book, slowest ratio first. The books
lie in two databases of one server; the pages are asked in turn, so that whatever else the machine does weighs on both.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
import time
from typing import Any

from tests.services.servers import Servers, servers

LIMIT = 6.0


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--sites", type=int, default=1500)
    parser.add_argument("--years", type=int, default=5)
    parser.add_argument("--rounds", type=int, default=5, help="how often each page is asked")
    given = parser.parse_args()
    with servers("fruit-scale-") as running:
        sys.stdout.write(json.dumps(measure(running, given.sites, given.years, given.rounds)) + "\n")


def measure(running: Servers, sites: int, years: int, rounds: int) -> dict[str, Any]:
    os.environ.update(running.environment)
    os.environ["DJANGO_SETTINGS_MODULE"] = "deploy.settings"
    import django

    django.setup()
    from django.db import connection

    from business.models import Staff
    from tests.grown_book import Size, grow

    began = time.perf_counter()
    rows = grow(Size(sites=sites, years=years))
    took = round(time.perf_counter() - began, 1)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    Staff.objects.create_user("olwen", role="owner", name="Olwen", sees_prices=True)
    with_empty_book(running)
    pages = ask_in_turn(rounds)
    assert len(pages) > 30, "most pages did not answer"
    slow = {name: page["ratio"] for name, page in pages.items() if page["ratio"] > LIMIT}
    return {"rows": rows, "made_in_seconds": took, "limit": LIMIT, "over_the_limit": slow, "pages": pages}


def with_empty_book(running: Servers) -> None:
    """A second database with an owner, a profile and nothing else."""
    from django.conf import settings
    from django.core.management import call_command
    from django.db import connection, connections

    with connection.cursor() as cursor:
        cursor.execute("CREATE DATABASE empty_book")
    use("empty_book")
    call_command("migrate", verbosity=0)
    from business.models import Staff
    from tests import make

    make.profile()
    Staff.objects.create_user("olwen", role="owner", name="Olwen", sees_prices=True)
    assert settings.DATABASES["default"]["NAME"] == connections["default"].settings_dict["NAME"] == "empty_book"


def use(name: str) -> None:
    """Turn the program to another database of the same server; the connection to the one before is closed."""
    from django.db import connections

    connections["default"].close()
    connections["default"].settings_dict["NAME"] = name


def ask_in_turn(rounds: int) -> dict[str, Any]:
    from django.test import Client as WebClient

    from business.models import Staff
    from tests.office_pages import office_pages

    books = {"empty": "empty_book", "grown": "postgres"}
    clients: dict[str, WebClient] = {}
    paths: dict[str, dict[str, str]] = {}
    for book, database in books.items():
        use(database)
        clients[book] = WebClient(SERVER_NAME="localhost")
        clients[book].force_login(Staff.objects.get(username="olwen"))
        paths[book] = dict(office_pages())
    # What an empty book has no page of is compared with its front page.
    times: dict[str, dict[str, list[float]]] = {}
    questions: dict[str, dict[str, int]] = {}
    for turn in range(rounds + 1):
        for book, database in books.items():
            use(database)
            for name, path in paths[book].items():
                seconds, asked, status = timed(clients[book], path)
                if status == 200 and turn:  # the first turn only warms up
                    times.setdefault(name, {}).setdefault(book, []).append(seconds)
                    questions.setdefault(name, {})[book] = asked
    told = {
        name: row(found, questions[name], times["today"]["empty"]) for name, found in times.items() if "grown" in found
    }
    return dict(sorted(told.items(), key=lambda item: -item[1]["ratio"]))


def timed(client: Any, path: str) -> tuple[float, int, int]:
    from django.db import connection, reset_queries

    connection.force_debug_cursor = True
    reset_queries()
    began = time.perf_counter()
    answer = client.get(path)
    seconds = time.perf_counter() - began
    asked = len(connection.queries_log)
    connection.force_debug_cursor = False
    return seconds, asked, answer.status_code


def row(found: dict[str, list[float]], questions: dict[str, int], front: list[float]) -> dict[str, Any]:
    grown, empty = p95(found["grown"]), p95(found.get("empty", front))
    return {
        "questions": questions["grown"],
        "p95": round(grown, 4),
        "empty": round(empty, 4),
        "ratio": round(grown / empty, 2),
        **({} if "empty" in found else {"compared with": "today"}),
    }


def p95(times: list[float]) -> float:
    ordered = sorted(times)
    return ordered[min(int(0.95 * len(ordered)), len(ordered) - 1)]


if __name__ == "__main__":
    main()
