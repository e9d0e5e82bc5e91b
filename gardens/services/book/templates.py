"""The columns of the five files, and empty files with an example row to start from."""

from __future__ import annotations

import csv
from pathlib import Path

from business.errors import BadInput, Fault

EXAMPLES: dict[str, dict[str, str]] = {
    "clients.csv": {
        "code": "ashdown",
        "name": "Rosa Ashdown",
        "greeting": "Dear Mrs Ashdown",
        "kind": "person",
        "address": "Ashdown House\\nMill Lane\\nLower Marrow",
        "country": "GB",
        "email": "rosa.ashdown@example.com",
        "phone": "01632 960101",
        "units": "metric",
        "note": "",
    },
    "sites.csv": {
        "code": "ashdown-house",
        "client": "ashdown",
        "name": "Ashdown House",
        "address": "Mill Lane\\nLower Marrow",
        "latitude": "51.02",
        "longitude": "-2.74",
        "elevation": "35",
        "time_zone": "Europe/London",
        "climate_profile": "maritime",
        "station": "",
        "access_notes": "Side gate, code with the office. Water at the back door.",
        "hazards": "Glass frames along the south wall.",
        "phone": "01632 960101",
        "access_days": "mo-fr",
        "access_from": "08:00",
        "access_until": "17:00",
    },
    "supports.csv": {
        "site": "ashdown-house",
        "code": "south-wall",
        "name": "South wall",
        "kind": "wall",
        "length": "12 m",
        "height": "2.2 m",
        "wires": "45 cm; 85 cm; 125 cm",
        "wire_diameter_mm": "2.5",
        "faces": "S",
        "gap": "15 cm",
        "post_spacing": "",
        "walk_order": "1",
        "note": "",
    },
    "trees.csv": {
        "site": "ashdown-house",
        "support": "south-wall",
        "code": "pear-1",
        "label": "Pear by the door",
        "species": "pear_european",
        "cultivar": "Conference",
        "rootstock": "",
        "form": "horizontal_tiers",
        "tiers": "3",
        "position": "2 m",
        "run_left": "1.8 m",
        "run_right": "1.8 m",
        "planted": "2022-11-20",
        "start": "whip",
        "tiers_at_start": "0",
        "note": "",
    },
    "records.csv": {
        "site": "ashdown-house",
        "tree": "pear-1",
        "support": "",
        "date": "2024-01-18",
        "kind": "measured",
        "what": "leader_height",
        "limb": "leader",
        "value": "98 cm",
        "text": "",
    },
}

COLUMNS: dict[str, tuple[str, ...]] = {file: tuple(example) for file, example in EXAMPLES.items()}

REQUIRED: dict[str, tuple[str, ...]] = {
    "clients.csv": ("code", "name"),
    "sites.csv": ("code", "client", "name", "latitude", "longitude"),
    "supports.csv": ("site", "code", "kind", "length", "height"),
    "trees.csv": ("site", "support", "code", "species", "form", "position", "planted"),
    "records.csv": ("site", "date", "kind", "what"),
}


def write_templates(folder: Path) -> list[Path]:
    """Write the five files, each with its header and one example row.

    Raises:
        BadInput: a file of that name is there already; nothing was written.
    """
    paths = [folder / file for file in EXAMPLES]
    if there := [path for path in paths if path.exists()]:
        raise BadInput([Fault(str(path), "is there already", "choose an empty folder") for path in there])
    folder.mkdir(parents=True, exist_ok=True)
    for path in paths:
        example = EXAMPLES[path.name]
        with path.open("w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, fieldnames=list(example))
            writer.writeheader()
            writer.writerow(example)
    return paths
