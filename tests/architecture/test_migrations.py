"""Tables and migrations agree, and each room has one line of migrations."""

from __future__ import annotations

from collections import Counter
from io import StringIO

import pytest
from django.core.management import call_command

from tests.architecture.project import ROOMS, ROOT


@pytest.mark.django_db
def test_no_model_change_lacks_its_migration():
    said = StringIO()
    try:
        call_command("makemigrations", "--check", "--dry-run", stdout=said)
    except SystemExit:
        pytest.fail(f"Run manage.py makemigrations:\n{said.getvalue()}")


@pytest.mark.parametrize("room", ROOMS)
def test_no_two_migrations_share_a_number(room):
    numbers = Counter(path.name[:4] for path in (ROOT / room / "migrations").glob("[0-9]*.py"))
    assert [number for number, times in numbers.items() if times > 1] == []


@pytest.mark.django_db
def test_system_checks_pass_without_a_warning():
    call_command("check", "--fail-level", "WARNING")
