"""The knowledge of the trade, loaded once and checked whole."""

from __future__ import annotations

import difflib
import functools
import tomllib
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeVar

from pydantic import BaseModel

from business.errors import BadInput, Fault
from gardens.knowledge.build import build_species, faults_of_species
from gardens.knowledge.files import check, check_all, read_tables
from gardens.knowledge.ground_schema import (
    Code,
    CodeFile,
    Disease,
    DiseaseFile,
    Factor,
    Gate,
    GateFile,
    HazardFile,
    LabourFile,
    SourceEntry,
    SourceFile,
    Standard,
)
from gardens.knowledge.overlay import Overlaid, Overlay, Tables, lay_over
from gardens.knowledge.schema import GroupFile, Species, SpeciesFile

FOLDER = Path(__file__).resolve().parent
Ground = TypeVar("Ground", bound=BaseModel)


@dataclass(frozen=True, kw_only=True)
class Knowledge:
    """Every rule of the trade that hangs on a species, and the tables beside them."""

    species: Mapping[str, Species]
    aliases: Mapping[str, tuple[str, str]]
    """Name in lower case → (species id, note on the choice the name hides)."""
    gates: Mapping[str, Gate]
    codes: Mapping[str, Code]
    sources: Mapping[str, SourceEntry]
    standards: tuple[Standard, ...]
    factors: Mapping[str, Factor]
    hazards: HazardFile
    diseases: Mapping[str, Disease] = field(default_factory=dict)
    overlaid: tuple[Overlaid, ...] = ()

    def resolve(self, name: str) -> tuple[str, str]:
        """The id of a species named in any known way, and a note where the name hides a choice.

        Raises:
            BadInput: listing what is known.
        """
        plain = " ".join(name.replace("_", " ").replace("-", " ").casefold().split())
        if plain in self.aliases:
            return self.aliases[plain]
        known = ", ".join(self.species)
        close = difflib.get_close_matches(plain, self.aliases, n=1)
        hint = f"did you mean {self.aliases[close[0]][0]}? " if close else ""
        raise BadInput([Fault("species", f"{name!r} is not a species we know", f"{hint}known are {known}")])

    def cite(self, sources: Iterable[str]) -> str:
        """Several sources in one line, each once."""
        return "; ".join(dict.fromkeys(sources))


def load_knowledge(folder: Path | None = None, *, overlays: Iterable[Overlay] = ()) -> Knowledge:
    """All rules, checked. The default folder without overlays is read once.

    Args:
        folder: a folder with species/, groups/, labour/ and sources.toml, codes.toml, gates.toml, diseases.toml,
            hazards.toml.
        overlays: a business's own rules.

    Raises:
        BadInput: with every fault of every file.
    """
    overlays = tuple(overlays)
    if folder is None and not overlays:
        return _default_knowledge()
    return _load(folder or FOLDER, overlays)


@functools.cache
def _default_knowledge() -> Knowledge:
    return _load(FOLDER, ())


def resolve_species(name: str, knowledge: Knowledge | None = None) -> tuple[str, str]:
    """The id of a species named in any known way, and a note where the name hides a choice ("" if none).

    Raises:
        BadInput: listing what is known.
    """
    return (knowledge or load_knowledge()).resolve(name)


def _load(folder: Path, overlays: tuple[Overlay, ...]) -> Knowledge:
    sources = _ground(SourceFile, folder, "sources").source
    context = {"sources": sources}
    codes = _ground(CodeFile, folder, "codes", context).code
    gates = _ground(GateFile, folder, "gates", context).gate
    diseases = _ground(DiseaseFile, folder, "diseases", context).disease
    hazards = _ground(HazardFile, folder, "hazards", context)
    labour = check_all(LabourFile, read_tables(folder / "labour"), folder="labour", context=context)
    standards = tuple(standard for file in labour.values() for standard in file.standard)
    factors = {factor.id: factor for file in labour.values() for factor in file.factor}
    tables: Tables = {"groups": read_tables(folder / "groups"), "species": read_tables(folder / "species")}
    tables, overlaid = lay_over(tables, overlays)
    known: dict[str, Iterable[str]] = {
        "codes": codes,
        "gates": gates,
        "standards": [standard.id for standard in standards],
        "diseases": diseases,
    }
    species = _species(tables, context, known)
    return Knowledge(
        species=MappingProxyType(species),
        aliases=MappingProxyType(_aliases(species)),
        gates=gates,
        codes=codes,
        sources=sources,
        standards=standards,
        factors=factors,
        hazards=hazards,
        diseases=diseases,
        overlaid=overlaid,
    )


def _ground(model: type[Ground], folder: Path, stem: str, context: Any = None) -> Ground:
    path = folder / f"{stem}.toml"
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, tomllib.TOMLDecodeError) as error:
        raise BadInput([Fault(path.name, f"cannot be read: {error}", "write it as TOML, in UTF-8")]) from error
    return check(model, table, where=path.name, context=context)


def _species(tables: Tables, context: Any, known: Mapping[str, Iterable[str]]) -> dict[str, Species]:
    faults: list[Fault] = []
    groups = _checked(GroupFile, tables, "groups", context, faults)
    files = _checked(SpeciesFile, tables, "species", context, faults)
    if faults:
        raise BadInput(faults)
    built: dict[str, Species] = {}
    for species_id, file in files.items():
        try:
            built[species_id] = build_species(species_id, file, groups)
        except KeyError as error:
            where = f"species/{species_id}.toml, group"
            faults.append(Fault(where, f"no group {error.args[0]!r}", f"use one of {', '.join(groups)}"))
            continue
        faults.extend(faults_of_species(built[species_id], known))
    if faults:
        raise BadInput(dict.fromkeys(faults))
    return built


def _checked(model: type[Ground], tables: Tables, folder: str, context: Any, faults: list[Fault]) -> dict[str, Ground]:
    try:
        return check_all(model, tables[folder], folder=folder, context=context)
    except BadInput as refusal:
        faults.extend(refusal.faults)
        return {}


def _aliases(species: Mapping[str, Species]) -> dict[str, tuple[str, str]]:
    """Every name of every species; refuses a name that two species claim."""
    names: dict[str, tuple[str, str]] = {}
    faults: list[Fault] = []
    latin = Counter(botanical for one in species.values() for botanical in one.facts.botanical)
    for species_id, one in species.items():
        own = [(species_id.replace("_", " "), "")]
        own += [(alias.name, alias.note) for alias in one.facts.alias]
        own += [(botanical, "") for botanical in one.facts.botanical if latin[botanical] == 1]
        for name, note in own:
            plain = " ".join(name.replace("-", " ").casefold().split())
            if plain in names and names[plain][0] != species_id:
                faults.append(
                    Fault(f"species/{species_id}.toml, alias", f"{name!r} already names {names[plain][0]}", "drop one")
                )
            names.setdefault(plain, (species_id, note))
    if faults:
        raise BadInput(faults)
    return names
