"""Copy the database of a book and put it back, SQLite or PostgreSQL, and tell what its tables hold."""

from __future__ import annotations

import hashlib
import os
import shutil
import sqlite3
import subprocess
import tempfile
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.db.backends.sqlite3._functions import (  # type: ignore[import-untyped]
    register as register_functions,
)

from business.errors import Fault, Refusal

UNFINISHED = ".unfinished"


@dataclass(frozen=True)
class Book:
    """Where the running program keeps what must not be lost: a Django database and its media folder."""

    database: dict[str, Any]
    media: Path

    @property
    def is_sqlite(self) -> bool:
        return str(self.database["ENGINE"]).endswith("sqlite3")

    @property
    def file_name(self) -> str:
        """What the database is called in a backup."""
        return "database.sqlite3" if self.is_sqlite else "database.dump"


@dataclass(frozen=True)
class Table:
    """What a table holds: its rows, and a sum over all of them."""

    rows: int
    sha256: str


Tables = dict[str, Table]


def copy_database(book: Book, folder: Path) -> Tables:
    """Write the database into ``folder`` as it stands at one instant, and tell what it holds."""
    return (_copy_sqlite if book.is_sqlite else _dump_postgresql)(book, folder)


def put_database(source: Path, book: Book) -> None:
    """Put a copy in the place of the database, whatever is there."""
    (_put_sqlite if book.is_sqlite else _put_postgresql)(source, book)


@contextmanager
def scratch_place(book: Book, folder: Path) -> Iterator[Book]:
    """A place of the same kind to try a backup in; it is gone afterwards.

    Raises:
        Refusal: the database's role may not make one.
    """
    if book.is_sqlite:
        yield Book({**book.database, "NAME": str(folder / "scratch.sqlite3")}, folder / "media")
        return
    import psycopg

    name = f"proof_{uuid.uuid4().hex[:12]}"
    with _connection(book, autocommit=True) as server:
        try:
            server.execute(f"CREATE DATABASE {name} TEMPLATE template0")
        except psycopg.errors.InsufficientPrivilege as error:
            remedy = f"say ALTER ROLE {book.database['USER']} CREATEDB, or --unproved"
            raise Refusal([Fault("the backup", "cannot be proved: no scratch database may be made", remedy)]) from error
        try:
            yield Book({**book.database, "NAME": name}, folder / "media")
        finally:
            server.execute(f"DROP DATABASE {name}")


def tables_of(book: Book) -> Tables:
    """What every table holds; none if there is no database yet."""
    if not book.is_sqlite:
        with _connection(book) as connection:
            return _postgresql_tables(connection)
    path = Path(book.database["NAME"])
    if not path.exists():
        return {}
    connection = sqlite3.connect(path)
    try:
        return _sqlite_tables(connection)
    finally:
        connection.close()


def _table(rows: Iterator[bytes]) -> Table:
    count, digest = 0, hashlib.sha256()
    for row in rows:
        count += 1
        digest.update(row)
        digest.update(b"\n")
    return Table(rows=count, sha256=digest.hexdigest())


# SQLite: the online copy is consistent while the program writes; copying the file would lose its -wal.


def _sqlite_tables(connection: sqlite3.Connection) -> Tables:
    names = connection.execute(
        "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY name"
    ).fetchall()
    return {
        name: _table(repr(row).encode() for row in connection.execute(f'SELECT * FROM "{name}" ORDER BY rowid'))  # noqa: S608 – names come from the schema
        for (name,) in names
    }


def _copy_sqlite(book: Book, part: Path) -> Tables:
    source = sqlite3.connect(f"file:{book.database['NAME']}?mode=ro", uri=True)
    copy = sqlite3.connect(part / "database.sqlite3")
    # The check of integrity also asks the laws of the tables, and those use functions that Django brings along.
    register_functions(copy)
    try:
        source.backup(copy)
        (verdict,) = copy.execute("PRAGMA integrity_check").fetchone()
        if verdict != "ok":
            raise Refusal([Fault("the database", verdict, "restore an older backup before this one is trusted")])
        copy.execute("PRAGMA journal_mode = DELETE")
        return _sqlite_tables(copy)
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


# PostgreSQL: rows are read in the very snapshot that pg_dump writes out.


def _connection(book: Book, *, autocommit: bool = False) -> Any:
    import psycopg

    database = book.database
    return psycopg.connect(
        autocommit=autocommit,
        # Sums are over words; these settings decide how dates and times are written.
        options="-c timezone=UTC -c datestyle=ISO -c intervalstyle=postgres -c extra_float_digits=3",
        dbname=database["NAME"],
        user=database["USER"] or None,
        password=database["PASSWORD"] or None,
        host=database["HOST"] or None,
        port=database["PORT"] or None,
    )


def _postgresql_tables(connection: Any) -> Tables:
    return {name: _table(_postgresql_rows(connection, name)) for name in _table_names(connection)}


def _table_names(connection: Any) -> list[str]:
    names = connection.execute(
        "SELECT tablename FROM pg_tables WHERE schemaname = current_schema() ORDER BY tablename"
    ).fetchall()
    return [name for (name,) in names]


def _postgresql_rows(connection: Any, name: str) -> Iterator[bytes]:
    """Every row as text, in an order that depends on nothing but the text."""
    copying = f'COPY (SELECT t::text FROM "{name}" AS t ORDER BY t::text COLLATE "C") TO STDOUT'  # noqa: S608 – names come from the schema
    with connection.cursor() as cursor, cursor.copy(copying) as rows:
        for (row,) in rows.rows():
            yield row.encode()


def _dump_postgresql(book: Book, part: Path) -> Tables:
    with _connection(book) as connection:
        connection.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
        (snapshot,) = connection.execute("SELECT pg_export_snapshot()").fetchone()
        tables = _postgresql_tables(connection)
        archive = str(part / "database.dump")
        _run_client(book, "pg_dump", "--format=custom", "--no-owner", f"--snapshot={snapshot}", f"--file={archive}")
    return tables


def _put_postgresql(source: Path, book: Book) -> None:
    """Everything in one transaction: tables the backup does not know go as well, else a newer program's would stay."""
    with _connection(book) as connection:
        names = ", ".join(f'"{name}"' for name in _table_names(connection))
    dropping = ["--command", f"DROP TABLE {names} CASCADE"] if names else []
    with tempfile.TemporaryDirectory() as folder:
        script = str(Path(folder) / "restore.sql")
        _run_client(book, "pg_restore", "--no-owner", f"--file={script}", str(source))
        options = ["--quiet", "--no-psqlrc", "--single-transaction", "--set=ON_ERROR_STOP=1"]
        _run_client(book, "psql", *options, *dropping, f"--file={script}")


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
