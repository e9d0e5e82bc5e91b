"""A book three times as large is not asked one question more, on any page of the office."""

from __future__ import annotations

import pytest
from django.db import connection, transaction
from django.test import Client as WebClient
from django.test.utils import CaptureQueriesContext

from tests.grown_book import Size, grow
from tests.office_pages import office_pages

SMALL, LARGE = 20, 60
MOST = 60
"""Questions of one page at most, whatever it shows."""


LISTS = {"clients", "sites", "invoices", "messages", "quotes", "charges"}
"""Not the trees: even the small book fills their page, so that there ``MOST`` must find what asks for each row."""


def questions(owner) -> dict[str, tuple[int, int]]:
    """Questions and bytes of each page that answers 200; asked twice, so that nothing is counted that is kept."""
    client = WebClient()
    client.force_login(owner)
    counts = {}
    for name, path in office_pages():
        if client.get(path).status_code != 200:
            continue
        with CaptureQueriesContext(connection) as asked:
            answer = client.get(path)
        counts[name] = (len(asked), len(answer.content))
    return counts


@pytest.mark.django_db
def test_no_page_asks_more_of_a_larger_book(owner):
    with transaction.atomic():
        grow(Size(sites=SMALL, years=1))
        small = questions(owner)
        transaction.set_rollback(True)
    grow(Size(sites=LARGE, years=1))
    large = questions(owner)
    assert len(small) > 30
    assert {name for name in LISTS if large[name][1] < small[name][1] + 1000} == set(), (
        "lists show more of a larger book"
    )
    grown = {name: (small[name][0], large[name][0]) for name in small if large.get(name, (0,))[0] > small[name][0]}
    assert grown == {}, "pages that ask once for each row"
    assert {name: count for name, (count, _) in large.items() if count > MOST} == {}
