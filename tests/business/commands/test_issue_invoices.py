"""manage.py issue_invoices"""

from __future__ import annotations

import json
from datetime import date
from decimal import Decimal
from io import StringIO

import pytest
from django.core.management import call_command

from business.models import Invoice, Message
from tests import make

pytestmark = pytest.mark.django_db


def run(*arguments: str) -> str:
    out = StringIO()
    call_command("issue_invoices", *arguments, stdout=out, stderr=out)
    return out.getvalue()


@pytest.fixture(autouse=True)
def _business():
    make.profile()


def test_work_until_the_day_is_gathered_issued_and_kept():
    make.charge(client=make.client(name="Ivo Hale"), done_on=date(2026, 3, 31), unit_price=Decimal(85))
    make.charge(done_on=date(2026, 4, 1))
    make.agreement(
        client=make.client(name="Ada Quill"), basis="season_fixed", season_price=Decimal(120), instalments=12,
        valid_from=date(2026, 3, 1),
    )  # fmt: skip

    told = json.loads(run("--until", "2026-03-31", "--issued-on", "2026-04-02", "--json"))

    assert [(row["number"], row["client"], row["gross"]) for row in told["issued"]] == [
        ("2026-00001", "Ada Quill", "12.00"),
        ("2026-00002", "Ivo Hale", "102.00"),
    ]
    assert (told["drafts"], told["net"], told["tax"], told["gross"]) == (2, "95.00", "19.00", "114.00")
    assert all(invoice.document is not None for invoice in Invoice.objects.all())
    kept = set(Invoice.objects.values_list("document__file", flat=True))
    assert kept == {row["paper"] for row in told["issued"]}


def test_running_again_issues_nothing_more():
    make.charge()
    run("--until", "2026-12-31", "--issued-on", "2026-04-02")

    told = json.loads(run("--until", "2026-12-31", "--issued-on", "2026-04-02", "--json"))

    assert (told["issued"], Invoice.objects.count()) == ([], 1)


def test_drafts_only_gives_no_number():
    make.charge()

    told = run("--until", "2026-12-31", "--drafts-only")

    assert "Drafts gathered: 1. Invoices issued: 0" in told
    assert Invoice.objects.get().is_draft


def test_one_client_without_an_address_does_not_stop_the_others():
    make.charge(client=make.client(name="Ada Quill", address=""))
    make.charge(client=make.client(name="Ivo Hale"))
    out = StringIO()

    with pytest.raises(SystemExit) as stop:
        call_command("issue_invoices", "--until", "2026-12-31", "--issued-on", "2026-04-02", stdout=out, stderr=out)

    assert stop.value.code == 2
    assert "Ada Quill: Ada Quill: has no billing address (enter it on the client's page)" in out.getvalue()
    assert Invoice.objects.get(client__name="Ivo Hale").number == "2026-00001"


def test_mail_is_queued_on_request_only():
    make.charge()
    run("--until", "2026-12-31", "--issued-on", "2026-04-02")
    assert not Message.objects.exists()

    make.charge()
    run("--until", "2026-12-31", "--issued-on", "2026-04-02", "--mail")
    assert Message.objects.get().kind == "invoice"


def test_a_day_that_is_none_is_told_with_the_right_form(capsys):
    from django.core.management import CommandError

    with pytest.raises(CommandError, match="write it like 2026-03-31"):
        run("--until", "31.03.2026")
