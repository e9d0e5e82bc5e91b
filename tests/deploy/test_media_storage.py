"""Pictures and papers lie in a folder, or in whatever storage the settings name."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

from tests.architecture.project import ROOT

ASK = "from django.core.files.storage import storages; s = storages['default']; print(type(s).__name__, s.base_url, s.base_location)"


def told(tmp_path, **settings: str) -> subprocess.CompletedProcess[str]:
    kept = {name: value for name, value in os.environ.items() if name in {"PATH", "HOME", "LANG"}}
    return subprocess.run(
        [sys.executable, "manage.py", "shell", "-v0", "-c", ASK],
        cwd=ROOT,
        env={**kept, "VAR_DIR": str(tmp_path), **settings},
        capture_output=True,
        text=True,
    )


def test_without_a_setting_pictures_lie_in_the_folder(tmp_path):
    assert told(tmp_path).stdout.split() == ["FileSystemStorage", "/", str(tmp_path / "media")]


def test_another_storage_takes_its_options(tmp_path):
    answer = told(
        tmp_path,
        MEDIA_STORAGE="django.core.files.storage.InMemoryStorage",
        MEDIA_STORAGE_OPTIONS='{"location": "bucket", "base_url": "/kept/"}',
    )
    assert answer.stdout.split()[:2] == ["InMemoryStorage", "/kept/"], answer.stderr


@pytest.mark.parametrize("options", ["[1]", "bucket", "{"])
def test_options_that_cannot_be_read_are_named(tmp_path, options):
    answer = told(tmp_path, MEDIA_STORAGE="django.core.files.storage.InMemoryStorage", MEDIA_STORAGE_OPTIONS=options)
    assert answer.returncode != 0
    assert "MEDIA_STORAGE_OPTIONS" in answer.stderr
    assert "use a JSON object" in answer.stderr
