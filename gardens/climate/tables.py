"""Reads the tables of `gardens/knowledge/climate/*.toml` and says exactly what is wrong with one."""

from __future__ import annotations

import tomllib
from importlib import resources
from typing import Any, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError

from business.errors import BadInput, Fault


class Row(BaseModel):
    """A row of a table. A key that is not known is a fault, not a silence."""

    model_config = ConfigDict(extra="forbid", frozen=True)


Table = TypeVar("Table", bound=Row)


def shipped_text(file: str) -> str:
    """The text of a table the program ships with."""
    return resources.files("gardens.knowledge").joinpath("climate", file).read_text(encoding="utf-8")


def read_table(model: type[Table], text: str, file: str) -> Table:
    """The table in ``text``, checked.

    Raises:
        BadInput: with every fault of the file, each naming file, key and what would be right.
    """
    try:
        return model.model_validate(tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        raise BadInput([Fault(file, str(error), "write valid TOML")]) from error
    except ValidationError as error:
        raise BadInput([_fault(item, file) for item in error.errors()]) from error


def _fault(item: Any, file: str) -> Fault:
    path = ".".join(str(part) for part in item["loc"]) or "file"
    remedies = {
        "extra_forbidden": "remove the key or spell it as in the head of the file",
        "missing": f"add {item['loc'][-1] if item['loc'] else 'it'} = …",
    }
    wrong = str(item["msg"]).removeprefix("Value error, ")
    return Fault(f"{file}, {path}", wrong, remedies.get(item["type"], "correct the value"))
