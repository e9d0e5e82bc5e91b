"""Kept papers never change."""

from __future__ import annotations

import hashlib

import pytest
from django.db import IntegrityError, transaction

from business.models import ArchivedDocument
from business.services.archive import Damaged, Paper, archive, content_of

pytestmark = pytest.mark.django_db


def report(content: bytes = b"%PDF-1.7 first") -> Paper:
    return Paper(kind="visit_report", reference="visit:17", file_name="report.pdf", content=content)


def test_a_kept_paper_reads_back_byte_for_byte():
    document = archive(report())

    assert content_of(document) == b"%PDF-1.7 first"
    assert document.sha256 == hashlib.sha256(b"%PDF-1.7 first").hexdigest()


def test_the_same_bytes_are_the_same_version():
    assert archive(report()) == archive(report())
    assert ArchivedDocument.objects.count() == 1


def test_other_bytes_are_a_new_version_and_the_old_one_stays():
    first = archive(report())
    second = archive(report(b"%PDF-1.7 second"))

    assert (first.version, second.version) == (1, 2)
    assert content_of(first) == b"%PDF-1.7 first"


@pytest.mark.parametrize("damage", ["changed", "missing"])
def test_a_damaged_file_is_told_not_served(damage):
    document = archive(report())
    storage, name = document.file.storage, str(document.file.name)
    storage.delete(name)
    if damage == "changed":
        with storage.open(name, "wb") as file:
            file.write(b"%PDF-1.7 forged")

    with pytest.raises(Damaged):
        content_of(document)


def test_an_empty_paper_cannot_be_kept():
    document = archive(report())

    with pytest.raises(IntegrityError), transaction.atomic():
        ArchivedDocument.objects.filter(pk=document.pk).update(size=0)
