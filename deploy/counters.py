"""Count what happens in every web process of this machine, so that any one of them can tell the sum.

Each process owns one small file below ``VAR_DIR/counters`` and writes into its own memory map: no lock between
processes, no question to the database in a request. A file is a row of records, ``length, name, value``; the value is
eight bytes at a place that never moves, so a reader sees an old number or a new one. What processes that are gone had
counted is folded into ``past.json``: a counter never goes back while the folder stands.
"""

from __future__ import annotations

import fcntl
import json
import logging
import mmap
import os
import struct
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

log = logging.getLogger(__name__)

SIZE = 512 * 1024
"""Bytes of one file: about 5 000 names. A name that finds no room is not counted, and ``dropped`` says so."""
HEAD = struct.Struct("<I")
VALUE = struct.Struct("<d")
PAST = "past.json"
DROPPED = "dropped"

Sums = dict[str, float]


class Counters:
    """The counters of this process; safe to use from its threads, and renewed by itself after a fork."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._lock = threading.Lock()
        self._pid = 0
        self._places: dict[str, int] = {}
        self._end = 0
        self._map: mmap.mmap | None = None

    def add(self, name: str, amount: float = 1.0) -> None:
        with self._lock:
            if self._pid != os.getpid():
                self._open()
            if self._map is None:
                return
            place = self._places[name] if name in self._places else self._new_place(name, self._map)
            (before,) = VALUE.unpack_from(self._map, place)
            VALUE.pack_into(self._map, place, before + amount)

    def _open(self) -> None:
        self._pid, self._places, self._end, self._map = os.getpid(), {}, 0, None
        path = self.folder / f"{self._pid}-{_start_of(self._pid)}.counts"
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            with _locked(self.folder), path.open("w+b") as file:
                # Its room is taken now: a map over a hole in the file kills the process when the disk is full.
                os.posix_fallocate(file.fileno(), 0, SIZE)
                self._map = mmap.mmap(file.fileno(), SIZE)
                _fold_the_dead(self.folder)
        except OSError:
            # Nothing is counted then; pages matter more than figures about them.
            log.exception("requests of this process are not counted")
            path.unlink(missing_ok=True)
        else:
            self._new_place(DROPPED, self._map)

    def _new_place(self, name: str, counts: mmap.mmap) -> int:
        words = name.encode()
        place = self._end + HEAD.size + len(words)
        end = place + VALUE.size
        if end > SIZE:
            return self._places[DROPPED]
        counts[self._end + HEAD.size : place] = words
        # The length comes last: a reader that comes in between sees no record yet.
        HEAD.pack_into(counts, self._end, len(words))
        self._places[name], self._end = place, end
        return place


def sums(folder: Path) -> Sums:
    """What all processes of this machine have counted, those that are gone included."""
    if not folder.is_dir():
        return {}
    with _locked(folder):
        found = _fold_the_dead(folder)
        for path in _files(folder):
            _add(found, _read(path))
        return found


def _files(folder: Path) -> list[Path]:
    return sorted(folder.glob("*.counts"))


def _read(path: Path) -> Sums:
    content, place = path.read_bytes(), 0
    found: Sums = {}
    while place + HEAD.size <= len(content) and (length := HEAD.unpack_from(content, place)[0]):
        at = place + HEAD.size + length
        (found[content[place + HEAD.size : at].decode()],) = VALUE.unpack_from(content, at)
        place = at + VALUE.size
    return found


def _add(to: Sums, more: Sums) -> None:
    for name, value in more.items():
        to[name] = to.get(name, 0.0) + value


def _fold_the_dead(folder: Path) -> Sums:
    """Add the files of processes that are gone to the past, and remove them. The folder must be locked."""
    past_file = folder / PAST
    past: Sums = json.loads(past_file.read_text()) if past_file.exists() else {}
    dead = [path for path in _files(folder) if not _lives(path)]
    if dead:
        for path in dead:
            _add(past, _read(path))
        part = past_file.with_suffix(".unfinished")
        part.write_text(json.dumps(past))
        part.replace(past_file)
        for path in dead:
            path.unlink()
    return past


def _lives(path: Path) -> bool:
    pid, _, start = path.stem.partition("-")
    return _start_of(int(pid)) == start


def _start_of(pid: int) -> str:
    """When a process began, in ticks since the machine started: tells it from a later one with the same number."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[19]
    except (FileNotFoundError, ProcessLookupError):
        return "gone"


@contextmanager
def _locked(folder: Path) -> Iterator[None]:
    with (folder / "lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield
