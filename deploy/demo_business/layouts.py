"""What stands in the invented gardens: recipes of a support with its trees."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from random import Random


@dataclass(frozen=True, kw_only=True)
class Kind:
    """A kind of tree as a recipe plants it. ``run_mm`` is the room it takes on each side of its trunk."""

    species: str
    form: str
    rootstocks: tuple[str, ...]
    cultivars: tuple[str, ...]
    word: str
    run_mm: int
    tiers: int = 0


@dataclass(frozen=True, kw_only=True)
class Recipe:
    """One support and the kinds planted on it, in turn. ``faces`` are bearings to choose from."""

    support: str
    name: str
    faces: tuple[str, ...]
    height_mm: int
    wires_mm: tuple[int, ...]
    kinds: tuple[Kind, ...]
    count: tuple[int, int]


APPLES = ("Ashmead's Kernel", "Egremont Russet", "Discovery", "Sunset", "Kidd's Orange Red", "Ellison's Orange")
PEARS = ("Conference", "Doyenné du Comice", "Concorde", "Beth", "Williams' Bon Chrétien")
APPLE_TIERS = Kind(
    species="apple_spur",
    form="horizontal_tiers",
    rootstocks=("mm106", "m26"),
    cultivars=APPLES,
    word="Apple",
    run_mm=1900,
    tiers=3,
)
PEAR_TIERS = Kind(
    species="pear_european",
    form="horizontal_tiers",
    rootstocks=("quince_a",),
    cultivars=PEARS,
    word="Pear",
    run_mm=2000,
    tiers=4,
)
STEP_OVER = Kind(
    species="apple_spur", form="step_over", rootstocks=("m27", "m9"), cultivars=APPLES, word="Step-over", run_mm=1400
)
CORDON = Kind(
    species="apple_spur",
    form="oblique_cordon",
    rootstocks=("m26", "m9"),
    cultivars=APPLES,
    word="Cordon",
    run_mm=375,
)
PEAR_CORDON = Kind(
    species="pear_european",
    form="oblique_cordon",
    rootstocks=("quince_c",),
    cultivars=PEARS,
    word="Pear cordon",
    run_mm=375,
)
PEAR_U = Kind(
    species="pear_european", form="u_form", rootstocks=("quince_c",), cultivars=PEARS, word="U pear", run_mm=400
)
PEACH = Kind(
    species="peach",
    form="fan",
    rootstocks=("st_julien_a",),
    cultivars=("Peregrine", "Rochester", "Redhaven"),
    word="Peach",
    run_mm=1900,
)
APRICOT = Kind(
    species="apricot",
    form="fan",
    rootstocks=("st_julien_a",),
    cultivars=("Moorpark", "Goldcot"),
    word="Apricot",
    run_mm=2000,
)
PLUM = Kind(
    species="plum_european",
    form="fan",
    rootstocks=("st_julien_a", "pixy"),
    cultivars=("Victoria", "Oullins Gage", "Czar", "Cambridge Gage"),
    word="Plum",
    run_mm=2000,
)
CHERRY = Kind(
    species="cherry_sweet",
    form="fan",
    rootstocks=("gisela_5", "colt"),
    cultivars=("Stella", "Sunburst", "Lapins"),
    word="Cherry",
    run_mm=2100,
)
MORELLO = Kind(
    species="cherry_sour", form="fan", rootstocks=("colt",), cultivars=("Morello",), word="Morello", run_mm=2000
)
FIG = Kind(
    species="fig", form="fan", rootstocks=("",), cultivars=("Brown Turkey", "Brunswick"), word="Fig", run_mm=2000
)
VINE = Kind(
    species="grape",
    form="vine_rod_and_spur",
    rootstocks=("",),
    cultivars=("Black Hamburgh", "Madeleine Angevine", "Phoenix"),
    word="Vine",
    run_mm=1200,
)
CURRANT = Kind(
    species="currant_red_white",
    form="upright_cordon",
    rootstocks=("",),
    cultivars=("Red Lake", "White Versailles"),
    word="Currant",
    run_mm=200,
)
GOOSEBERRY = Kind(
    species="gooseberry",
    form="upright_cordon",
    rootstocks=("",),
    cultivars=("Invicta", "Careless"),
    word="Gooseberry",
    run_mm=200,
)

FAN_WIRES = tuple(range(380, 2100, 225))
RECIPES: tuple[Recipe, ...] = (
    Recipe(
        support="wall",
        name="South wall",
        faces=("S", "SSE", "SSW"),
        height_mm=2600,
        wires_mm=FAN_WIRES,
        kinds=(PEACH, APRICOT, FIG),
        count=(2, 3),
    ),
    Recipe(
        support="post_and_wire",
        name="Apple row",
        faces=("S", "W", "E"),
        height_mm=1900,
        wires_mm=(450, 900, 1350),
        kinds=(APPLE_TIERS,),
        count=(3, 5),
    ),
    Recipe(
        support="wall",
        name="West wall",
        faces=("W", "SW"),
        height_mm=2400,
        wires_mm=(450, 850, 1250, 1650),
        kinds=(PEAR_TIERS,),
        count=(2, 4),
    ),
    Recipe(
        support="post_and_wire",
        name="Cordon run",
        faces=("S", "SE"),
        height_mm=2000,
        wires_mm=(600, 1200, 1800),
        kinds=(CORDON, CORDON, PEAR_CORDON),
        count=(7, 12),
    ),
    Recipe(
        support="post_and_wire",
        name="Path edge",
        faces=("S", "E", "W"),
        height_mm=600,
        wires_mm=(450,),
        kinds=(STEP_OVER,),
        count=(3, 6),
    ),
    Recipe(
        support="fence",
        name="East fence",
        faces=("E", "W"),
        height_mm=2100,
        wires_mm=FAN_WIRES,
        kinds=(PLUM, CHERRY, PLUM),
        count=(2, 3),
    ),
    Recipe(
        support="wall",
        name="Vine wall",
        faces=("S", "SW"),
        height_mm=2500,
        wires_mm=(600, 900, 1200, 1500, 1800, 2100),
        kinds=(VINE,),
        count=(2, 3),
    ),
    Recipe(
        support="fence",
        name="North fence",
        faces=("N", "NE"),
        height_mm=1900,
        wires_mm=(600, 1200, 1700),
        kinds=(CURRANT, GOOSEBERRY),
        count=(5, 8),
    ),
    Recipe(
        support="wall",
        name="Stable wall",
        faces=("SE", "S"),
        height_mm=2500,
        wires_mm=(300, 900, 1500, 2100),
        kinds=(PEAR_U,),
        count=(3, 5),
    ),
    Recipe(
        support="wall",
        name="North wall",
        faces=("N", "NW"),
        height_mm=2400,
        wires_mm=FAN_WIRES,
        kinds=(MORELLO,),
        count=(2, 2),
    ),
)

GARDENS: tuple[tuple[int, ...], ...] = (
    (0, 1), (2, 4), (3,), (5, 6), (1, 2), (0, 3), (4, 7), (8, 5), (2, 9), (1, 4, 6), (0,), (3, 7),
)  # fmt: skip
"""Which recipes make a garden, in turn."""

STARTS = ("whip", "whip", "whip", "feathered", "ready_trained", "whip")


def garden_rows(
    site: str, index: int, *, as_of: date, random: Random
) -> tuple[list[dict[str, str]], list[dict[str, str]]]:
    """The rows of supports.csv and trees.csv of one garden."""
    supports, trees = [], []
    for walk_order, recipe_number in enumerate(GARDENS[index % len(GARDENS)], start=1):
        recipe = RECIPES[recipe_number]
        code = recipe.name.lower().replace(" ", "-")
        count = random.randint(*recipe.count)
        kinds = [recipe.kinds[number % len(recipe.kinds)] for number in range(count)]
        positions, length = _positions(kinds)
        supports.append(
            {
                "site": site,
                "code": code,
                "name": recipe.name,
                "kind": recipe.support,
                "length": f"{length} mm",
                "height": f"{recipe.height_mm} mm",
                "wires": "; ".join(f"{height} mm" for height in recipe.wires_mm),
                "wire_diameter_mm": "2.5",
                "faces": random.choice(recipe.faces),
                "gap": "0 cm" if recipe.support == "post_and_wire" else "15 cm",
                "post_spacing": "3 m" if recipe.support == "post_and_wire" else "",
                "walk_order": str(walk_order),
                "note": "",
            }
        )
        trees += _tree_rows(site, code, list(zip(kinds, positions, strict=True)), as_of=as_of, random=random)
    return supports, trees


def _positions(kinds: Sequence[Kind]) -> tuple[list[int], int]:
    positions, edge = [], 100
    for kind in kinds:
        positions.append(edge + kind.run_mm)
        edge += 2 * kind.run_mm
    return positions, edge + 100


def _tree_rows(
    site: str, support: str, stands: Sequence[tuple[Kind, int]], *, as_of: date, random: Random
) -> list[dict[str, str]]:
    rows = []
    # A row is mostly planted in one winter; now and then one tree was replaced later.
    age_of_row = random.choice((1, 2, 2, 3, 3, 4, 5, 6, 7, 8, 9, 11))
    for number, (kind, position) in enumerate(stands, start=1):
        age = age_of_row if random.random() < 0.85 else max(1, age_of_row - random.randint(1, 3))
        winter = as_of.year - age + (0 if as_of.month >= 11 else -1)
        planted = date(winter, 11, 1).toordinal() + random.randrange(10, 110)
        planted_on = min(date.fromordinal(planted), as_of)
        start = random.choice(STARTS) if kind.form == "horizontal_tiers" else "whip"
        rows.append(
            {
                "site": site,
                "support": support,
                "code": f"{support}-{number}",
                "label": f"{kind.word} {number}, {support.replace('-', ' ')}",
                "species": kind.species,
                "cultivar": random.choice(kind.cultivars),
                "rootstock": random.choice(kind.rootstocks),
                "form": kind.form,
                "tiers": str(kind.tiers or ""),
                "position": f"{position} mm",
                "run_left": f"{kind.run_mm} mm",
                "run_right": f"{kind.run_mm} mm",
                "planted": planted_on.isoformat(),
                "start": start,
                "tiers_at_start": str(random.choice((1, 2)) if start == "ready_trained" else 0),
                "note": "",
            }
        )
    return rows
