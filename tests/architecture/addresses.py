"""Every address of the program, with something in its places."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from django.urls import URLPattern, URLResolver, get_resolver

STAND_INS = {"int": "987654", "str": "x", "slug": "x", "uuid": "00000000-0000-4000-8000-000000000000", "path": "x"}


@dataclass(frozen=True)
class Address:
    name: str
    path: str
    has_places: bool


def addresses() -> list[Address]:
    """All named addresses; a place like ``<int:tree_id>`` holds a number that no row has in an empty book."""
    return sorted(_walk(get_resolver(), ""), key=lambda address: address.path)


def _walk(resolver: URLResolver, prefix: str) -> Iterator[Address]:
    for entry in resolver.url_patterns:
        route = prefix + str(entry.pattern)
        if isinstance(entry, URLResolver):
            yield from _walk(entry, route)
        elif isinstance(entry, URLPattern):
            path = re.sub(r"<(?:(\w+):)?\w+>", lambda place: STAND_INS.get(place.group(1) or "str", "x"), route)
            yield Address(entry.name or route, "/" + path, has_places="<" in route)
