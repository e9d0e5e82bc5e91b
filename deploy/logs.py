"""Lines of the log: one event a line, with the number of its request, and no link that opens anything."""

from __future__ import annotations

import json
import logging
import re
from datetime import UTC, datetime
from typing import Any

from deploy.request_ids import current_request

LINKS = re.compile(
    r"(/(?:open|mail/stop|calendar|garden/calendar|offer)/)[^\s/\"'?<>]{8,}|[\w-]{8,}:[\w-]{6}:[\w-]{43}"
)
"""The rest of an address after these words is a key; so is anything that looks like a value signed by the program."""


def without_links(text: str) -> str:
    return LINKS.sub(lambda found: f"{found.group(1) or ''}…", text)


class KnowsTheRequest(logging.Filter):
    """Adds the number of the request to a record."""

    def filter(self, record: logging.LogRecord) -> bool:
        # Refused pages are noted after the middleware has gone; the record then brings its request along.
        record.request_id = getattr(getattr(record, "request", None), "number", None) or current_request.get()
        return True


class Line(logging.Formatter):
    """For people: time, level, place, request, words. A line break inside the words cannot fake a second event."""

    def format(self, record: logging.LogRecord) -> str:
        words = without_links(record.getMessage()).replace("\r", "\\r").replace("\n", "\\n")
        line = f"{_time(record)} {record.levelname} {record.name} request={_request(record)} {words}"
        return f"{line}\n{_trace(self, record)}" if record.exc_info else line


class Json(logging.Formatter):
    """For machines: one object a line."""

    def format(self, record: logging.LogRecord) -> str:
        event: dict[str, Any] = {
            "time": _time(record),
            "level": record.levelname,
            "logger": record.name,
            "request": _request(record),
            "message": without_links(record.getMessage()),
        }
        if record.exc_info:
            event["trace"] = _trace(self, record)
        return json.dumps(event, ensure_ascii=False)


def _time(record: logging.LogRecord) -> str:
    return datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds")


def _request(record: logging.LogRecord) -> str:
    return str(getattr(record, "request_id", "-"))


def _trace(formatter: logging.Formatter, record: logging.LogRecord) -> str:
    return without_links(formatter.formatException(record.exc_info)) if record.exc_info else ""
