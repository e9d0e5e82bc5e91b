"""The side wood of a tree out of its records: which laterals, shoots and canes live, how old they are, what they bore.

Side wood is named after the limb it grows from: ``lateral:rib:1:left:3`` is the third lateral of a rib,
``shoot:lateral:rib:1:left:3`` the replacement shoot at its base, ``cane:4`` a cane of a berry or vine.

The age of wood in a season is that season less the one it grew in: 0 for this season's shoot, 1 for last season's.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

from gardens.climate.seasons import season_year
from gardens.knowledge.when import Frame, month_day
from gardens.pruning.diseases import DiseaseNote
from gardens.training.state import Record

SIDE_WOOD = ("lateral:", "shoot:", "cane:", "spur:")
TAKEN_OUT_BY = frozenset({"renew_wood", "clean_out"})
GROWTH_FROM, GROWTH_UNTIL = (4, 1), (10, 31)
"""Northern days between which a new shoot is one of the running season. Source: common practice."""


@dataclass(frozen=True, kw_only=True)
class SideShoot:
    """One piece of side wood that lives. ``length_mm`` is the last one measured."""

    key: str
    parent: str
    born: int
    fruited: tuple[int, ...] = ()
    length_mm: int | None = None

    def age(self, season: int) -> int:
        """Seasons since it grew: 0 is this season's shoot."""
        return season - self.born

    def has_fruited(self, season: int) -> bool:
        """Whether fruit was counted on it in a season."""
        return season in self.fruited


@dataclass(frozen=True, kw_only=True)
class SideWood:
    """What the records tell of a tree besides its frame.

    ``spur_counts`` are the last count of spur systems by limb with its day, ``prunings_kg`` the winter prunings weighed
    by season, ``dead_buds_percent`` the last count of dead buds, ``disease_notes`` what was written of diseases,
    ``fruit_counts`` the last count of the season's fruit by limb.
    """

    shoots: tuple[SideShoot, ...] = ()
    spur_counts: tuple[tuple[str, int, date], ...] = ()
    prunings_kg: tuple[tuple[int, float], ...] = ()
    dead_buds_percent: float | None = None
    disease_notes: tuple[DiseaseNote, ...] = ()
    fruit_counts: tuple[tuple[int, str, int], ...] = ()

    def replacements_of(self, key: str, season: int) -> tuple[SideShoot, ...]:
        """Shoots of this season that grow from a lateral, the longest first."""
        own = [shoot for shoot in self.shoots if shoot.parent == key and shoot.age(season) == 0]
        return tuple(sorted(own, key=lambda shoot: -(shoot.length_mm or 0)))


@dataclass
class _Piece:
    born: int
    fruited: set[int] = field(default_factory=set)
    length_mm: int | None = None
    is_gone: bool = False


def side_wood(records: Iterable[Record], *, on: date, is_southern: bool) -> SideWood:
    """Fold the records up to a day.

    Read are, on limbs of side wood: any first record (its season is that of the shoot's growth; one made in the
    dormant months tells of last summer's), ``text`` "born:2024" where the season is known better, measured
    ``limb_length``, seen ``fruit_count`` above 0, seen ``lost``, done ``renew_wood`` and ``clean_out``. On the tree or
    its limbs: seen ``spur_count``, ``fruit_count``, ``disease`` (its name in ``text``;
    a value of 0: looked for, none found), a ``note`` with the text
    "dead_buds_percent", and done ``winter_prune`` with the weight of the prunings as its value. [kg]
    """
    pieces: dict[str, _Piece] = {}
    spurs: dict[str, tuple[int, date]] = {}
    fruit: dict[tuple[int, str], int] = {}
    prunings: dict[int, float] = {}
    diseases: list[DiseaseNote] = []
    dead_buds: float | None = None
    for record in sorted(records, key=lambda record: (record.on, record.key)):
        if record.on > on:
            break
        season = season_year(record.on, is_southern=is_southern)
        if record.limb.startswith(SIDE_WOOD):
            _add_to_piece(pieces, record, season, is_southern)
        value = record.value
        if record.kind == "seen" and record.what == "spur_count" and value is not None:
            spurs[record.limb] = (round(value), record.on)
        elif record.kind == "seen" and record.what == "fruit_count" and value is not None:
            fruit[season, record.limb] = round(value)
        elif record.kind == "seen" and record.what == "disease":
            diseases.append(DiseaseNote(on=record.on, text=record.text, is_clear=value == 0))
        elif record.kind == "seen" and record.text == "dead_buds_percent":
            dead_buds = value
        elif record.kind == "done" and record.what == "winter_prune" and value is not None:
            prunings[season] = prunings.get(season, 0.0) + value
    return SideWood(
        shoots=_living(pieces),
        spur_counts=tuple((limb, count, day) for limb, (count, day) in spurs.items()),
        prunings_kg=tuple(sorted(prunings.items())),
        dead_buds_percent=dead_buds,
        disease_notes=tuple(diseases),
        fruit_counts=tuple((season, limb, count) for (season, limb), count in fruit.items()),
    )


def _add_to_piece(pieces: dict[str, _Piece], record: Record, season: int, is_southern: bool) -> None:
    born = _season_of_growth(record.on, season, is_southern)
    piece = pieces.get(record.limb)
    if piece is None or (piece.is_gone and born > piece.born):
        piece = pieces[record.limb] = _Piece(born)
    if record.text.startswith("born:") and record.text[5:].isdigit():
        piece.born = int(record.text[5:])
    if record.kind == "measured" and record.what == "limb_length" and record.value is not None:
        piece.length_mm = round(record.value)
    elif record.kind == "seen" and record.what == "fruit_count" and record.value:
        piece.fruited.add(season)
    elif (record.kind == "done" and record.what in TAKEN_OUT_BY) or (record.kind == "seen" and record.what == "lost"):
        piece.is_gone = True


def _season_of_growth(on: date, season: int, is_southern: bool) -> int:
    frame = Frame(season, is_southern)
    is_growing = month_day(frame, *GROWTH_FROM) <= on <= month_day(frame, *GROWTH_UNTIL)
    return season if is_growing else season - 1


def _living(pieces: dict[str, _Piece]) -> tuple[SideShoot, ...]:
    return tuple(
        SideShoot(
            key=key,
            parent=_parent(key, pieces),
            born=piece.born,
            fruited=tuple(sorted(piece.fruited)),
            length_mm=piece.length_mm,
        )
        for key, piece in pieces.items()
        if not piece.is_gone
    )


def _parent(key: str, pieces: dict[str, _Piece]) -> str:
    """The limb a piece grows from: a recorded piece of which it is named, else its name without kind and number."""
    _, _, rest = key.partition(":")
    if rest in pieces:
        return rest
    head, _, last = rest.rpartition(":")
    if head in pieces:
        return head
    return head if last.isdigit() and head else rest
