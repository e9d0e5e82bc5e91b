"""A client book comes in whole or not at all."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import pytest

from business.errors import BadInput
from business.models import Client
from gardens.models import Record, Site, Tree, Wire
from gardens.services.book import import_book, write_templates
from gardens.services.book.templates import EXAMPLES

Book = Callable[..., Path]


@pytest.fixture
def book(tmp_path: Path) -> Book:
    """Writes the example book; ``changes`` are (file, column, value) and ``more`` are extra rows by file."""

    def write(*changes: tuple[str, str, str], more: dict[str, list[dict[str, str]]] | None = None) -> Path:
        folder = tmp_path / "book"
        folder.mkdir(exist_ok=True)
        for name, example in EXAMPLES.items():
            row = {**example, **{column: value for file, column, value in changes if file == name}}
            rows = [row, *({**row, **extra} for extra in (more or {}).get(name, []))]
            with (folder / name).open("w", newline="", encoding="utf-8") as file:
                writer = csv.DictWriter(file, fieldnames=list(example))
                writer.writeheader()
                writer.writerows(rows)
        return folder

    return write


def faults_of(folder: Path) -> list[str]:
    with pytest.raises(BadInput) as refusal:
        import_book(folder)
    assert not Client.objects.exists()
    assert not Site.objects.exists()
    return [str(fault) for fault in refusal.value.faults]


@pytest.mark.django_db
def test_the_example_book_comes_in_whole(book):
    outcome = import_book(book())

    assert {name: tally.added for name, tally in outcome.tallies.items()} == dict.fromkeys(EXAMPLES, 1)
    tree = Tree.objects.get()
    assert (tree.species, tree.form, tree.position_mm, tree.run_left_mm) == (
        "pear_european",
        "horizontal_tiers",
        2000,
        1800,
    )
    assert list(Wire.objects.values_list("height_mm", flat=True)) == [450, 850, 1250]
    assert Record.objects.get().value == 980


@pytest.mark.django_db
def test_the_same_book_twice_changes_nothing(book):
    folder = book()
    import_book(folder)
    before = list(Tree.objects.values()), list(Record.objects.values()), list(Site.objects.values())

    outcome = import_book(folder)

    assert [(tally.added, tally.changed, tally.same) for tally in outcome.tallies.values()] == [(0, 0, 1)] * 5
    assert (list(Tree.objects.values()), list(Record.objects.values()), list(Site.objects.values())) == before


@pytest.mark.django_db
def test_a_dry_run_counts_and_writes_nothing(book):
    outcome = import_book(book(), is_dry_run=True)

    assert outcome.tallies["trees.csv"].added == 1
    assert not Tree.objects.exists()


@pytest.mark.django_db
def test_lengths_may_be_imperial(book):
    import_book(book(("supports.csv", "wires", "18 in; 36 in; 4 ft 6"), ("records.csv", "value", "38.5 in")))

    # 1 in = 25.4 mm exactly (international yard and pound agreement, 1959).
    assert list(Wire.objects.values_list("height_mm", flat=True)) == [457, 914, 1372]
    assert Record.objects.get().value == 978


@pytest.mark.django_db
def test_a_changed_row_is_told_from_the_same_ones(book):
    import_book(book())

    outcome = import_book(book(("sites.csv", "hazards", "Bees.")))

    assert outcome.tallies["sites.csv"].changed == 1
    assert outcome.tallies["trees.csv"].same == 1
    assert Site.objects.get().hazards == "Bees."


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("change", "words"),
    [
        (("trees.csv", "species", "banana"), ["trees.csv, row 2, species", "'banana'", "known are"]),
        (("trees.csv", "form", "topiary"), ["trees.csv, row 2, form", "'topiary'", "horizontal_tiers"]),
        (("trees.csv", "rootstock", "oak"), ["trees.csv, row 2, rootstock", "leave it empty"]),
        (("trees.csv", "position", "14 m"), ["trees.csv, row 2, position", "stands beyond its support of 1200 cm"]),
        (("trees.csv", "run_right", "11 m"), ["trees.csv, row 2, run_right", "100 cm past the end"]),
        (("trees.csv", "support", "east-wall"), ["trees.csv, row 2, support", "'east-wall'", "south-wall"]),
        (("trees.csv", "planted", "31.02.2024"), ["trees.csv, row 2, planted", "write it as 2024-02-28"]),
        (("trees.csv", "planted", "2024-06-01"), ["records.csv, row 2, date", "before the tree was planted"]),
        (("supports.csv", "wires", "45 cm; 250 cm"), ["supports.csv, row 2, wires", "above the support of 220 cm"]),
        (("supports.csv", "wires", "85 cm; 45 cm"), ["supports.csv, row 2, wires", "do not rise"]),
        (("supports.csv", "length", "1.500 m"), ["supports.csv, row 2, length", "can be read as"]),
        (("supports.csv", "faces", "400"), ["supports.csv, row 2, faces", "0 to 359"]),
        (("supports.csv", "post_spacing", "0 m"), ["supports.csv, row 2, post_spacing", "no span of wire"]),
        (("supports.csv", "length", "0 m"), ["supports.csv, row 2, length", "is zero"]),
        (("supports.csv", "wire_diameter_mm", "99 SWG"), ["supports.csv, row 2, wire_diameter_mm", "not in the"]),
        (("supports.csv", "wire_diameter_mm", "14"), ["supports.csv, row 2, wire_diameter_mm", "no straining wire"]),
        (("sites.csv", "latitude", "151"), ["sites.csv, row 2, latitude", "-90 … 90"]),
        (("sites.csv", "client", "nobody"), ["sites.csv, row 2, client", "there is no client 'nobody'"]),
        (("sites.csv", "access_until", "07:00"), ["sites.csv, row 2, access_until", "is not after 08:00"]),
        (("sites.csv", "time_zone", "Mars/Base"), ["sites.csv, row 2, time_zone", "Europe/London"]),
        (("clients.csv", "email", "rosa at home"), ["clients.csv, row 2, email", "name@example.com"]),
        (("records.csv", "date", "2090-01-01"), ["records.csv, row 2, date", "lies in the future"]),
        (("records.csv", "what", "leader_weight"), ["records.csv, row 2, what", "leader_height"]),
        (("records.csv", "value", ""), ["records.csv, row 2, value", "is empty"]),
    ],
)
def test_a_fault_names_file_row_column_and_what_is_right(book, change, words):
    faults = faults_of(book(change))

    assert any(all(word in fault for word in words) for fault in faults), faults


@pytest.mark.django_db
def test_every_fault_of_every_file_is_reported_at_once(book):
    faults = faults_of(
        book(
            ("clients.csv", "country", "Britain"),
            ("sites.csv", "longitude", "west"),
            ("supports.csv", "height", ""),
            ("trees.csv", "species", "banana"),
            ("records.csv", "kind", "guessed"),
        )
    )

    assert {fault.split(",")[0] for fault in faults} == set(EXAMPLES)
    # References to rows that are reported themselves are not faults of their own.
    assert not [fault for fault in faults if "there is no" in fault]


@pytest.mark.django_db
def test_overlapping_trees_are_named(book):
    faults = faults_of(book(more={"trees.csv": [{"code": "pear-2", "position": "4 m", "label": "Pear 2"}]}))

    assert any("pear-2 overlaps pear-1 by 160 cm" in fault for fault in faults)


@pytest.mark.django_db
def test_a_repeated_code_is_named_with_its_first_row(book):
    faults = faults_of(book(more={"trees.csv": [{"position": "8 m"}]}))

    assert any("'pear-1' stands in row 2 already" in fault for fault in faults)


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("content", "word"),
    [
        ("code,name\nashdown,Ros\xe9\n".encode("latin-1"), "is not UTF-8"),
        (b"PK\x03\x04rest of a spreadsheet", "is a spreadsheet, not CSV"),
        (b"code;name\nashdown;Rosa\n", "is separated by semicolons"),
        (b"code,name,colour\nashdown,Rosa,red\n", "this column is not known"),
        (b"code\nashdown\n", "this column is missing"),
        (b"code,name\nashdown,Rosa,extra\n", "has 3 cells, the header has 2"),
        (b'code,name\nashdown,"Rosa\n', "is not CSV"),
        (b"", "is empty"),
    ],
)
def test_a_file_that_is_not_the_right_csv_is_named(book, content, word):
    folder = book()
    (folder / "clients.csv").write_bytes(content)

    faults = faults_of(folder)

    assert any(fault.startswith("clients.csv") and word in fault for fault in faults), faults


@pytest.mark.django_db
def test_templates_can_be_brought_in_as_they_are(tmp_path):
    write_templates(tmp_path / "empty")

    outcome = import_book(tmp_path / "empty")

    assert outcome.tallies["trees.csv"].added == 1


def test_templates_never_overwrite_a_file(tmp_path):
    (tmp_path / "sites.csv").write_text("mine", encoding="utf-8")

    with pytest.raises(BadInput, match="is there already"):
        write_templates(tmp_path)

    assert [path.name for path in tmp_path.iterdir()] == ["sites.csv"]


@pytest.mark.django_db
def test_runs_left_open_are_shared_between_neighbours(book):
    rows = [{"code": "pear-2", "position": "6 m"}, {"code": "pear-3", "position": "10 m"}]
    import_book(book(("trees.csv", "run_left", ""), ("trees.csv", "run_right", ""), more={"trees.csv": rows}))

    runs = Tree.objects.order_by("position_mm").values_list("run_left_mm", "run_right_mm")
    assert list(runs) == [(2000, 2000), (2000, 2000), (2000, 2000)]
