"""A list as a table file."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from django.http import HttpRequest, HttpResponse

from business.documents.tables import MARK, csv_text


def csv_file(name: str, heads: Sequence[str], rows: Iterable[Sequence[object]]) -> HttpResponse:
    """CSV (RFC 4180) in UTF-8, with the mark that spreadsheets look for. Days in it are ISO 8601."""
    response = HttpResponse(MARK + csv_text(heads, rows), content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


def wants_csv(request: HttpRequest) -> bool:
    return request.GET.get("as") == "csv"


def csv_address(request: HttpRequest) -> str:
    """The present list, filtered as it is, as a file."""
    choice = request.GET.copy()
    choice.pop("page", None)
    choice["as"] = "csv"
    return f"?{choice.urlencode()}"
