"""Keep the book safe: copy database and pictures into a dated folder, prove the copy, put it back.

A backup is a folder named after its instant. It holds the database (an SQLite file or a PostgreSQL archive), the
media folder and ``manifest.json`` with the SHA-256 of every file, and the rows of every table with a SHA-256 over all of
them. It appears under its name only when it is complete and proved: restored into a scratch place (a folder, or a
database made for it and dropped again), where rows and sums are reckoned anew. The signing key and the settings are not
in it: keep them apart.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import shutil
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from business import clock
from business.errors import BadInput, Fault, Refusal
from deploy.book_copies import UNFINISHED, Book, Tables, copy_database, put_database, scratch_place, tables_of

MANIFEST = "manifest.json"


def make(book: Book, folder: Path, *, keep: int | None = None, is_proved: bool = True) -> Path:
    """Write and prove a backup below ``folder`` and return its folder; with ``keep``, older ones beyond that go.

    Raises:
        Refusal: the copy did not come back as it was, or no scratch database could be made to try it in.
    """
    final = folder / clock.now().strftime("%Y-%m-%dT%H%M%SZ")
    part = final.with_name(final.name + UNFINISHED)
    part.mkdir(parents=True)
    tables = copy_database(book, part)
    if book.media.is_dir():
        shutil.copytree(book.media, part / "media")
    manifest = {
        "made_at": clock.now().isoformat(),
        "rows": {name: table.rows for name, table in tables.items()},
        "sums": {name: table.sha256 for name, table in tables.items()},
        "files": dict(_sums(part)),
    }
    (part / MANIFEST).write_text(json.dumps(manifest, indent=1), encoding="utf-8")
    if is_proved:
        prove(part, book)
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


def prove(backup: Path, book: Book) -> dict[str, int]:
    """Restore a backup of ``book`` into a scratch place beside it and compare rows, sums and files.

    Raises:
        BadInput, Refusal: something is not as it was written.
    """
    with (
        tempfile.TemporaryDirectory(prefix="proof-", dir=backup.parent) as folder,
        scratch_place(book, Path(folder)) as place,
    ):
        rows = restore(backup, place)
        kept = {name: digest for name, digest in _sums(backup) if name.startswith("media/")}
        found = {f"media/{name}": digest for name, digest in _sums(place.media)}
    if differing := sorted(name for name in kept.keys() | found.keys() if kept.get(name) != found.get(name)):
        raise Refusal([Fault(name, "does not come back as it was", "look at the disk") for name in differing])
    return rows


def restore(backup: Path, book: Book, *, replace: bool = False) -> dict[str, int]:
    """Put a whole backup in the place of the book; rows and sums are reckoned again afterwards.

    Raises:
        BadInput: the backup is not whole, or is of the other kind of database.
        Refusal: the book holds something and ``replace`` was not said, or it is not afterwards what was kept.
    """
    rows = check(backup)
    wanted = book.file_name
    if not (backup / wanted).is_file():
        raise BadInput([Fault(str(backup), f"holds no {wanted}", "set DATABASE_URL to the kind of database it is of")])
    if not replace and _holds_something(book):
        raise Refusal([Fault("the book", "is not empty", "say --replace to put the backup in its place")])
    put_database(backup / wanted, book)
    _put_media(backup / "media", book.media)
    _compare(backup, tables_of(book))
    return rows


def _compare(backup: Path, now: Tables) -> None:
    manifest = json.loads((backup / MANIFEST).read_text(encoding="utf-8"))
    rows, sums = manifest["rows"], manifest.get("sums", {})
    faults = [
        Fault(name, f"has {now[name].rows if name in now else 0} rows, not {rows.get(name, 0)}", "try again")
        for name in sorted(rows.keys() | now.keys())
        if name not in now or now[name].rows != rows.get(name)
    ]
    faults += [
        Fault(name, "holds other rows than were kept", "try again")
        for name in sorted(sums.keys() & now.keys())
        if now[name].rows == rows.get(name) and now[name].sha256 != sums[name]
    ]
    if faults:
        raise Refusal(faults)


def _put_media(kept: Path, media: Path) -> None:
    """The new folder is whole before the old one goes."""
    part, old = media.with_name(media.name + UNFINISHED), media.with_name(media.name + ".old")
    for left in (part, old):
        shutil.rmtree(left, ignore_errors=True)
    if kept.is_dir():
        shutil.copytree(kept, part)
    if media.is_dir():
        media.rename(old)
    if part.is_dir():
        part.rename(media)
    shutil.rmtree(old, ignore_errors=True)


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
    return any(table.rows for name, table in tables_of(book).items() if name != "django_migrations")


def _act(given: argparse.Namespace, book: Book) -> dict[str, int]:
    if given.act == "check":
        return check(given.backup)
    if given.act == "prove":
        return prove(given.backup, book)
    return restore(given.backup, book, replace=given.replace)


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(prog="deploy/backup, deploy/restore", description=(__doc__ or "").splitlines()[0])
    acts = parser.add_subparsers(dest="act", required=True)
    making = acts.add_parser("make", help="write a backup")
    making.add_argument("folder", type=Path)
    making.add_argument("--keep", type=int, help="how many backups stay; older ones go")
    making.add_argument("--unproved", action="store_true", help="do not restore it into a scratch place")
    restoring = acts.add_parser("restore", help="put a backup in place")
    restoring.add_argument("backup", type=Path)
    restoring.add_argument("--replace", action="store_true", help="even if the book is not empty")
    for act, words in (("check", "see that a backup is whole"), ("prove", "restore a backup into a scratch place")):
        acts.add_parser(act, help=words).add_argument("backup", type=Path)
    given = parser.parse_args(arguments)

    from deploy import settings

    book = Book(settings.DATABASES["default"], Path(settings.MEDIA_ROOT))
    try:
        if given.act == "make":
            sys.stdout.write(f"{make(book, given.folder, keep=given.keep, is_proved=not given.unproved)}\n")
        else:
            rows = _act(given, book)
            sys.stdout.write(f"{given.act}: {sum(rows.values())} rows in {len(rows)} tables\n")
    except Refusal as refusal:
        for fault in refusal.faults:
            sys.stderr.write(f"{fault}\n")
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
