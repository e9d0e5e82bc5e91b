"""The files of the project, for tests that look at the project itself."""

from __future__ import annotations

import ast
import subprocess
from collections.abc import Iterator
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
ROOMS = ("business", "gardens", "scheduling", "deploy")
SKIPPED = {".git", ".venv", "var", "__pycache__", ".mypy_cache", ".ruff_cache", ".pytest_cache", ".hypothesis"}


@cache
def files() -> tuple[Path, ...]:
    """Every file that belongs to the project: what git keeps or would keep, else everything outside the caches."""
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"],
        cwd=ROOT,
        capture_output=True,
        check=False,
    )
    if listed.returncode == 0:
        found = [ROOT / name for name in listed.stdout.decode().split("\0") if name]
    else:
        found = [path for path in ROOT.rglob("*") if not SKIPPED & set(path.relative_to(ROOT).parts)]
    return tuple(sorted(path for path in found if path.is_file()))


def texts(*endings: str, below: tuple[str, ...] = ()) -> Iterator[tuple[str, str]]:
    """(name, text) of the files with these endings (all that are text without any), in these top folders."""
    for path in files():
        name = path.relative_to(ROOT).as_posix()
        if (endings and not name.endswith(endings)) or (below and not name.startswith(tuple(f"{f}/" for f in below))):
            continue
        try:
            yield name, path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue


def modules(below: tuple[str, ...] = ROOMS) -> Iterator[tuple[str, ast.Module]]:
    for name, text in texts(".py", below=below):
        yield name, ast.parse(text)


def called_name(call: ast.Call) -> str:
    """``later`` in ``later(…)`` and in ``jobs.later(…)``."""
    function = call.func
    return function.attr if isinstance(function, ast.Attribute) else getattr(function, "id", "")
