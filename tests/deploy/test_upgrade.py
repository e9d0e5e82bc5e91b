"""An upgrade keeps a proved copy first; where it fails it says how to go back, and that way works."""

from __future__ import annotations

import os
import re
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import psycopg
import pytest
from django.db import connection

ROOT = Path(__file__).resolve().parents[2]
# The state of the book before: the rooms as their first migrations made them.
BEFORE = ("scheduling", "0001")
FAILS = """
from django.db import migrations

def fail(apps, editor):
    apps.get_model("business", "Client").objects.all().update(name="half way")
    raise RuntimeError("the new program is wrong")

class Migration(migrations.Migration):
    dependencies = [("business", "{last}")]
    operations = [
        migrations.RunSQL("CREATE TABLE left_over (id integer)"), migrations.RunPython(fail, migrations.RunPython.noop)
    ]
    atomic = False
"""


class Installation:
    """A copy of the program as it stands on a server, with a book of its own."""

    def __init__(self, folder: Path, database: str) -> None:
        self.folder, self.backups = folder / "program", folder / "backups"
        leave = shutil.ignore_patterns("__pycache__", "*.pyc", "pictures")
        for room in ("business", "gardens", "scheduling", "deploy"):
            shutil.copytree(ROOT / room, self.folder / room, ignore=leave)
        shutil.copy2(ROOT / "manage.py", self.folder)
        programs = self.folder / ".venv" / "bin"
        programs.mkdir(parents=True)
        (programs / "python").write_text(f'#!/bin/sh\nexec {sys.executable} "$@"\n')
        (programs / "python").chmod(0o755)
        # Set-up is tried elsewhere; here it writes down that it was asked, and fails on request.
        (self.folder / "deploy" / "setup").write_text('#!/bin/sh\necho "$1" >>set-up\n[ ! -e broken-list ]\n')
        kept = {name: value for name, value in os.environ.items() if name in {"PATH", "HOME", "LANG"}}
        self.environment = {**kept, "VAR_DIR": str(folder / "var"), "DATABASE_URL": database}
        (folder / "var").mkdir()

    def run(self, *command: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(command, cwd=self.folder, env=self.environment, capture_output=True, text=True)

    def manage(self, *arguments: str) -> str:
        done = self.run(sys.executable, "manage.py", *arguments)
        assert done.returncode == 0, done.stderr[-2000:]
        return done.stdout

    def names(self) -> str:
        """The clients of the book, read by whatever program is in the folder; no model, the columns may be older."""
        ask = (
            "from django.db import connection as c; k = c.cursor(); k.execute('SELECT code, name FROM business_client')"
        )
        return self.manage("shell", "-v0", "-c", f"{ask}; print(sorted(map(tuple, k.fetchall())))").strip()

    def tables(self) -> set[str]:
        ask = "from django.db import connection as c; print(*c.introspection.table_names())"
        return set(self.manage("shell", "-v0", "-c", ask).split())

    def break_new_program(self) -> Path:
        migrations = self.folder / "business" / "migrations"
        last = max(path.stem for path in migrations.glob("0*.py"))
        wrong = migrations / "9999_wrong.py"
        wrong.write_text(FAILS.format(last=last))
        return wrong


def server() -> psycopg.Connection:
    database = connection.settings_dict
    return psycopg.connect(f"host={database['HOST']} user={database['USER']} dbname=postgres", autocommit=True)


def database_url(name: str) -> str:
    database = connection.settings_dict
    return f"postgresql://{database['USER']}@/{name}?host={database['HOST']}"


@pytest.fixture(scope="module", params=["sqlite", pytest.param("postgresql", marks=pytest.mark.services)])
def prepared(request, tmp_path_factory) -> Iterator[Installation]:
    """An older book with one client in it, made once for each kind of database."""
    folder = tmp_path_factory.mktemp("prepared")
    if request.param == "sqlite":
        yield filled(Installation(folder, f"sqlite:///{folder / 'var' / 'book.sqlite3'}"))
        return
    request.getfixturevalue("django_db_setup")
    with server() as asking:
        asking.execute("DROP DATABASE IF EXISTS upgrade_prepared")
        asking.execute("CREATE DATABASE upgrade_prepared")
        yield filled(Installation(folder, database_url("upgrade_prepared")))
        asking.execute("DROP DATABASE upgrade_prepared WITH (FORCE)")


@pytest.fixture
def installed(prepared, tmp_path: Path) -> Iterator[Installation]:
    """A copy of the prepared book under a program of its own."""
    if prepared.environment["DATABASE_URL"].startswith("sqlite"):
        book = tmp_path / "var" / "book.sqlite3"
        installation = Installation(tmp_path, f"sqlite:///{book}")
        source, copy = sqlite3.connect(prepared.folder.parent / "var" / "book.sqlite3"), sqlite3.connect(book)
        source.backup(copy)
        source.close()
        copy.close()
        yield installation
        return
    with server() as asking:
        asking.execute("DROP DATABASE IF EXISTS upgrade_tried")
        asking.execute("CREATE DATABASE upgrade_tried TEMPLATE upgrade_prepared")
        yield Installation(tmp_path, database_url("upgrade_tried"))
        asking.execute("DROP DATABASE upgrade_tried WITH (FORCE)")


def filled(installation: Installation) -> Installation:
    installation.manage("migrate", "--verbosity", "0")
    create = "from business.models import Client; Client.objects.create(code='A-1', name='Rosa Thorne')"
    installation.manage("shell", "-v0", "-c", create)
    installation.manage("migrate", "--verbosity", "0", *BEFORE)
    return installation


def backup_of(installation: Installation) -> Path:
    (only,) = installation.backups.iterdir()
    return only


def test_an_older_book_is_brought_up_to_the_program(installed):
    done = installed.run("deploy/upgrade", str(installed.backups))
    assert done.returncode == 0, done.stderr
    assert installed.names() == "[('A-1', 'Rosa Thorne')]"
    installed.manage("migrate", "--check")
    assert (installed.folder / "set-up").read_text() == "run\n"
    assert (backup_of(installed) / "manifest.json").is_file()
    assert (installed.folder.parent / "var" / "static" / "business").is_dir()
    assert "systemctl start fruit-web fruit-worker fruit-beat" in done.stderr


def test_a_step_that_fails_names_the_way_back_and_it_works(installed):
    before = installed.tables()
    wrong = installed.break_new_program()
    done = installed.run("deploy/upgrade", str(installed.backups))
    assert done.returncode == 1
    assert "the new program is wrong" in done.stderr
    assert "stopped at: the book" in done.stderr
    assert "half way" in installed.names(), "the wrong program did its harm"
    wrong.unlink()  # the previous program is put back
    (command,) = re.findall(r"upgrade:   (\./deploy/setup run && .*)", done.stderr)
    back = installed.run("bash", "-c", command)
    assert back.returncode == 0, back.stderr
    assert installed.names() == "[('A-1', 'Rosa Thorne')]"
    assert installed.tables() == before


def test_packages_that_do_not_come_leave_the_book_alone(installed):
    (installed.folder / "broken-list").touch()
    before = installed.tables()
    done = installed.run("deploy/upgrade", str(installed.backups))
    assert done.returncode == 1
    assert "The book was not touched" in done.stderr
    assert "--replace" not in done.stderr
    assert installed.tables() == before


class TestWithoutBook:
    def test_no_backup_no_upgrade(self, tmp_path):
        installation = Installation(tmp_path, f"sqlite:///{tmp_path / 'nowhere' / 'book.sqlite3'}")
        done = installation.run("deploy/upgrade", str(installation.backups))
        assert done.returncode == 1
        assert "nothing was begun" in done.stderr
        assert not (installation.folder / "set-up").exists()

    def test_without_packages_there_is_nothing_to_upgrade(self, tmp_path):
        installation = Installation(tmp_path, f"sqlite:///{tmp_path / 'book.sqlite3'}")
        shutil.rmtree(installation.folder / ".venv")
        done = installation.run("deploy/upgrade", str(installation.backups))
        assert done.returncode == 2
        assert "deploy/setup run" in done.stderr

    def test_the_folder_must_be_named(self, tmp_path):
        done = subprocess.run([ROOT / "deploy" / "upgrade"], capture_output=True, text=True)
        assert done.returncode == 2
        assert "name a folder for the backup" in done.stderr
