"""Papers of the archive."""

from __future__ import annotations

from django.db.models import QuerySet

from business.models import ArchivedDocument


def newest_document(kind: str, reference: str) -> ArchivedDocument | None:
    """The last version of a paper, or None."""
    return ArchivedDocument.objects.filter(kind=kind, reference=reference).order_by("-version").first()


def versions_of(kind: str, reference: str) -> QuerySet[ArchivedDocument]:
    return ArchivedDocument.objects.filter(kind=kind, reference=reference).order_by("-version")


def document_by_id(document_id: int) -> ArchivedDocument:
    return ArchivedDocument.objects.get(pk=document_id)
