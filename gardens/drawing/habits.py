"""What a species looks like from three steps away: its leaves, where it carries side wood, its fruit.

Botany at the level of a silhouette, from common floras; sizes are those of a trained tree in a garden [mm].
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

LeafShape = Literal["ovate", "lance", "lobed", "fig", "heart", "threefold", "three_lobed"]
SideWood = Literal["spurs", "shoots", "vine", "canes"]
FruitShape = Literal["round", "pear", "small", "bunch", "none"]


@dataclass(frozen=True, slots=True)
class Habit:
    """How a species shows itself.

    ``side_wood``: short spurs on older wood, slender one-year shoots, the two-bud spurs and yearly shoots of a vine,
    or bare canes. ``spacing_mm`` is the distance between pieces of side wood along a limb, ``shoot_mm`` their length.
    """

    leaf: LeafShape
    leaf_mm: int
    side_wood: SideWood
    spacing_mm: int
    shoot_mm: int
    fruit: FruitShape
    fruit_mm: int
    is_grafted: bool = True


APPLE = Habit("ovate", 85, "spurs", 100, 75, "round", 72)
PEAR = Habit("ovate", 75, "spurs", 92, 75, "pear", 72)
QUINCE = Habit("ovate", 90, "spurs", 125, 90, "pear", 85)
PLUM = Habit("ovate", 70, "spurs", 105, 85, "small", 42)
CHERRY = Habit("ovate", 100, "spurs", 120, 65, "small", 26)
SOUR_CHERRY = Habit("ovate", 75, "shoots", 120, 260, "small", 24)
PEACH = Habit("lance", 130, "shoots", 125, 300, "round", 68)
APRICOT = Habit("heart", 75, "spurs", 120, 110, "small", 45)
VINE = Habit("lobed", 130, "vine", 150, 620, "bunch", 120, is_grafted=False)
KIWI = Habit("heart", 140, "vine", 240, 480, "small", 52, is_grafted=False)
FIG = Habit("fig", 190, "shoots", 300, 260, "pear", 50, is_grafted=False)
CURRANT = Habit("three_lobed", 60, "spurs", 90, 60, "bunch", 55, is_grafted=False)
BRAMBLE = Habit("threefold", 100, "canes", 160, 150, "small", 22, is_grafted=False)
OLIVE = Habit("lance", 60, "shoots", 140, 240, "small", 22)
CITRUS = Habit("ovate", 85, "shoots", 160, 170, "round", 75)
MULBERRY = Habit("heart", 120, "spurs", 170, 90, "small", 24)
POMEGRANATE = Habit("lance", 60, "shoots", 150, 150, "round", 80, is_grafted=False)
PERSIMMON = Habit("ovate", 130, "shoots", 200, 200, "round", 68)

HABITS: dict[str, Habit] = {
    "apple": APPLE,
    "pear": PEAR,
    "quince": QUINCE,
    "medlar": QUINCE,
    "peach": PEACH,
    "nectarine": PEACH,
    "almond": PEACH,
    "apricot": APRICOT,
    "plum": PLUM,
    "gage": PLUM,
    "damson": PLUM,
    "cherry_sour": SOUR_CHERRY,
    "cherry": CHERRY,
    "fig": FIG,
    "grape": VINE,
    "vine": VINE,
    "kiwi": KIWI,
    "persimmon": PERSIMMON,
    "pomegranate": POMEGRANATE,
    "mulberry": MULBERRY,
    "citrus": CITRUS,
    "lemon": CITRUS,
    "olive": OLIVE,
    "currant": CURRANT,
    "gooseberry": CURRANT,
    "raspberry": BRAMBLE,
    "blackberry": BRAMBLE,
}


def habit_of(species: str, form: str = "") -> Habit:
    """The habit of a species id; of its genus where the id says more; of an apple (a vine on a vine's form) else."""
    if species in HABITS:
        return HABITS[species]
    for stem, habit in HABITS.items():
        if stem in species:
            return habit
    return VINE if form.startswith("vine_") else APPLE
