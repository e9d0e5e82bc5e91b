"""Everything of one client, for a data request."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from datetime import date, timedelta
from types import GeneratorType

import pytest
from django.apps import apps
from django.core.files.base import ContentFile
from django.urls import reverse

from business.models import ArchivedDocument, ChangeNote, Client
from business.services.papers import write_invoice_paper
from gardens.models import Photo
from scheduling.services.client_data import everything_of
from tests import make, make_garden

pytestmark = pytest.mark.django_db


@pytest.fixture
def theirs():
    make.profile()
    client = make.client(name="Ágnes <Lőrinc>", code="H-7")
    make.contact(client=client, name="The gardener")
    invoice = make.invoice(client=client, issued_on=date(2026, 4, 1))
    write_invoice_paper(invoice_id=invoice.pk)
    make.message(client=client, subject="We come on Tuesday")
    site = make_garden.site(client=client)
    tree = make_garden.tree(site=site, support=make_garden.support(site=site))
    make_garden.record(tree=tree)
    make_garden.visit(site=site)
    photo = Photo(site=site, tree=tree, digest="a" * 64, taken_at=make_garden.utc(2026, 3, 1), width_px=4, height_px=3)
    photo.file.save("p.jpg", ContentFile(b"\xff\xd8" + b"x" * 200_000), save=True)
    return client


def unpacked(chunks):
    return zipfile.ZipFile(io.BytesIO(b"".join(chunks)))


def test_it_holds_data_papers_and_photos_with_an_index(at_owner, theirs):
    answer = at_owner.post(reverse("client-everything", args=[theirs.pk]))

    assert answer["Content-Disposition"] == 'attachment; filename="H-7-everything.zip"'
    archive = unpacked(answer.streaming_content)
    assert archive.testzip() is None
    names = set(archive.namelist())
    for table in (
        "client",
        "contacts",
        "invoices",
        "invoice_lines",
        "messages",
        "gardens",
        "trees",
        "records",
        "visits",
    ):
        assert {f"data/{table}.json", f"data/{table}.csv"} <= names, table
    assert json.loads(archive.read("data/client.json"))[0]["name"] == "Ágnes <Lőrinc>"
    (paper,) = [name for name in names if name.startswith("papers/")]
    assert archive.read(paper).startswith(b"%PDF")
    (photo,) = [name for name in names if name.startswith("photos/")]
    assert len(archive.read(photo)) == 200_002
    index = archive.read("index.html").decode()
    assert "Ágnes &lt;Lőrinc&gt;" in index
    assert all(name in index for name in names - {"index.html"})


def test_nothing_of_anybody_else_is_in_it(theirs):
    other = make.client(name="Somebody Else", email="else@example.com")
    make.invoice(client=other)
    make_garden.visit(site=make_garden.site(client=other, name="Foreign garden"))

    archive = unpacked(everything_of(theirs))

    content = b"".join(archive.read(name) for name in archive.namelist())
    for foreign in (b"Somebody Else", b"else@example.com", b"Foreign garden"):
        assert foreign not in content


def test_every_table_that_names_a_client_is_in_it(theirs):
    # A new table about clients must be put on a shelf, or named here with the reason why not.
    left_out = {
        "ArchivedDocument",  # as the papers themselves
        "ReminderHold", "PaymentReminder", "Statement",  # our own notes on asking for money; the letters are papers
    }  # fmt: skip
    told = {name.removeprefix("data/").removesuffix(".json") for name in unpacked(everything_of(theirs)).namelist()}
    shelves = {
        "Contact": "contacts", "Agreement": "agreements", "Charge": "charges", "Invoice": "invoices",
        "Payment": "payments", "Quote": "quotes", "Message": "messages", "Site": "gardens", "ClientAsk": "asks",
        "SeasonReview": "season_reviews",
    }  # fmt: skip
    naming = {
        model.__name__
        for model in apps.get_models()
        for field in model._meta.concrete_fields
        if field.is_relation and field.related_model is Client
    }
    assert naming - left_out <= set(shelves)
    assert {"contacts", "charges", "invoices", "messages", "gardens"} <= told


def test_it_is_noted_who_took_it(at_owner, owner, theirs):
    at_owner.post(reverse("client-everything", args=[theirs.pk]))

    note = ChangeNote.objects.get(act="everything handed out")
    assert (note.made_by, note.reference) == (owner, f"client:{theirs.pk}")


def test_it_is_sent_in_chunks_never_whole(theirs):
    chunks = everything_of(theirs)

    assert isinstance(chunks, GeneratorType)
    assert max(len(chunk) for chunk in chunks) < 150_000


def test_queries_stay_the_same_however_much_there_is(theirs, django_assert_max_num_queries):
    site = theirs.sites.get()
    for days in range(6):
        make_garden.record(tree=site.trees.get(), on=date(2026, 3, 1) + timedelta(days=days))
        make.charge(client=theirs)

    with django_assert_max_num_queries(30):
        list(everything_of(theirs))


def test_a_lost_file_is_named_and_the_rest_is_sent(theirs):
    document = ArchivedDocument.objects.get(client=theirs)
    document.file.storage.delete(document.file.name)

    archive = unpacked(everything_of(theirs))

    assert archive.testzip() is None
    assert "its file is missing" in archive.read("index.html").decode()
    assert not [name for name in archive.namelist() if name.startswith("papers/")]


def test_names_that_are_formulas_do_not_run_in_the_tables(theirs):
    theirs.name = "=1+1"
    theirs.save()

    text = unpacked(everything_of(theirs)).read("data/client.csv").decode("utf-8-sig")

    assert next(csv.DictReader(io.StringIO(text)))["name"] == "'=1+1"


@pytest.mark.parametrize("role", ["crew", "crew_lead", "accountant"])
def test_crews_and_accountants_do_not_get_it(client, theirs, role):
    client.force_login(make.staff(role=role, sees_prices=role != "crew"))
    assert client.post(reverse("client-everything", args=[theirs.pk])).status_code == 404


def test_an_office_person_without_prices_does_not_get_it(client, theirs):
    client.force_login(make.staff(role="office", sees_prices=False))
    assert client.post(reverse("client-everything", args=[theirs.pk])).status_code == 404


def test_looking_at_the_address_takes_nothing(at_owner, theirs):
    assert at_owner.get(reverse("client-everything", args=[theirs.pk])).status_code == 405
    assert not ChangeNote.objects.filter(act="everything handed out").exists()
