"""Which diseases hold at a tree: what was written of them, and how long the rules let it count."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from gardens.climate.seasons import season_year
from gardens.knowledge.ground_schema import Disease


@dataclass(frozen=True, kw_only=True)
class DiseaseNote:
    """What was written of a disease on a day; ``is_clear`` where it was looked for and not found."""

    on: date
    text: str
    is_clear: bool = False


def diseases_holding(
    at_tree: Iterable[DiseaseNote],
    diseases: Mapping[str, Disease],
    season: int,
    *,
    is_southern: bool,
    in_garden: Iterable[DiseaseNote] = (),
) -> frozenset[str]:
    """The diseases that change what may be cut at a tree in a season.

    The last note that names a disease decides. A disease of the garden is looked for among ``in_garden`` too, where a
    clear tree does not clear its neighbours. Notes of later seasons do not count.

    Args:
        at_tree: notes on the tree itself.
        diseases: `Knowledge.diseases`.
        season: the tree-year asked about.
        is_southern: which half of the world.
        in_garden: notes on every tree of the garden.
    """
    own, others = list(at_tree), list(in_garden)

    def holds(name: str, disease: Disease) -> bool:
        if disease.at == "site":
            seen = [note for note in (*own, *others) if _names(note, name, diseases) and not note.is_clear]
        else:
            last = max((note for note in own if _names(note, name, diseases)), key=lambda note: note.on, default=None)
            seen = [last] if last is not None and not last.is_clear else []
        seasons = [season_year(note.on, is_southern=is_southern) for note in seen]
        return any(
            year <= season and (disease.holds_seasons is None or season - year <= disease.holds_seasons)
            for year in seasons
        )

    return frozenset(name for name, disease in diseases.items() if holds(name, disease))


def _names(note: DiseaseNote, name: str, diseases: Mapping[str, Disease]) -> bool:
    """Whether a note speaks of a disease: of all that it could mean, that with the longest word in it."""
    return name == disease_named(note.text, diseases)


def disease_named(text: str, diseases: Mapping[str, Disease]) -> str:
    """The id of the disease a text names, "" for none we know: "bacterial canker, low on the stem" is not "canker"."""
    plain = " ".join(text.replace("_", " ").casefold().split())
    found = [
        (len(word), name)
        for name, disease in diseases.items()
        for word in (*disease.words, name.replace("_", " "))
        if word in plain
    ]
    return max(found)[1] if found else ""
