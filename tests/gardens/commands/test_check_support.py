"""check_support: a file in, a verdict out, exit 2 with every fault."""

from __future__ import annotations

import json
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from gardens.management.commands.check_support import Command
from gardens.supports import EXAMPLES


def written(folder: Path, document: object) -> str:
    path = folder / "support.json"
    path.write_text(document if isinstance(document, str) else json.dumps(document), encoding="utf-8")
    return str(path)


def said(*arguments: str) -> str:
    out = StringIO()
    call_command(Command(), *arguments, stdout=out)
    return out.getvalue()


def refused(*arguments: str) -> CommandError:
    with pytest.raises(CommandError) as refusal:
        said(*arguments)
    return refusal.value


def test_table_reads_from_verdict_to_cautions(tmp_path):
    text = said(written(tmp_path, EXAMPLES["wall"]))

    assert text.startswith("South wall: ")
    assert "TO BUY" in text
    assert "CAUTIONS" in text


def test_json_has_tension_sag_loads_parts_and_bill(tmp_path):
    answer = json.loads(said(written(tmp_path, EXAMPLES["row"]), "--json"))

    assert answer["verdict"] == "fine"
    assert {"tension", "sag", "loads", "parts", "bill", "layout", "cautions"} <= set(answer)
    assert answer["bill"]["lines"]


@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_printed_example_is_a_file_that_works(tmp_path, name):
    assert said(written(tmp_path, said("--example", name)), "--json")


def test_bad_file_exits_two_with_every_fault(tmp_path):
    refusal = refused(written(tmp_path, EXAMPLES["wall"] | {"faces": 400, "hold_gap": 0, "wire": {"size": "99 SWG"}}))

    assert refusal.returncode == 2
    assert len(str(refusal).splitlines()) == 3
    assert str(refusal).startswith("support.json, ")


@pytest.mark.parametrize(("content", "words"), [("{", "line 1"), ("[]", "is not a table"), ("", "line 1")])
def test_file_that_is_no_document_exits_two(tmp_path, content, words):
    refusal = refused(written(tmp_path, content))

    assert refusal.returncode == 2
    assert words in str(refusal)


def test_missing_file_exits_two(tmp_path):
    for refusal in (refused(str(tmp_path / "nothing.json")), refused()):
        assert refusal.returncode == 2


def test_drawing_is_written_with_the_slope_and_rows_are_told(tmp_path):
    document = EXAMPLES["row"] | {"slope_percent": 7, "rows": {"count": 3, "latitude": 51.5}}
    picture = tmp_path / "row.svg"

    answer = json.loads(said(written(tmp_path, document), "--json", "--drawing", str(picture)))

    assert answer["layout"]["slope_percent"] == 7
    assert answer["rows"]["count"] == 3
    assert "rises 7 % to the right" in picture.read_text(encoding="utf-8")


def test_a_drawing_that_cannot_be_written_is_named(tmp_path):
    refusal = refused(written(tmp_path, EXAMPLES["row"]), "--drawing", str(tmp_path / "missing" / "row.svg"))

    assert refusal.returncode == 2
    assert "cannot be written" in str(refusal)
