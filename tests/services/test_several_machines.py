"""Two web servers and three workers act as one: what deploy/GUIDE.md promises, as far as one machine can show it."""

from __future__ import annotations

import json
import re
import subprocess
import sys

import pytest

from tests.services.servers import ROOT

pytestmark = pytest.mark.services


@pytest.fixture(scope="module")
def told():
    run = subprocess.run(
        [sys.executable, "-m", "tests.services.several_machines"], cwd=ROOT, capture_output=True, text=True, timeout=600
    )
    assert run.returncode == 0, run.stderr[-3000:]
    return json.loads(run.stdout)


def test_three_workers_send_every_mail_exactly_once(told):
    mails = told["mails"]
    assert (mails["handed over"], mails["different"], mails["copies"]) == (30, 30, [1])
    assert all(jobs > 0 for jobs in mails["jobs of each worker"]), "each of the three had a part in it"


def test_a_session_holds_and_ends_on_both_servers(told):
    assert told["session"] == {"before": 302, "signed in": 302, "seen": [200, 200], "left": 302, "after": 302}


def test_a_photo_sent_through_both_is_seen_through_both(told):
    photo = told["photo"]
    assert photo["announced"] == 200
    assert len(photo["pieces"]) >= 3
    assert set(photo["pieces"]) == {200}
    assert (photo["is here"], photo["seen"], photo["same bytes"]) == (True, [200, 200], True)


def test_either_server_tells_the_figures_of_both(told):
    assert told["figures"]["told"] == ["2", "2"]
    assert told["ready"] == [200, 200]


def test_the_guide_names_settings_and_files_that_exist():
    text = (ROOT / "deploy" / "GUIDE.md").read_text(encoding="utf-8")
    settings = "".join(
        (ROOT / "deploy" / name).read_text(encoding="utf-8") for name in ("settings.py", "environment.py")
    )
    for name in set(re.findall(r"`([A-Z][A-Z_]{4,})(?:=[^`]*)?`", text)) - {"VACUUM"}:
        assert f'"{name.removesuffix("_FILE")}"' in settings, name
    for path in re.findall(r"`((?:deploy|tests)/[\w./-]+)`", text):
        assert (ROOT / path).exists(), path
