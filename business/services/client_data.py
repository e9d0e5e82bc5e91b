"""Everything we hold of one client, as one archive they can read and machines can too.

Each room fills a shelf: a function from a client to pieces. A later room hands its shelves to ``zip_of``; this room
never asks what is on them. The archive is written while it is sent: one piece is in memory at a time, files in chunks.
"""

from __future__ import annotations

import io
import json
import re
import zipfile
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from html import escape
from typing import Any

from django.core.serializers.json import DjangoJSONEncoder
from django.db.models import Model, QuerySet
from django.db.models.fields.files import FieldFile

from business import clock
from business.documents.tables import MARK, csv_text
from business.documents.words import day_text
from business.models import Allocation, ChangeNote, Client, InvoiceLine, QuoteLine, Staff
from business.queries.profile import our_profile
from business.services.audit import note

CHUNK = 64 * 1024
PACKED_ALREADY = (".jpg", ".jpeg", ".png", ".pdf", ".webp")

# Columns that say nothing of the client: our own machinery, and the people who work here.
UNTOLD = frozenset(
    {"search_text", "link_serial", "made_by", "created_by", "issued_by", "recorded_by", "written_off_by", "claimed_at"}
)


@dataclass(frozen=True, kw_only=True)
class Piece:
    """One file of the archive. ``words`` tell the reader what it is."""

    path: str
    words: str
    content: bytes | FieldFile

    def chunks(self) -> Iterator[bytes]:
        if isinstance(self.content, bytes):
            yield self.content
            return
        with self.content.open("rb") as file:
            yield from iter(lambda: file.read(CHUNK), b"")


Shelf = Callable[[Client], Iterator[Piece]]


def table(name: str, words: str, rows: QuerySet[Any], *, leave_out: Iterable[str] = ()) -> Iterator[Piece]:
    """The rows of a query twice: as JSON for machines, as CSV for a spreadsheet; nothing where there are none."""
    columns = columns_of(rows.model, leave_out=leave_out)
    found = list(rows.values(*columns))
    if not found:
        return
    content = json.dumps(found, cls=DjangoJSONEncoder, ensure_ascii=False, indent=1)
    yield Piece(path=f"data/{name}.json", words=words, content=content.encode())
    lines = [[_cell(row[column]) for column in columns] for row in found]
    yield Piece(
        path=f"data/{name}.csv", words=f"{words}, as a table", content=(MARK + csv_text(columns, lines)).encode()
    )


def columns_of(model: type[Model], *, leave_out: Iterable[str] = ()) -> list[str]:
    """The columns of a table that are about the client."""
    untold = UNTOLD | set(leave_out)
    return [field.attname for field in model._meta.concrete_fields if field.name not in untold]


def business_shelf(client: Client) -> Iterator[Piece]:
    """Who they are to us, what they pay, what we wrote to them, and who changed it."""
    yield from table("client", "Who you are to us", Client.objects.filter(pk=client.pk))
    yield from table("contacts", "People we write to", client.contacts.all())
    yield from table("agreements", "What was agreed", client.agreements.all())
    yield from table("charges", "Work as it was charged", client.charges.all())
    yield from table("invoices", "Invoices and credit notes", client.invoices.all())
    yield from table("invoice_lines", "Their lines", InvoiceLine.objects.filter(invoice__client=client))
    yield from table("payments", "Payments", client.payments.all())
    yield from table("allocations", "Which invoice they settled", Allocation.objects.filter(payment__client=client))
    yield from table("quotes", "Offers", client.quotes.all())
    yield from table("quote_lines", "Their lines", QuoteLine.objects.filter(quote__client=client))
    yield from table("messages", "Mail we sent", client.messages.all(), leave_out=["headers"])
    notes = ChangeNote.objects.filter(reference=f"client:{client.pk}")
    yield from table("changes", "What was changed and when", notes, leave_out=["by_words"])
    yield from _papers(client)


