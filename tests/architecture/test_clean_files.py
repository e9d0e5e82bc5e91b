"""Nothing of the machine it was written on, no download address, no leftovers."""

from __future__ import annotations

import hashlib
import re

import pytest

from tests.architecture.project import ROOT, files, texts

# Written in halves so that this file does not find itself.
HOSTS = [
    "pypi" + ".org",
    "python" + "hosted",
    "npm" + "js.org",
    "registry" + ".npm",
    "crates" + ".io",
    "deb" + ".debian.org",
    "proxy.golang" + ".org",
]
MACHINE_PATHS = re.compile(r"(?<![\w.])/(?:wo" + r"rk|ro" + r"ot|ho" + r"me/\w+|Us" + r"ers/\w+)/")
LEFTOVERS = re.compile(r"\b(TO" + r"DO|FIX" + r"ME)\b")
TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "manage.py",
    "pyproject.toml",
    "business",
    "gardens",
    "scheduling",
    "tests",
    "deploy",
}


@pytest.mark.parametrize("host", HOSTS)
def test_no_file_names_a_package_host(host):
    assert [name for name, text in texts() if host in text] == []


def test_no_file_names_a_path_of_one_machine():
    faults = [
        f"{name}:{text[: match.start()].count(chr(10)) + 1}"
        for name, text in texts()
        for match in MACHINE_PATHS.finditer(text)
    ]
    assert faults == []


def test_no_leftover_marks_stand_in_the_code():
    faults = [f"{name}: {match.group()}" for name, text in texts(".py", ".html") for match in LEFTOVERS.finditer(text)]
    assert faults == []


def test_lock_files_hold_hashes_and_no_address():
    for name, text in texts(".txt", below=("deploy",)):
        assert "://" not in text, name
        for block in re.split(r"\n(?=\S)", text):
            if re.match(r"^[a-z0-9]", block, re.IGNORECASE):
                assert "--hash=sha256:" in block, f"{name}: {block.splitlines()[0]}"


def test_the_top_level_is_the_one_of_the_design():
    top = {path.relative_to(ROOT).parts[0] for path in files()}
    assert {name for name in top if not name.startswith(".")} <= TOP_LEVEL


def test_vendored_files_are_the_ones_that_were_checked():
    lists = [(ROOT / name, text) for name, text in texts("VENDORED.md")]
    assert lists, "the type of the pages is vendored"
    for path, text in lists:
        sums = re.findall(r"^\| (\S+) \| ([0-9a-f]{64}) \|$", text, re.MULTILINE)
        assert sums, path
        for name, expected in sums:
            assert hashlib.sha256((path.parent / name).read_bytes()).hexdigest() == expected, name


def test_no_module_is_a_drawer_for_everything():
    assert [name for name, _ in texts(".py") if re.search(r"(^|/)(utils?|helpers?|misc|common)\.py$", name)] == []
