"""A backup holds everything, proves itself, and comes back as it was."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from datetime import UTC, datetime, timedelta
from pathlib import Path

import psycopg
import pytest
from django.db import connection

from business.errors import BadInput, Refusal
from deploy import backups
from deploy.backups import Book


def sqlite_book(folder: Path, trees: int) -> Book:
    """A small book in write-ahead mode, as the program keeps it, with a writer still connected."""
    folder.mkdir()
    path = folder / "business.sqlite3"
    rows = sqlite3.connect(path, isolation_level=None)
    rows.execute("PRAGMA journal_mode=WAL")
    rows.execute("CREATE TABLE tree (id INTEGER PRIMARY KEY, label TEXT)")
    rows.executemany("INSERT INTO tree (label) VALUES (?)", [(f"A{number}",) for number in range(trees)])
    book = Book({"ENGINE": "django.db.backends.sqlite3", "NAME": str(path)}, folder / "media")
    WRITERS.append(rows)
    return book


WRITERS: list[sqlite3.Connection] = []


@pytest.fixture(autouse=True)
def close_writers():
    yield
    while WRITERS:
        WRITERS.pop().close()


@pytest.fixture
def book(tmp_path: Path) -> Book:
    book = sqlite_book(tmp_path / "book", trees=7)
    (book.media / "photos").mkdir(parents=True)
    (book.media / "photos" / "wall.jpg").write_bytes(b"\xff\xd8 a wall")
    return book


def empty_book(tmp_path: Path) -> Book:
    return Book({"ENGINE": "django.db.backends.sqlite3", "NAME": str(tmp_path / "new" / "b.sqlite3")}, tmp_path / "m")


def labels(book: Book) -> list[str]:
    rows = sqlite3.connect(book.database["NAME"])
    try:
        return [label for (label,) in rows.execute("SELECT label FROM tree ORDER BY id")]
    finally:
        rows.close()


class TestSqlite:
    def test_rows_still_in_the_write_ahead_log_are_kept(self, book, tmp_path):
        assert Path(book.database["NAME"] + "-wal").stat().st_size > 0
        backup = backups.make(book, tmp_path / "backups")
        assert backups.check(backup) == {"tree": 7}

    def test_laws_of_tables_that_use_patterns_stand_in_no_way(self, book, tmp_path):
        rows = sqlite3.connect(book.database["NAME"])
        rows.create_function("REGEXP", 2, lambda pattern, text: text.isalpha(), deterministic=True)
        rows.execute("CREATE TABLE kind (code TEXT CHECK (code REGEXP '^[a-z]+$'))")
        rows.execute("INSERT INTO kind VALUES ('apple')")
        rows.commit()
        rows.close()
        assert backups.check(backups.make(book, tmp_path / "backups")) == {"tree": 7, "kind": 1}

    def test_what_was_kept_comes_back_elsewhere(self, book, tmp_path):
        backup = backups.make(book, tmp_path / "backups")
        target = empty_book(tmp_path)
        assert backups.restore(backup, target) == {"tree": 7}
        assert labels(target) == labels(book)
        assert (target.media / "photos" / "wall.jpg").read_bytes() == b"\xff\xd8 a wall"

    def test_a_filled_book_is_not_replaced_unasked(self, book, tmp_path):
        backup = backups.make(book, tmp_path / "backups")
        other = sqlite_book(tmp_path / "other", trees=2)
        with pytest.raises(Refusal, match="not empty"):
            backups.restore(backup, other)
        assert labels(other) == ["A0", "A1"]

    def test_replacing_leaves_nothing_of_the_old_book(self, book, tmp_path):
        backup = backups.make(book, tmp_path / "backups")
        other = sqlite_book(tmp_path / "other", trees=2)
        close = WRITERS.pop()
        close.close()
        (other.media).mkdir()
        (other.media / "old.jpg").write_bytes(b"old")
        backups.restore(backup, other, replace=True)
        assert len(labels(other)) == 7
        assert not (other.media / "old.jpg").exists()

    def test_an_unfinished_backup_does_not_bear_its_name(self, tmp_path):
        broken = Book({"ENGINE": "django.db.backends.sqlite3", "NAME": str(tmp_path / "none.sqlite3")}, tmp_path)
        with pytest.raises(sqlite3.OperationalError):
            backups.make(broken, tmp_path / "backups")
        assert [path.name for path in (tmp_path / "backups").iterdir() if not path.name.endswith(".unfinished")] == []

    def test_equal_counts_with_other_words_are_noticed(self, book, tmp_path):
        backup = backups.make(book, tmp_path / "backups")
        manifest = json.loads((backup / "manifest.json").read_text())
        copy = sqlite3.connect(backup / "database.sqlite3")
        copy.execute("UPDATE tree SET label = 'B4' WHERE label = 'A4'")
        copy.commit()
        copy.close()
        # Somebody who changes a copy changes its sum along with it; the rows still tell.
        manifest["files"]["database.sqlite3"] = hashlib.sha256((backup / "database.sqlite3").read_bytes()).hexdigest()
        (backup / "manifest.json").write_text(json.dumps(manifest))
        with pytest.raises(Refusal, match="tree: holds other rows"):
            backups.prove(backup, book)

    def test_a_copy_that_does_not_come_back_gets_no_name(self, book, tmp_path, monkeypatch):
        from deploy import book_copies

        put = book_copies._put_sqlite

        def lossy(source: Path, target: Book) -> None:
            put(source, target)
            rows = sqlite3.connect(target.database["NAME"])
            rows.execute("DELETE FROM tree WHERE label = 'A3'")
            rows.commit()
            rows.close()

        monkeypatch.setattr(book_copies, "_put_sqlite", lossy)
        with pytest.raises(Refusal, match="tree: has 6 rows, not 7"):
            backups.make(book, tmp_path / "backups")
        assert [path.suffix for path in (tmp_path / "backups").iterdir()] == [".unfinished"]
        assert backups.check(backups.make(book, tmp_path / "others", is_proved=False)) == {"tree": 7}

    def test_the_proof_leaves_nothing_behind(self, book, tmp_path):
        backup = backups.make(book, tmp_path / "backups")
        assert [path.name for path in (tmp_path / "backups").iterdir()] == [backup.name]

    def test_keeping_two_lets_the_oldest_go(self, book, tmp_path, monkeypatch):
        instant = datetime(2026, 2, 1, 2, 20, tzinfo=UTC)
        made = []
        for night in range(3):
            monkeypatch.setattr("business.clock.now", lambda night=night: instant + timedelta(days=night))
            made.append(backups.make(book, tmp_path / "backups", keep=2))
        assert [path.exists() for path in made] == [False, True, True]


class TestProof:
    @pytest.fixture
    def backup(self, book, tmp_path) -> Path:
        return backups.make(book, tmp_path / "backups")

    def test_every_damaged_file_is_named(self, backup):
        (backup / "media" / "photos" / "wall.jpg").write_bytes(b"another wall")
        (backup / "media" / "stray.txt").write_text("who put this here")
        (backup / "database.sqlite3").unlink()
        with pytest.raises(BadInput) as refused:
            backups.check(backup)
        assert {(fault.where, fault.wrong) for fault in refused.value.faults} == {
            ("media/photos/wall.jpg", "is not what was written"),
            ("media/stray.txt", "does not belong here"),
            ("database.sqlite3", "is missing"),
        }

    def test_a_damaged_backup_is_not_put_in_place(self, backup, tmp_path):
        (backup / "media" / "photos" / "wall.jpg").write_bytes(b"another wall")
        target = empty_book(tmp_path)
        with pytest.raises(BadInput):
            backups.restore(backup, target)
        assert not Path(target.database["NAME"]).exists()

    def test_rows_that_do_not_come_back_are_reported(self, backup, tmp_path):
        manifest = json.loads((backup / "manifest.json").read_text())
        manifest["rows"]["tree"] = 8
        (backup / "manifest.json").write_text(json.dumps(manifest))
        with pytest.raises(Refusal, match="tree: has 7 rows, not 8"):
            backups.restore(backup, empty_book(tmp_path))

    def test_a_folder_without_manifest_is_no_backup(self, tmp_path):
        with pytest.raises(BadInput, match=r"manifest\.json"):
            backups.check(tmp_path)

    def test_an_sqlite_backup_does_not_go_into_postgresql(self, backup, tmp_path):
        with pytest.raises(BadInput, match=r"database\.dump"):
            backups.restore(backup, Book({"ENGINE": "django.db.backends.postgresql"}, tmp_path))


@pytest.mark.services
class TestPostgresql:
    @pytest.fixture
    def server(self, django_db_setup):
        """Two databases of our own beside the test database."""
        names = ("backup_source", "backup_target")
        with psycopg.connect(self.address("postgres"), autocommit=True) as server:
            for name in names:
                server.execute(f"DROP DATABASE IF EXISTS {name}")
                server.execute(f"CREATE DATABASE {name}")
            yield
            for name in names:
                server.execute(f"DROP DATABASE {name} WITH (FORCE)")

    def address(self, name: str) -> str:
        database = connection.settings_dict
        return f"host={database['HOST']} user={database['USER']} dbname={name}"

    def book(self, name: str, folder: Path) -> Book:
        return Book({**connection.settings_dict, "NAME": name}, folder)

    def test_a_dump_comes_back_with_every_row(self, server, tmp_path):
        with psycopg.connect(self.address("backup_source")) as rows:
            rows.execute("CREATE TABLE tree (id serial PRIMARY KEY, label text NOT NULL UNIQUE)")
            rows.execute("INSERT INTO tree (label) SELECT 'A' || n FROM generate_series(1, 300) AS n")
        backup = backups.make(self.book("backup_source", tmp_path / "m"), tmp_path / "backups")
        target = self.book("backup_target", tmp_path / "n")
        assert backups.restore(backup, target) == {"tree": 300}
        with pytest.raises(Refusal, match="not empty"):
            backups.restore(backup, target)
        assert backups.restore(backup, target, replace=True) == {"tree": 300}
        with psycopg.connect(self.address("backup_target")) as rows, pytest.raises(psycopg.errors.UniqueViolation):
            rows.execute("INSERT INTO tree (label) VALUES ('A1')")

    def filled(self, tmp_path: Path) -> Book:
        with psycopg.connect(self.address("backup_source")) as rows:
            rows.execute("CREATE TABLE tree (id serial PRIMARY KEY, label text, planted timestamptz, girth float8)")
            rows.execute(
                "INSERT INTO tree (label, planted, girth)"
                " SELECT 'A' || n, timestamptz '2026-01-01' + n * interval '1 hour', n / 7.0"
                " FROM generate_series(1, 300) AS n"
            )
        book = self.book("backup_source", tmp_path / "m")
        book.media.mkdir()
        (book.media / "wall.jpg").write_bytes(b"a wall")
        return book

    def databases(self) -> set[str]:
        with psycopg.connect(self.address("postgres")) as rows:
            return {name for (name,) in rows.execute("SELECT datname FROM pg_database").fetchall()}

    def test_a_backup_is_tried_in_a_scratch_database(self, server, tmp_path, monkeypatch):
        from deploy import book_copies

        book, before, tried = self.filled(tmp_path), self.databases(), []
        put = book_copies._put_postgresql

        def watched(source: Path, place: Book) -> None:
            tried.append(place.database["NAME"])
            put(source, place)

        monkeypatch.setattr(book_copies, "_put_postgresql", watched)
        backup = backups.make(book, tmp_path / "backups")
        assert tried
        assert tried[0] not in before
        assert self.databases() == before, "the scratch database is gone"
        manifest = json.loads((backup / "manifest.json").read_text())
        assert (manifest["rows"], set(manifest["sums"])) == ({"tree": 300}, {"tree"})

    def test_equal_counts_with_other_words_are_noticed_too(self, server, tmp_path):
        book = self.filled(tmp_path)
        backup = backups.make(book, tmp_path / "backups")
        manifest = json.loads((backup / "manifest.json").read_text())
        manifest["sums"]["tree"] = "0" * 64
        (backup / "manifest.json").write_text(json.dumps(manifest))
        with pytest.raises(Refusal, match="tree: holds other rows"):
            backups.prove(backup, book)

    def test_the_sum_does_not_depend_on_the_place_of_rows(self, server, tmp_path):
        book = self.filled(tmp_path)
        first = backups.make(book, tmp_path / "first")
        with psycopg.connect(self.address("backup_source")) as rows:
            rows.execute("UPDATE tree SET label = label")  # writes every row anew, somewhere else
            rows.execute("ALTER DATABASE backup_source SET timezone = 'Asia/Tokyo'")
        second = backups.make(book, tmp_path / "second")
        assert len({json.loads((one / "manifest.json").read_text())["sums"]["tree"] for one in (first, second)}) == 1

    def test_tables_of_a_newer_program_go_when_an_older_book_comes_back(self, server, tmp_path):
        book = self.filled(tmp_path)
        backup = backups.make(book, tmp_path / "backups")
        with psycopg.connect(self.address("backup_source")) as rows:
            rows.execute("CREATE TABLE fruit (id serial PRIMARY KEY, tree int REFERENCES tree (id))")
        assert backups.restore(backup, book, replace=True) == {"tree": 300}
        with psycopg.connect(self.address("backup_source")) as rows:
            assert rows.execute("SELECT to_regclass('fruit')").fetchone() == (None,)

    def test_a_restore_that_breaks_off_leaves_the_old_book(self, server, tmp_path):
        book = self.filled(tmp_path)
        backup = backups.make(book, tmp_path / "backups")
        target = self.book("backup_target", tmp_path / "n")
        with psycopg.connect(self.address("backup_target")) as rows:
            rows.execute("CREATE TABLE ours (id int)")
            # The dump makes a sequence of this name; it fails there, half way.
            rows.execute("CREATE SEQUENCE tree_id_seq")
        with pytest.raises(Refusal, match="psql"):
            backups.restore(backup, target, replace=True)
        with psycopg.connect(self.address("backup_target")) as rows:
            assert rows.execute("SELECT count(*) FROM ours").fetchone() == (0,)

    def test_who_may_make_no_database_is_told_what_to_say(self, server, tmp_path):
        book = self.filled(tmp_path)
        with psycopg.connect(self.address("postgres"), autocommit=True) as rows:
            rows.execute("CREATE ROLE small_gardener LOGIN IN ROLE pg_read_all_data")
        try:
            small = Book({**book.database, "USER": "small_gardener"}, book.media)
            with pytest.raises(Refusal, match="CREATEDB, or --unproved"):
                backups.make(small, tmp_path / "backups")
            assert backups.check(backups.make(small, tmp_path / "unproved", is_proved=False)) == {"tree": 300}
        finally:
            with psycopg.connect(self.address("postgres"), autocommit=True) as rows:
                rows.execute("DROP ROLE small_gardener")
