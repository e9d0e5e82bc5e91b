"""Rule files read and checked: TOML in, typed records out, every fault of every file told at once.

Use from any knowledge folder::

    tables = read_tables(folder)                                   # {"apple_spur": {...}, …}
    records = check_all(Species, tables, folder="species")         # {"apple_spur": Species(...), …}

A validator of a model may raise `Wrong` to say in its own words what is wrong and what would be right.
"""

from __future__ import annotations

import difflib
import tomllib
import types
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, Literal, TypeVar, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError

from business.errors import BadInput, Fault

Record = TypeVar("Record", bound=BaseModel)


class Wrong(ValueError):
    """Raised by a validator: what is wrong with a value, and what would be right."""

    def __init__(self, wrong: str, remedy: str) -> None:
        super().__init__(wrong)
        self.wrong = wrong
        self.remedy = remedy


def read_tables(folder: Path) -> dict[str, dict[str, Any]]:
    """Every ``*.toml`` in ``folder`` (not below it) by its file stem, in alphabetical order.

    Raises:
        BadInput: naming each file that is not TOML, with the line.
    """
    tables: dict[str, dict[str, Any]] = {}
    faults: list[Fault] = []
    for path in sorted(folder.glob("*.toml")):
        try:
            tables[path.stem] = tomllib.loads(path.read_text(encoding="utf-8"))
        except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
            faults.append(Fault(f"{folder.name}/{path.name}", f"cannot be read: {error}", "write it as TOML, in UTF-8"))
    if faults:
        raise BadInput(faults)
    return tables


def check(model: type[Record], table: Mapping[str, Any], *, where: str, context: Any = None) -> Record:
    """One record out of one table.

    Args:
        model: the pydantic model; give it ``extra="forbid"``.
        table: what the file says.
        where: the file, such as "species/apple_spur.toml"; every fault begins with it.
        context: handed to the model's validators.

    Raises:
        BadInput: with all faults of the table.
    """
    try:
        return model.model_validate(dict(table), context=context)
    except ValidationError as error:
        raise BadInput(_faults(error, model, where)) from error


def check_all(
    model: type[Record], tables: Mapping[str, Mapping[str, Any]], *, folder: str, context: Any = None
) -> dict[str, Record]:
    """A record out of every table; refuses once, with the faults of all files."""
    records: dict[str, Record] = {}
    faults: list[Fault] = []
    for stem, table in tables.items():
        try:
            records[stem] = check(model, table, where=f"{folder}/{stem}.toml", context=context)
        except BadInput as refusal:
            faults.extend(refusal.faults)
    if faults:
        raise BadInput(faults)
    return records


def _faults(error: ValidationError, model: type[BaseModel], where: str) -> list[Fault]:
    return [_fault(dict(detail), model, where) for detail in error.errors(include_url=False)]


def _fault(detail: dict[str, Any], model: type[BaseModel], where: str) -> Fault:
    location: tuple[str | int, ...] = detail["loc"]
    kind: str = detail["type"]
    given = detail.get("input")
    place = f"{where}, {_path(location)}" if location else where
    cause = (detail.get("ctx") or {}).get("error")
    if cause is not None and hasattr(cause, "remedy"):
        return Fault(place, str(cause.wrong), str(cause.remedy))
    key = location[-1] if location else ""
    if kind == "missing":
        return Fault(place, f"`{key}` is missing", f"add {key} = …")
    if kind == "extra_forbidden":
        return Fault(place, f"unknown key `{key}`", _known_keys(model, location))
    if kind == "literal_error":
        return Fault(place, f"{given!r} is not known here", f"use one of {detail['ctx']['expected']}")
    return Fault(place, f"{_short(given)}: {_plain(detail)}", _expected(kind, detail))


def _path(location: tuple[str | int, ...]) -> str:
    """ "task", 2, "opens" → "task 3, opens"; parts that only name a branch of a union are left out."""
    words: list[str] = []
    for part in location:
        if isinstance(part, int):
            words[-1:] = [f"{words[-1] if words else 'entry'} {part + 1}"]
        elif "[" not in part and "(" not in part:
            words.append(part)
    return ", ".join(words)


def _known_keys(model: type[BaseModel], location: tuple[str | int, ...]) -> str:
    holder = _model_at(model, location[:-1])
    known = sorted(field.alias or name for name, field in (holder.model_fields.items() if holder is not None else ()))
    close = difflib.get_close_matches(str(location[-1]), known, n=1)
    return f"write {close[0]}, or use one of {', '.join(known)}" if close else f"use one of {', '.join(known)}"


def _model_at(model: type[BaseModel], location: tuple[str | int, ...]) -> type[BaseModel] | None:
    """The model that holds the last key of a location."""
    holder: Any = model
    for part in location:
        if isinstance(part, str) and isinstance(holder, type) and issubclass(holder, BaseModel):
            fields = {field.alias or name: field for name, field in holder.model_fields.items()}
            holder = _inner_model(fields[part].annotation) if part in fields else None
        if holder is None:
            return None
    return holder if isinstance(holder, type) and issubclass(holder, BaseModel) else None


def _inner_model(annotation: Any) -> Any:
    """The model inside tuple[…], dict[…], … | None."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    if get_origin(annotation) in (Union, types.UnionType, tuple, list, dict, Annotated):
        found = (_inner_model(argument) for argument in get_args(annotation) if argument is not Ellipsis)
        return next((inner for inner in found if inner is not None), None)
    return None


def _short(value: Any) -> str:
    text = repr(value)
    return text if len(text) <= 60 else f"{text[:57]}…"


def _plain(detail: dict[str, Any]) -> str:
    kind: str = detail["type"]
    if kind.endswith(("_type", "_parsing")):
        return f"is not {_NOUNS.get(kind.rsplit('_', 1)[0], 'of the right type')}"
    message = str(detail["msg"]).removeprefix("Value error, ")
    return message[:1].lower() + message[1:]


_NOUNS = {
    "string": "a text",
    "int": "a whole number",
    "int_from": "a whole number",
    "float": "a number",
    "bool": "true or false",
    "tuple": "a list",
    "list": "a list",
    "dict": "a table",
    "model": "a table",
    "date": "a date",
}


def _expected(kind: str, detail: dict[str, Any]) -> str:
    limits = {name: value for name, value in (detail.get("ctx") or {}).items() if name in _LIMITS}
    if limits:
        return ", ".join(f"{_LIMITS[name]} {value}" for name, value in limits.items())
    noun = _NOUNS.get(kind.rsplit("_", 1)[0])
    return f"give {noun}" if noun else "see the other files of this folder for the shape"


_LIMITS: Mapping[Literal["ge", "gt", "le", "lt", "min_length", "max_length"], str] = {
    "ge": "at least",
    "gt": "more than",
    "le": "at most",
    "lt": "less than",
    "min_length": "entries: at least",
    "max_length": "entries: at most",
}
