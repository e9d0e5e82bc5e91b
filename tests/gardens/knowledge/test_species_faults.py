"""A rule file that is wrong is refused with the file, the key and what would be right; all faults at once."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

import pytest

import gardens.knowledge
from business.errors import BadInput
from gardens.knowledge import Overlay, load_knowledge, resolve_species, rule_rows, rules_of_species, search_rules

SHIPPED = Path(gardens.knowledge.__file__).parent


@pytest.fixture
def folder(tmp_path):
    """A copy of the shipped rules that a test may spoil."""
    for name in ("species", "groups", "labour"):
        shutil.copytree(SHIPPED / name, tmp_path / name)
    for name in ("sources", "codes", "gates", "diseases", "hazards"):
        shutil.copy(SHIPPED / f"{name}.toml", tmp_path / f"{name}.toml")
    return tmp_path


def spoil(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def faults_of(folder: Path):
    with pytest.raises(BadInput) as refusal:
        load_knowledge(folder)
    return refusal.value.faults


def test_shipped_rules_load_whole():
    assert len(load_knowledge().species) >= 34


@pytest.mark.parametrize(
    ("old", "new", "where", "wrong", "remedy"),
    [
        ('opens = "later(shoot_ripe, terminal_bud)"', 'opens = "shoots_ripe"', "opens", "shoots_ripe", "shoot_ripe"),
        ('kind = "summer_prune"', 'kind = "summer_cut"', "kind", "summer_cut", "summer_prune"),
        ('profiles = ["maritime"]', 'profiles = ["oceanic"]', "profiles 1", "oceanic", "maritime"),
        ('gates = ["D24", "SCORCH"]', 'gats = ["D24"]', "gats", "unknown key", "write gates"),
        ('source = ["RHS-SUMF", "WG", "TMG"]', "", "source", "missing", "add source"),
        ('source = ["RHS-SUMF", "WG", "TMG"]', 'source = ["HEARSAY"]', "source", "HEARSAY", "sources.toml"),
        ('source = ["RHS-SUMF", "WG", "TMG"]', "source = []", "source", "", ""),
        (
            'closes = "later(shoot_ripe+35d, terminal_bud+35d)"',
            'closes = "petal_fall"',
            "summer_prune",
            "falls before",
            "≤",
        ),
        ("months = [8, 9]", "months = [8, 13]", "months 2", "13", "at most 12"),
        ("grades = { tiers = 3,", "grades = {", "suitability", "tiers", "grade"),
    ],
)
def test_wrong_key_is_named_with_file_and_remedy(folder, old, new, where, wrong, remedy):
    path = folder / "species" / "apple_spur.toml"
    spoil(path, old, new)
    faults = faults_of(folder)

    assert any(
        fault.where.startswith("species/apple_spur.toml")
        and where in fault.where
        and wrong in fault.wrong
        and remedy in fault.remedy
        for fault in faults
    ), faults


def test_all_faults_of_all_files_come_at_once(folder):
    spoil(folder / "species" / "peach.toml", 'group = "peach_kind"', 'group = "peach_kind"\ncolour = "red"')
    spoil(folder / "species" / "fig.toml", 'kind = "pinch"', 'kind = "nip"')
    spoil(folder / "groups" / "pome.toml", 'code = "REGROWTH"', "")
    places = {fault.where.partition(",")[0] for fault in faults_of(folder)}

    assert places == {"species/peach.toml", "species/fig.toml", "groups/pome.toml"}


def test_reason_gate_and_standard_must_exist(folder):
    spoil(folder / "groups" / "stone.toml", 'code = "SILVER_LEAF"', 'code = "GOLD_LEAF"')
    spoil(folder / "species" / "plum_european.toml", 'gates = ["D24"]', 'gates = ["D25"]')
    wrongs = " ".join(fault.wrong for fault in faults_of(folder))

    assert "GOLD_LEAF" in wrongs
    assert "D25" in wrongs


def test_days_that_hang_on_each_other_are_refused(folder):
    spoil(
        folder / "species" / "peach.toml",
        'group = "peach_kind"',
        'group = "peach_kind"\n[calendar.any]\nfull_bloom = "petal_fall-9d"',
    )
    faults = faults_of(folder)

    assert any("hang on each other" in fault.wrong for fault in faults)


def test_file_that_is_no_toml_is_named_with_its_line(folder):
    (folder / "species" / "fig.toml").write_text("name = fig\n", encoding="utf-8")
    faults = faults_of(folder)

    assert faults[0].where == "species/fig.toml"
    assert "line 1" in faults[0].wrong


def test_name_that_two_species_claim_is_refused(folder):
    spoil(folder / "species" / "fig.toml", 'name = "figs"', 'name = "pear"')

    assert any("already names" in fault.wrong for fault in faults_of(folder))


@pytest.mark.parametrize(
    ("name", "species_id", "hides_a_choice"),
    [
        ("apple", "apple_spur", True),
        ("pear", "pear_european", True),
        ("plum", "plum_european", True),
        ("sweet_cherry", "cherry_sweet", False),
        ("cherry_sweet", "cherry_sweet", False),
        ("red_currant", "currant_red_white", False),
        ("Red Currant", "currant_red_white", False),
        ("greengage", "plum_european", False),
        ("kiwi", "kiwifruit", False),
        ("Ficus carica", "fig", False),
        ("lemon", "citrus", True),
        ("european_pear", "pear_european", False),
    ],
)
def test_plain_names_lead_to_the_species(name, species_id, hides_a_choice):
    found, note = resolve_species(name)

    assert (found, bool(note)) == (species_id, hides_a_choice)


def test_unknown_species_is_answered_with_the_known_ones():
    with pytest.raises(BadInput) as refusal:
        resolve_species("appel")

    assert "did you mean apple_spur" in refusal.value.faults[0].remedy
    assert "wisteria" in refusal.value.faults[0].remedy


def overlay(**changes):
    given = {"rule": "apple_spur/summer_prune", "key": "closes", "value": "later(shoot_ripe+21d, terminal_bud+21d)"}
    return Overlay(**{**given, "reason": "our valley is cold", "by": "A. Grower", "on": date(2026, 1, 5), **changes})


def test_house_rule_lies_over_ours_and_shows_the_original():
    changed = load_knowledge(overlays=[overlay()])
    row = next(row for row in rule_rows(changed) if row.rule == "apple_spur/summer_prune")

    assert str(changed.species["apple_spur"].task("summer_prune").closes).startswith("later(shoot_ripe+21d")
    assert row.original == (("closes", "later(shoot_ripe+35d, terminal_bud+35d)"),)
    assert "our valley is cold" in row.reason
    assert str(load_knowledge().species["apple_spur"].task("summer_prune").closes).startswith("later(shoot_ripe+35d")


def test_house_rule_of_a_group_reaches_all_its_species():
    changed = load_knowledge(overlays=[overlay(rule="stone/silver_leaf", key="to", value="month:05-15")])

    for species in ("plum_european", "peach", "cherry_sweet"):
        closure = next(c for c in changed.species[species].closed if c.id == "silver_leaf")
        assert str(closure.ends) == "month:05-15"


@pytest.mark.parametrize(
    ("changes", "wrong"),
    [
        ({"rule": "apple_spur/sumer_prune"}, "there is no rule"),
        ({"reason": " "}, "no reason"),
        ({"key": "source", "value": "me"}, "cannot be overlaid"),
        ({"value": "petal_fall"}, "falls before"),
        ({"value": "whenever"}, "not a stage"),
    ],
)
def test_house_rule_that_makes_no_sense_is_refused(changes, wrong):
    with pytest.raises(BadInput) as refusal:
        load_knowledge(overlays=[overlay(**changes)])

    assert any(wrong in fault.wrong for fault in refusal.value.faults)


def test_rules_are_found_by_any_word():
    rows = search_rules(load_knowledge(), "silver maritime")

    assert "stone/silver_leaf" in {row.rule for row in rows}
    assert {"plum_european", "peach"} <= set(next(row for row in rows if row.rule == "stone/silver_leaf").species)
    assert search_rules(load_knowledge(), "zebra") == ()


def test_rules_of_a_species_come_with_its_own_first():
    rows = rules_of_species(load_knowledge(), "fig")

    assert rows[0].rule.startswith("fig/")
    assert rows[-1].rule.startswith("all/")
    assert all(row.source for row in rows)