def zip_of(client: Client, shelves: Sequence[Shelf], *, by: Staff | None = None) -> Iterator[bytes]:
    """The archive, chunk by chunk. That it was handed out is noted before the first byte leaves."""
    note("everything handed out", f"client:{client.pk}", after={"code": client.code}, by=by)
    return _zipped(client, shelves, clock.now())


def archive_name(client: Client) -> str:
    return f"{_safe(client.code)}-everything.zip"


def _papers(client: Client) -> Iterator[Piece]:
    for document in client.documents.order_by("created_at", "pk"):
        path = f"papers/{document.pk:06}-{_safe(document.file_name)}"
        words = f"{document.kind.replace('_', ' ').capitalize()} of {day_text(document.created_at.date())}"
        yield Piece(path=path, words=words, content=document.file)


def _zipped(client: Client, shelves: Sequence[Shelf], now: datetime) -> Iterator[bytes]:
    sink = _Sink()
    listed: list[Piece] = []
    lost: list[str] = []
    with zipfile.ZipFile(sink, "w") as archive:
        for shelf in shelves:
            for piece in shelf(client):
                try:
                    yield from _put(archive, sink, piece, now)
                except FileNotFoundError:
                    lost.append(piece.path)
                else:
                    listed.append(piece)
        index = Piece(path="index.html", words="", content=_index(client, listed, lost, now).encode())
        yield from _put(archive, sink, index, now)
    yield sink.taken()


def _put(archive: zipfile.ZipFile, sink: _Sink, piece: Piece, now: datetime) -> Iterator[bytes]:
    chunks = piece.chunks()
    # Opened before its entry begins: a file that is gone leaves no half entry behind.
    first = next(chunks, b"")
    entry = zipfile.ZipInfo(piece.path, date_time=now.timetuple()[:6])
    is_packed = piece.path.lower().endswith(PACKED_ALREADY)
    entry.compress_type = zipfile.ZIP_STORED if is_packed else zipfile.ZIP_DEFLATED
    with archive.open(entry, "w") as target:
        target.write(first)
        for chunk in chunks:
            target.write(chunk)
            yield sink.taken()
    yield sink.taken()


class _Sink(io.RawIOBase):
    """Where the archive writes; whoever sends it takes what has gathered."""

    def __init__(self) -> None:
        super().__init__()
        self._gathered = bytearray()

    def writable(self) -> bool:
        return True

    def write(self, data: Any) -> int:
        self._gathered += data
        return len(data)

    def taken(self) -> bytes:
        gathered = bytes(self._gathered)
        self._gathered.clear()
        return gathered


def _index(client: Client, pieces: Sequence[Piece], lost: Sequence[str], now: datetime) -> str:
    """A page that opens from the unpacked folder without any network."""
    ours = our_profile()
    rows = "".join(f'<li><a href="{escape(p.path)}">{escape(p.path)}</a> {escape(p.words)}</li>\n' for p in pieces)
    gone = "".join(f"<li>{escape(path)}: its file is missing; ask us</li>\n" for path in lost)
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        f"<title>Everything about {escape(client.name)}</title></head>\n<body>\n"
        f"<h1>Everything about {escape(client.name)}</h1>\n"
        f"<p>All that {escape(ours.name)} holds of client {escape(client.code)}, as of {day_text(now.date())}. "
        "Each table comes twice: JSON for machines, CSV for a spreadsheet (UTF-8; days are ISO 8601, times are UTC). "
        "Papers are the ones that were sent.</p>\n"
        f"<ul>\n{rows}{gone}</ul>\n"
        f"<p>Questions: {escape(ours.email or ours.phone or ours.name)}</p>\n</body></html>\n"
    )


def _cell(value: Any) -> Any:
    return json.dumps(value, cls=DjangoJSONEncoder, ensure_ascii=False) if isinstance(value, dict | list) else value


def _safe(name: str) -> str:
    return re.sub(r"[^\w.\-]+", "-", name).strip(".-") or "file"
