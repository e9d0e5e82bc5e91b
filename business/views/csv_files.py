"""A list as a table file."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence

from django.http import HttpRequest, HttpResponse


def csv_file(name: str, heads: Sequence[str], rows: Iterable[Sequence[object]]) -> HttpResponse:
    """CSV (RFC 4180) in UTF-8, with the mark that spreadsheets look for. Days in it are ISO 8601."""
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    response.write("\ufeff")
    writer = csv.writer(response)
    writer.writerow(heads)
    for row in rows:
        writer.writerow([_harmless(cell) for cell in row])
    return response


def wants_csv(request: HttpRequest) -> bool:
    return request.GET.get("as") == "csv"


def csv_address(request: HttpRequest) -> str:
    """The present list, filtered as it is, as a file."""
    choice = request.GET.copy()
    choice.pop("page", None)
    choice["as"] = "csv"
    return f"?{choice.urlencode()}"


def _harmless(cell: object) -> str:
    """A text that a spreadsheet would run as a formula gets an apostrophe in front."""
    words = "" if cell is None else str(cell)
    return f"'{words}" if isinstance(cell, str) and words[:1] in ("=", "+", "-", "@", "\t") else words
