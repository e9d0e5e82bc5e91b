"""The whole job on the invented business: one command from an empty database to papers, as the demo runs it."""

from __future__ import annotations

import csv
import json
import os
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

from business.clock import now

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict]:
    """The demo built once, in a folder of its own, by the commands the script calls."""
    folder = tmp_path_factory.mktemp("demo")
    keep = {
        key: value for key, value in os.environ.items() if key not in ("DATABASE_URL", "REDIS_URL", "TEST_SERVICES")
    }
    environment = {**keep, "VAR_DIR": str(folder), "DEMO": "yes"}

    def run(*arguments: str) -> str:
        done = subprocess.run(
            [sys.executable, "manage.py", *arguments], cwd=ROOT, env=environment, capture_output=True, text=True
        )
        assert done.returncode == 0, done.stderr[-3000:]
        return done.stdout

    run("migrate", "--verbosity", "0")
    return folder, json.loads(run("build_demo", "--json", "--seconds", "2").strip().splitlines()[-1])


def test_the_demo_is_as_large_as_it_says(built):
    _, told = built

    assert told["clients"] >= 30
    assert told["sites"] >= 45
    assert told["trees"] >= 300
    assert told["needs"] > told["trees"]
    assert told["visits"] > told["sites"]
    assert told["rounds"] > 10
    assert set(told["seconds"]) >= {"plan", "rounds", "documents"}


def test_the_book_holds_many_species_forms_and_two_years(built):
    folder, _ = built
    with (folder / "book" / "trees.csv").open(encoding="utf-8") as file:
        trees = list(csv.DictReader(file))
    with (folder / "book" / "records.csv").open(encoding="utf-8") as file:
        days = [date.fromisoformat(row["date"]) for row in csv.DictReader(file)]

    assert len({row["species"] for row in trees}) >= 9
    assert len({row["form"] for row in trees}) >= 7
    assert max(days) <= now().date()
    assert (max(days) - min(days)).days > 500


@pytest.mark.parametrize("paper", ["work_order_pdf", "report_pdf", "invoice_pdf"])
def test_every_paper_is_sound_and_carries_its_fonts(built, paper):
    folder, told = built
    path = folder / Path(told[paper]).name

    assert path.stat().st_size < 2_000_000
    assert subprocess.run(["qpdf", "--check", path], capture_output=True).returncode == 0
    fonts = subprocess.run(["pdffonts", path], capture_output=True, text=True, check=True).stdout.splitlines()[2:]
    assert fonts
    assert all(line.split()[-5] == "yes" for line in fonts), fonts


def test_the_papers_say_what_happened(built):
    folder, _ = built

    def text(name: str) -> str:
        return subprocess.run(
            ["pdftotext", "-layout", folder / name, "-"], capture_output=True, text=True, check=True
        ).stdout

    assert "Work order" in text("work-order.pdf")
    assert "What comes next" in text("visit-report.pdf")
    assert "Total to pay" in text("invoice.pdf")
    assert "£" not in text("work-order.pdf")
    assert "£" not in text("visit-report.pdf")


def test_building_again_changes_nothing_and_tells_the_same(built):
    folder, told = built
    keep = {
        key: value for key, value in os.environ.items() if key not in ("DATABASE_URL", "REDIS_URL", "TEST_SERVICES")
    }
    again = subprocess.run(
        [sys.executable, "manage.py", "build_demo", "--json"],
        cwd=ROOT,
        env={**keep, "VAR_DIR": str(folder), "DEMO": "yes"},
        capture_output=True,
        text=True,
        check=True,
    )

    assert json.loads(again.stdout.strip().splitlines()[-1]) == told
