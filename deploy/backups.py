"""Keep the book safe: copy database and pictures into a dated folder, prove the copy, put it back.

A backup is a folder named after its instant. It holds the database (an SQLite file or a PostgreSQL archive), the
media folder and ``manifest.json`` with the SHA-256 of every file and the rows of every table. It appears under its
name only when it is complete. The signing key and the settings are not in it: keep them apart.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from business import clock
from business.errors import BadInput, Fault, Refusal

MANIFEST = "manifest.json"
UNFINISHED = ".unfinished"


@dataclass(frozen=True)
class Book:
    """Where the running program keeps what must not be lost: a Django database and its media folder."""

    database: dict[str, Any]
    media: Path

    @property
    def is_sqlite(self) -> bool:
        return str(self.database["ENGINE"]).endswith("sqlite3")


def make(book: Book, folder: Path, *, keep: int | None = None) -> Path:
    """Write a backup below ``folder`` and return its folder; with ``keep``, older ones beyond that number go."""
    final = folder / clock.now().strftime("%Y-%m-%dT%H%M%SZ")
    part = final.with_name(final.name + UNFINISHED)
    part.mkdir(parents=True)
    rows = _copy_sqlite(book, part) if book.is_sqlite else _dump_postgresql(book, part)
    if book.media.is_dir():
        shutil.copytree(book.media, part / "media")
    manifest = {"made_at": clock.now().isoformat(), "rows": rows, "files": dict(_sums(part))}
    (part / MANIFEST).write_text(json.dumps(manifest, indent=1), encoding="utf-8")
    part.rename(final)
    if keep:
        _forget_older(folder, keep)
    return final


def check(backup: Path) -> dict[str, int]:
    """Prove that a backup is whole; its tables with their rows come back.

    Raises:
        BadInput: files are missing, changed or were never part of it; every one is named.
    """
    if not (backup / MANIFEST).is_file():
        raise BadInput([Fault(str(backup), "is no finished backup", f"name a folder that holds {MANIFEST}")])
    manifest = json.loads((backup / MANIFEST).read_text(encoding="utf-8"))
    kept, found = manifest["files"], dict(_sums(backup))
    remedy = "use another backup, or fetch this one again"
    faults = [Fault(name, "is missing", remedy) for name in sorted(kept.keys() - found.keys())]
    faults += [Fault(name, "does not belong here", remedy) for name in sorted(found.keys() - kept.keys())]
    faults += [
        Fault(name, "is not what was written", remedy)
        for name in sorted(kept.keys() & found.keys())
        if kept[name] != found[name]
    ]
    if faults:
        raise BadInput(faults)
    rows: dict[str, int] = manifest["rows"]
    return rows


def restore(backup: Path, book: Book, *, replace: bool = False) -> dict[str, int]:
    """Put a proven backup in the place of the book; rows are counted again afterwards.

    Raises:
        BadInput: the backup is not whole, or is of the other kind of database.
        Refusal: the book holds something and ``replace`` was not said, or rows are missing afterwards.
    """
    rows = check(backup)
    wanted = "database.sqlite3" if book.is_sqlite else "database.dump"
    if not (backup / wanted).is_file():
        raise BadInput([Fault(str(backup), f"holds no {wanted}", "set DATABASE_URL to the kind of database it is of")])
    if not replace and _holds_something(book):
        raise Refusal([Fault("the book", "is not empty", "say --replace to put the backup in its place")])
    (_put_sqlite if book.is_sqlite else _put_postgresql)(backup / wanted, book)
    if book.media.is_dir():
        shutil.rmtree(book.media)
    if (backup / "media").is_dir():
        shutil.copytree(backup / "media", book.media)
    if (now := _rows(book)) != rows:
        differing = sorted(name for name in rows.keys() | now.keys() if rows.get(name) != now.get(name))
        raise Refusal(
            [Fault(name, f"has {now.get(name)} rows, not {rows.get(name)}", "try again") for name in differing]
        )
    return rows


def _sums(folder: Path) -> Iterator[tuple[str, str]]:
    for path in sorted(folder.rglob("*")):
        if path.is_file() and path.name != MANIFEST:
            with path.open("rb") as file:
                yield path.relative_to(folder).as_posix(), hashlib.file_digest(file, "sha256").hexdigest()


def _forget_older(folder: Path, keep: int) -> None:
    finished = sorted(path for path in folder.iterdir() if (path / MANIFEST).is_file())
    for old in finished[:-keep]:
        shutil.rmtree(old)


def _holds_something(book: Book) -> bool:
    return any(rows for name, rows in _rows(book).items() if name != "django_migrations")


def _rows(book: Book) -> dict[str, int]:
    if not book.is_sqlite:
        with _connection(book) as connection:
            return _postgresql_rows(connection)
    path = Path(book.database["NAME"])
    if not path.exists():
        return {}
    connection = sqlite3.connect(path)
    try:
        return _sqlite_rows(connection)
    finally:
        connection.close()


# SQLite: the online copy is consistent while the program writes; copying the file would lose its -wal.


def _sqlite_rows(connection: sqlite3.Connection) -> dict[str, int]:
    names = connection.execute(
        "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY name"
    ).fetchall()
    return {name: connection.execute(f'SELECT count(*) FROM "{name}"').fetchone()[0] for (name,) in names}  # noqa: S608 – names come from the schema


def _copy_sqlite(book: Book, part: Path) -> dict[str, int]:
    source = sqlite3.connect(f"file:{book.database['NAME']}?mode=ro", uri=True)
    copy = sqlite3.connect(part / "database.sqlite3")
    try:
        source.backup(copy)
        (verdict,) = copy.execute("PRAGMA integrity_check").fetchone()
        if verdict != "ok":
            raise Refusal([Fault("the database", verdict, "restore an older backup before this one is trusted")])
        copy.execute("PRAGMA journal_mode = DELETE")
        return _sqlite_rows(copy)
    finally:
        copy.close()
        source.close()


def _put_sqlite(source: Path, book: Book) -> None:
    target = Path(book.database["NAME"])
    target.parent.mkdir(parents=True, exist_ok=True)
    part = target.with_name(target.name + UNFINISHED)
    shutil.copy2(source, part)
    for ending in ("-wal", "-shm"):
        target.with_name(target.name + ending).unlink(missing_ok=True)
    part.replace(target)


# PostgreSQL: rows are counted in the very snapshot that pg_dump writes out.


def _connection(book: Book) -> Any:
    import psycopg

    database = book.database
    return psycopg.connect(
        dbname=database["NAME"],
        user=database["USER"] or None,
        password=database["PASSWORD"] or None,
        host=database["HOST"] or None,
        port=database["PORT"] or None,
    )


def _postgresql_rows(connection: Any) -> dict[str, int]:
    names = connection.execute(
        "SELECT tablename FROM pg_tables WHERE schemaname = current_schema() ORDER BY tablename"
    ).fetchall()
    return {name: connection.execute(f'SELECT count(*) FROM "{name}"').fetchone()[0] for (name,) in names}  # noqa: S608 – names come from the schema


def _dump_postgresql(book: Book, part: Path) -> dict[str, int]:
    with _connection(book) as connection:
        connection.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
        (snapshot,) = connection.execute("SELECT pg_export_snapshot()").fetchone()
        rows = _postgresql_rows(connection)
        archive = str(part / "database.dump")
        _run_client(book, "pg_dump", "--format=custom", "--no-owner", f"--snapshot={snapshot}", f"--file={archive}")
    return rows


def _put_postgresql(source: Path, book: Book) -> None:
    options = ["--clean", "--if-exists", "--no-owner", "--single-transaction", "--exit-on-error"]
    _run_client(book, "pg_restore", *options, f"--dbname={book.database['NAME']}", str(source))


def _run_client(book: Book, program: str, *arguments: str) -> None:
    database = book.database
    environment = {
        **os.environ,
        **{
            name: str(database[key])
            for name, key in {
                "PGDATABASE": "NAME",
                "PGUSER": "USER",
                "PGPASSWORD": "PASSWORD",
                "PGHOST": "HOST",
                "PGPORT": "PORT",
            }.items()
            if database[key]
        },
    }
    done = subprocess.run(  # noqa: S603 – a fixed program with arguments of our own
        [program, *arguments], env=environment, capture_output=True, text=True, check=False
    )
    if done.returncode != 0:
        raise Refusal([Fault(program, done.stderr.strip(), "see the settings of the database")])


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(prog="deploy/backup, deploy/restore", description=(__doc__ or "").splitlines()[0])
    acts = parser.add_subparsers(dest="act", required=True)
    making = acts.add_parser("make", help="write a backup")
    making.add_argument("folder", type=Path)
    making.add_argument("--keep", type=int, help="how many backups stay; older ones go")
    restoring = acts.add_parser("restore", help="put a backup in place")
    restoring.add_argument("backup", type=Path)
    restoring.add_argument("--replace", action="store_true", help="even if the book is not empty")
    checking = acts.add_parser("check", help="prove that a backup is whole")
    checking.add_argument("backup", type=Path)
    given = parser.parse_args(arguments)

    from deploy import settings

    book = Book(settings.DATABASES["default"], Path(settings.MEDIA_ROOT))
    try:
        if given.act == "make":
            sys.stdout.write(f"{make(book, given.folder, keep=given.keep)}\n")
        else:
            rows = check(given.backup) if given.act == "check" else restore(given.backup, book, replace=given.replace)
            sys.stdout.write(f"{given.act}: {sum(rows.values())} rows in {len(rows)} tables\n")
    except Refusal as refusal:
        for fault in refusal.faults:
            sys.stderr.write(f"{fault}\n")
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
