"""Reads a weather file of any layout we know: plain CSV, GHCN-Daily CSV, by-year CSV and fixed width (.dly)."""

from __future__ import annotations

from business.errors import BadInput, Fault
from gardens.climate.ghcn import (
    is_by_year,
    is_fixed_width,
    is_station_csv,
    read_by_year,
    read_fixed_width,
    read_station_csv,
)
from gardens.climate.plain_csv import read_plain_csv
from gardens.climate.plausible import FileChoices
from gardens.climate.readings import Readings


def read_weather(data: bytes | str, choices: FileChoices | None = None) -> Readings:
    """The daily readings of a weather file; the layout is found from its first line.

    Days lacking a temperature are kept apart (`Readings.gaps`), not refused.

    Raises:
        BadInput: with every fault of the file at once: rows whose minimum lies above the maximum, days given twice or
            out of order, values that are no numbers or impossible, temperatures that look like °F, text that is not
            UTF-8, columns that are not there.
    """
    chosen = choices or FileChoices()
    text = _decoded(data, chosen.file)
    if not text.strip():
        raise BadInput([Fault(chosen.file, "the file is empty", "give a header and one row for each day")])
    text = text.lstrip("\r\n")
    if is_fixed_width(text):
        return read_fixed_width(text, chosen)
    if is_by_year(text):
        return read_by_year(text, chosen)
    if is_station_csv(text):
        return read_station_csv(text, chosen)
    return read_plain_csv(text, chosen)


def _decoded(data: bytes | str, file: str) -> str:
    if isinstance(data, str):
        return data.removeprefix("\ufeff")
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise BadInput([Fault(file, "the text is UTF-16", "save it as UTF-8")])
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = data[: error.start].count(b"\n") + 1
        wrong = f"byte {error.start + 1} is not UTF-8"
        raise BadInput([Fault(f"{file}, row {row}", wrong, "save the file as UTF-8")]) from error
    if "\x00" in text:
        raise BadInput([Fault(file, "there are zero bytes in it", "bring a text file")])
    return text
