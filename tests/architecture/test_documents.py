"""README and DEVELOPERS speak of every command, every setting and every script."""

from __future__ import annotations

import ast
import re

import pytest

from tests.architecture.project import ROOMS, ROOT, called_name, files, modules

READERS = {"text", "flag", "whole_number", "words", "secret", "database"}


def documents() -> str:
    return "\n".join((ROOT / name).read_text(encoding="utf-8") for name in ("README.md", "DEVELOPERS.md"))


def commands() -> list[str]:
    return sorted(
        path.stem
        for room in ROOMS
        for path in (ROOT / room / "management" / "commands").glob("*.py")
        if not path.stem.startswith("_")
    )


def settings_read() -> list[str]:
    """Names given to the readers of deploy/environment.py."""
    return sorted(
        {
            str(node.args[0].value)
            for name, tree in modules(("deploy",))
            for node in ast.walk(tree)
            if isinstance(node, ast.Call)
            and isinstance(node.func, ast.Attribute)
            and isinstance(node.func.value, ast.Name)
            and node.func.value.id == "environment"
            and called_name(node) in READERS
            and node.args
            and isinstance(node.args[0], ast.Constant)
        }
    )


@pytest.mark.parametrize("command", commands())
def test_every_command_is_spoken_of(command):
    assert re.search(rf"\b{command}\b", documents())


@pytest.mark.parametrize("name", settings_read())
def test_every_setting_is_spoken_of(name):
    assert re.search(rf"\b{name}\b", documents())


def test_every_script_of_the_house_is_spoken_of():
    scripts = [path.name for path in files() if path.parent == ROOT / "deploy" and not path.suffix]
    assert [name for name in scripts if f"deploy/{name}" not in documents()] == []


def test_decisions_named_in_code_exist():
    decided = set(re.findall(r"^### (D\d+) ", documents(), re.MULTILINE))
    named = {
        number
        for path in files()
        if path.suffix == ".py" and "tests" not in path.parts
        for number in re.findall(r"#.*\b(D\d{1,2})\b", path.read_text(encoding="utf-8"))
    }
    assert named <= decided
