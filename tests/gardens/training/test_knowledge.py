"""The records of forms, rootstocks and training rules are checked whole when they are read."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from business.errors import BadInput
from gardens.knowledge import form_schema as knowledge
from gardens.training.state import FORMS, WORK_KINDS

RULES = Path(knowledge.__file__).parent


def test_every_rule_names_a_known_kind_and_its_source():
    rules = [*knowledge.shared_rules().values(), *(rule for form in knowledge.forms().values() for rule in form.rules)]
    for rule in rules:
        assert rule.kind in WORK_KINDS, rule.id
        assert rule.why.endswith("."), rule.id
        assert rule.source, rule.id


def test_every_rule_that_code_asks_for_exists():
    asked = set()
    for path in (RULES.parent / "training").glob("*_acts.py"):
        asked |= set(re.findall(r'(?:view\.step\(\s*|return )"([a-z_]+)"', path.read_text()))
    known = set(knowledge.shared_rules()) | {rule.id for form in knowledge.forms().values() for rule in form.rules}
    assert asked - known - {"dormant", "spring", "any"} == set()
    assert len(asked) > 30


def test_unknown_key_and_missing_source_are_both_reported(tmp_path: Path):
    good = (RULES / "forms" / "u_form.toml").read_text()
    bad = good.replace('name = "U form"', 'nmae = "U form"').replace(', source = "GA-U" }', " }")
    (tmp_path / "forms").mkdir()
    (tmp_path / "forms" / "u_form.toml").write_text(bad)
    (tmp_path / "form_sources.toml").write_text((RULES / "form_sources.toml").read_text())
    with pytest.raises(BadInput) as refusal:
        knowledge.read_forms(tmp_path)
    faults = " ".join(str(fault) for fault in refusal.value.faults)
    assert "forms/u_form.toml" in faults
    assert "nmae" in faults
    assert "source" in faults
    assert len(refusal.value.faults) >= 3


def test_unknown_source_is_reported_with_its_place(tmp_path: Path):
    good = (RULES / "forms" / "u_form.toml").read_text()
    (tmp_path / "forms").mkdir()
    (tmp_path / "forms" / "u_form.toml").write_text(good.replace('source = "CHAT" }', 'source = "HEARSAY" }'))
    (tmp_path / "form_sources.toml").write_text((RULES / "form_sources.toml").read_text())
    with pytest.raises(BadInput, match="HEARSAY"):
        knowledge.read_forms(tmp_path)


def test_sources_are_spelled_out_for_readers():
    rule = knowledge.form("horizontal_tiers").rule("head")
    assert "Training an espalier tree" in rule.source
    assert "YGI" not in rule.source


def test_forms_may_be_replaced_by_a_business():
    own = knowledge.form("horizontal_tiers").with_numbers({"heading_margin_mm": 0})
    assert own.number("heading_margin_mm") == 0
    assert knowledge.form("horizontal_tiers").number("heading_margin_mm") == 50
    assert set(knowledge.forms()) == set(FORMS)
