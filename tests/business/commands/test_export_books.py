"""The accountant's tables from the command line."""

from __future__ import annotations

import csv
import json
from datetime import date

import pytest
from django.core.management import CommandError, call_command

from tests import make

pytestmark = pytest.mark.django_db


def test_files_and_json_say_the_same(tmp_path, capsys):
    make.invoice(amounts=("100.00",), issued_on=date(2026, 4, 1))

    call_command("export_books", "--from=2026-01-01", "--until=2026-12-31", f"--into={tmp_path / 'b'}", "--json")

    told = json.loads(capsys.readouterr().out)
    with (tmp_path / "b" / "journal-2026-01-01-2026-12-31.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["account"] for row in rows] == [row["account"] for row in told["journal"]]
    assert [row["debit"] for row in rows] == ["120.00", "", ""]
    assert told["open_items"][0]["open"] == "120.00"
    assert told["tax"][0]["tax"] == "20.00"


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--from=2026-02-01", "--until=2026-01-01", "--json"], "lies before"),
        (["--from=2026-01-01", "--until=2026-02-01"], "--into"),
        (["--from=yesterday", "--until=2026-02-01", "--json"], "2026-03-31"),
    ],
)
def test_what_is_wrong_with_the_days_is_said(arguments, words):
    with pytest.raises(CommandError, match=words):
        call_command("export_books", *arguments)
