"""Look at a PDF with independent tools (poppler)."""

from __future__ import annotations

import subprocess
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Font:
    family: str
    is_embedded: bool


def text_of(content: bytes, folder: Path) -> str:
    """Everything written on its pages, laid out."""
    return _run("pdftotext", "-layout", _put(content, folder), "-")


def fonts_of(content: bytes, folder: Path) -> list[Font]:
    rows = _run("pdffonts", _put(content, folder)).splitlines()[2:]
    return [Font(family=row.split()[0].split("+")[-1], is_embedded=row.split()[-5] == "yes") for row in rows]


def is_sound(content: bytes, folder: Path) -> bool:
    """qpdf finds nothing to complain about."""
    return "No syntax or stream encoding errors" in _run("qpdf", "--check", _put(content, folder))


def attachment_of(content: bytes, name: str, folder: Path) -> bytes:
    """A file inside the PDF, taken out by poppler."""
    target = folder / "taken-out"
    _run("pdfdetach", "-savefile", name, "-o", str(target), _put(content, folder))
    return target.read_bytes()


def _put(content: bytes, folder: Path) -> str:
    path = folder / "paper.pdf"
    path.write_bytes(content)
    return str(path)


def _run(*command: str) -> str:
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout
