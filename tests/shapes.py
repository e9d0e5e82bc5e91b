"""What the drawn signs and the colours of the pages are called, read from their files."""

from __future__ import annotations

import re
from pathlib import Path

STATIC = Path(__file__).resolve().parents[1] / "business" / "static" / "business"


def names_in_icons() -> set[str]:
    return set(re.findall(r'<symbol id="([^"]+)"', (STATIC / "icons.svg").read_text(encoding="utf-8")))


def colours() -> dict[str, str]:
    """Token → six hex digits, as style.css gives them."""
    text = (STATIC / "style.css").read_text(encoding="utf-8")
    found = dict(re.findall(r"--([a-z-]+): #([0-9a-f]{6}|[0-9a-f]{3});", text))
    return {name: value if len(value) == 6 else "".join(digit * 2 for digit in value) for name, value in found.items()}
