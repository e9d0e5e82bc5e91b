"""The materials book: what it holds, and how it refuses a bad file."""

from __future__ import annotations

import shutil
import tomllib
from pathlib import Path

import pytest

from business.errors import BadInput
from gardens.knowledge.material_book import FILES, FOLDER, LABOUR, find, materials, read_materials
from gardens.knowledge.words import FORMS


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    copy = tmp_path / "materials"
    shutil.copytree(FOLDER, copy)
    return copy


def spoil(folder: Path, name: str, old: str, new: str) -> list[str]:
    path = folder / f"{name}.toml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(BadInput) as refusal:
        read_materials(folder)
    return [str(fault) for fault in refusal.value.faults]


def test_every_form_has_a_rule_for_its_wires():
    for form in FORMS:
        for kind in ("wall", "fence", "post_and_wire"):
            assert materials().form(form, kind).form == form


def test_every_crop_question_has_an_answer():
    assert materials().crop("something_new", "fan").id == "any"
    assert materials().crop("grape", "vine_tiers").share == 1.0
    assert materials().crop("wisteria", "vine_rod_and_spur").id == "wisteria"
    assert materials().crop("something_new", "vine_tiers").id == "vine_form"


def test_every_tie_and_fixing_can_be_bought():
    book = materials()

    assert {row.good for row in book.ties.values()} <= set(book.goods)
    assert {row.good for row in book.fixings.values()} <= set(book.goods)


def test_soft_tape_rubber_and_string_are_known_with_their_lives():
    lives = {
        name: find(materials().ties, name, where="tie").young_seasons for name in ("soft tape", "rubber", "string")
    }

    # Common practice: soft tape or rubber ties last one season and come off after it.
    assert lives == {"soft tape": 1, "rubber": 1, "string": 1}


def test_names_and_aliases_find_the_same_row():
    book = materials()

    assert book.grade("HT") is book.grade("high_tensile") is book.grade("High-tensile wire")
    with pytest.raises(BadInput, match="use one of soft_galvanised"):
        book.grade("gold")


def test_missing_source_is_refused_with_its_place(folder):
    faults = spoil(folder, "soils", 'source = "lateral bearing 200', '# source = "lateral bearing 200')

    assert faults == ["materials/soils.toml, soil 1, source: `source` is missing (add source = …)"]


def test_misspelt_key_is_a_fault_and_no_silence(folder):
    faults = spoil(folder, "posts", "allowed_mpa = 8", "alowed_mpa = 8")

    assert any("unknown key `alowed_mpa`" in fault and "allowed_mpa" in fault for fault in faults)


@pytest.mark.parametrize(
    ("name", "old", "new", "words"),
    [
        ("wire_gauges", "14 = 0.080", "14 = 0.180", "do not fall as the numbers rise"),
        ("support_forms", "first_wire_mm = 400", "first_wire_mm = 100", "lies outside"),
        ("support_forms", 'form = "fan"', 'form = "bonsai"', "is not a form"),
        ("loads", "kg = [2, 4]", "kg = [4, 2]", "falls"),
        ("goods", 'id = "vine_eye"', 'id = "tensioner"', "is given twice"),
        ("ties", 'good = "tie_jute"', 'good = "tie_silk"', "is not in goods.toml"),
        ("support_limits", "value = 0.5", "value = -0.5", "more than 0"),
        ("wire_coatings", "needs_none = true", "needs_none = false", "has no mass"),
        ("fixings", "[[fixing]]", "[[fixing", "cannot be read"),
    ],
)
def test_bad_rows_are_refused_with_what_would_be_right(folder, name, old, new, words):
    assert any(words in fault and name in fault for fault in spoil(folder, name, old, new))


def test_missing_and_stray_files_are_named(folder):
    (folder / "soils.toml").unlink()
    (folder / "gnomes.toml").write_text("", encoding="utf-8")
    with pytest.raises(BadInput) as refusal:
        read_materials(folder)

    told = str(refusal.value)
    assert "soils.toml: the file is missing" in told
    assert "gnomes.toml: no part of the program reads it" in told


def test_faults_of_all_files_come_at_once(folder):
    (folder / "soils.toml").write_text("[[soil]]\nid = 'x'\n", encoding="utf-8")
    faults = spoil(folder, "posts", "allowed_mpa = 8", "alowed_mpa = 8")

    assert any("soils.toml" in fault for fault in faults)
    assert any("posts.toml" in fault for fault in faults)


def test_work_on_supports_stands_in_the_labour_standards_alone(folder):
    labour = folder.parent / "labour"
    shutil.copytree(LABOUR, labour)
    shutil.copy(LABOUR.parent / "sources.toml", folder.parent)
    path = labour / "supports.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('kinds = ["erect_support"]', 'kinds = ["erect_statue"]', 1), encoding="utf-8")

    with pytest.raises(BadInput, match=r"labour/supports.toml.*erect_statue"):
        read_materials(folder, labour)


def test_a_kind_of_work_on_supports_has_one_standard_for_a_unit():
    """Tightening, straightening and looking over are asked for by supports and by species alike: one table serves both."""
    files = {path.stem: tomllib.loads(path.read_text(encoding="utf-8")) for path in LABOUR.glob("*.toml")}
    rows = [row for file in files.values() for row in file.get("standard", ())]

    assert len({row["id"] for row in rows}) == len(rows)
    for kind in ("tighten_wires", "straighten_posts"):
        assert sum(kind in row["kinds"] for row in rows) == 1


def test_every_tie_says_what_it_gives():
    gives = {row.id: row.gives_mm for row in materials().ties.values()}

    # A tie that stretches gives more than one that cuts in: common practice.
    assert gives["tie_soft_tube"] > gives["tie_cotton"] > gives["tie_jute"]


def test_every_file_of_the_folder_is_read():
    assert {path.stem for path in FOLDER.glob("*.toml")} == set(FILES)
