"""Keep the bytes of a paper for good, with their hash."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

from django.core.files.base import ContentFile
from django.db import transaction

from business.errors import Fault, Refusal
from business.models import ArchivedDocument, Client, Staff
from business.queries.documents import newest_document
from business.services.rows import save_checked


class Damaged(Refusal):
    """A kept paper is not what was put there."""

    code = "damaged"


@dataclass(frozen=True, kw_only=True)
class Paper:
    """A finished paper on its way to the archive. ``reference`` names what it is of, like "invoice:12"."""

    kind: str
    reference: str
    file_name: str
    content: bytes
    media_type: str = "application/pdf"


@transaction.atomic
def archive(paper: Paper, *, client: Client | None = None, by: Staff | None = None) -> ArchivedDocument:
    """Keep a paper. The same bytes again are the same version; other bytes are the next one.

    The file is complete on disk before its row exists, so nobody ever sees half a paper.
    """
    digest = hashlib.sha256(paper.content).hexdigest()
    newest = newest_document(paper.kind, paper.reference)
    if newest is not None and newest.sha256 == digest:
        return newest
    document = ArchivedDocument(
        kind=paper.kind,
        reference=paper.reference,
        version=newest.version + 1 if newest else 1,
        file_name=paper.file_name,
        media_type=paper.media_type,
        sha256=digest,
        size=len(paper.content),
        client=client,
        created_by=by,
    )
    document.file.save(f"{digest[:16]}-{paper.file_name}", ContentFile(paper.content), save=False)
    save_checked(document, where=f"document {paper.reference}")
    return document


def content_of(document: ArchivedDocument) -> bytes:
    """The kept bytes, checked against their hash.

    Raises:
        Damaged: the file is missing or its bytes have changed.
    """
    try:
        with document.file.open("rb") as file:
            content: bytes = file.read()
    except FileNotFoundError as error:
        raise Damaged([Fault(document.file_name, "its file is missing", "restore it from a backup")]) from error
    if hashlib.sha256(content).hexdigest() != document.sha256:
        raise Damaged([Fault(document.file_name, "its bytes have changed", "restore it from a backup")])
    return content
