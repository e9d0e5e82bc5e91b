"""The scripts of the house: they set up once, say what is missing, and stop what they started."""

from __future__ import annotations

import http.client
import json
import os
import shutil
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest
from django.conf import settings
from django.urls import reverse

from deploy.summary import with_setup_seconds

ROOT = Path(__file__).resolve().parents[2]
SCRIPTS = ["backup", "check", "demo", "lock", "restore", "serve", "setup", "test", "upgrade"]
TOOLS = ["bash", "cat", "cut", "dirname", "env", "find", "grep", "rm", "sha256sum"]


def run(*command: str | Path, **options) -> subprocess.CompletedProcess[str]:
    return subprocess.run([str(part) for part in command], capture_output=True, text=True, timeout=120, **options)


@pytest.mark.parametrize("name", SCRIPTS)
def test_every_script_can_be_run_and_read(name):
    script = ROOT / "deploy" / name
    assert os.access(script, os.X_OK)
    assert run("bash", "-n", script).returncode == 0
    assert "#" in script.read_text(encoding="utf-8").splitlines()[1], "line two says what it does"


@pytest.mark.parametrize(
    ("command", "words"),
    [
        (["deploy/setup", "everything"], "say run or test"),
        (["deploy/check", "--faster"], "knows only --fix"),
        (["deploy/demo", "--quiet"], "knows --no-serve and --fresh"),
    ],
)
def test_an_unknown_word_is_answered_with_the_known_ones(command, words):
    done = run(*command, cwd=ROOT)
    assert done.returncode == 2
    assert words in done.stderr


@pytest.fixture
def small_project(tmp_path: Path) -> Path:
    """A project with the real set-up script and empty package lists."""
    project = tmp_path / "project"
    (project / "deploy" / "requirements").mkdir(parents=True)
    shutil.copy2(ROOT / "deploy" / "setup", project / "deploy" / "setup")
    for name in ("run", "test"):
        (project / "deploy" / "requirements" / f"{name}.txt").write_text("# nothing\n")
    return project


class TestSetup:
    def bare_machine(self, tmp_path: Path, *, user_number: int = 1000) -> dict[str, str]:
        """A path with little on it; by default somebody who is neither root nor may become it."""
        programs = tmp_path / "bin"
        programs.mkdir()
        for tool in TOOLS:
            (programs / tool).symlink_to(shutil.which(tool) or f"/usr/bin/{tool}")
        (programs / "python3").symlink_to(Path(sys.base_prefix) / "bin" / "python3")
        (programs / "id").write_text(f"#!/bin/sh\necho {user_number}\n")
        (programs / "id").chmod(0o755)
        return {"PATH": str(programs), "HOME": str(tmp_path)}

    def test_missing_packages_are_named_and_nothing_is_done(self, small_project, tmp_path):
        done = run("deploy/setup", "test", cwd=small_project, env=self.bare_machine(tmp_path))
        assert done.returncode == 3
        for package in ("redis-server", "chromium", "poppler-utils", "qpdf"):
            assert package in done.stderr
        assert "apt-get install" in done.stderr
        assert not (small_project / ".venv").exists()

    def test_root_gets_the_missing_packages_installed(self, small_project, tmp_path):
        environment = self.bare_machine(tmp_path, user_number=0)
        programs = tmp_path / "bin"
        # Stands for the package manager: writes down what it was asked, and "installs" the programs.
        packages = "chromium redis-server pdftoppm qpdf"
        (programs / "apt-get").write_text(
            f'#!/usr/bin/env bash\necho "$*" >>{tmp_path}/asked\n[ "$1" = update ] && exit 0\n'
            f"for name in {packages}; do cat /usr/bin/env >{programs}/$name; chmod +x {programs}/$name; done\n"
        )
        (programs / "apt-get").chmod(0o755)
        (programs / "chmod").symlink_to(shutil.which("chmod") or "/usr/bin/chmod")
        done = run("deploy/setup", "test", cwd=small_project, env=environment)
        assert done.returncode == 0, done.stderr
        update, install = (tmp_path / "asked").read_text().splitlines()
        assert update.split()[0] == "update"
        assert {"redis-server", "chromium", "poppler-utils", "qpdf"} <= set(install.split())
        assert (small_project / ".venv" / "bin" / "python").exists()

    def test_a_machine_without_python_is_told_so(self, small_project, tmp_path):
        environment = self.bare_machine(tmp_path)
        (tmp_path / "bin" / "python3").unlink()
        done = run("deploy/setup", "run", cwd=small_project, env=environment)
        assert done.returncode == 3
        assert "python3-venv" in done.stderr
        assert "3.11 or newer" in done.stderr

    def test_the_second_run_does_nothing(self, small_project):
        first = run("deploy/setup", "test", cwd=small_project)
        assert first.returncode == 0, first.stderr
        assert "Python packages" in first.stderr
        for covered in ("test", "run"):
            again = run("deploy/setup", covered, cwd=small_project)
            assert (again.returncode, again.stderr) == (0, "")
        (small_project / "deploy" / "requirements" / "run.txt").write_text("# changed\n")
        assert "Python packages" in run("deploy/setup", "run", cwd=small_project).stderr


class TestSummary:
    def test_the_seconds_of_the_set_up_join_the_last_line(self):
        log = 'plan  ████ 100 %\n{"clients": 30, "seconds": {"plan": 2.5}}\n\n'
        assert json.loads(with_setup_seconds(log, 12.345)) == {"clients": 30, "seconds": {"setup": 12.3, "plan": 2.5}}

    def test_a_kept_summary_gets_the_new_set_up_time(self):
        kept = '{"seconds": {"setup": 99, "plan": 2.5}}'
        assert json.loads(with_setup_seconds(kept, 1))["seconds"] == {"setup": 1, "plan": 2.5}

    @pytest.mark.parametrize("log", ["", "done\n", "3\n"])
    def test_a_log_without_a_summary_is_refused(self, log):
        with pytest.raises(ValueError, match=r"summary|Expecting"):
            with_setup_seconds(log, 1)


def free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


def answer_of(serving: subprocess.Popen, port: int, path: str) -> tuple[int, str]:
    """Status and where it leads, as soon as the server answers."""
    deadline = time.monotonic() + 90
    while time.monotonic() < deadline and serving.poll() is None:
        asking = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
        try:
            asking.request("GET", path)
            answer = asking.getresponse()
            return answer.status, answer.getheader("Location", "")
        except OSError:
            time.sleep(0.2)
        finally:
            asking.close()
    pytest.fail(f"{path} did not answer")


def children_of(pid: int) -> list[int]:
    done = run("ps", "-o", "pid=", "--ppid", str(pid))
    return [int(word) for word in done.stdout.split()]


def is_running(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except FileNotFoundError:
        return False


def test_serving_starts_both_and_stops_both(tmp_path):
    port = free_port()
    environment = {**os.environ, "VAR_DIR": str(tmp_path / "var"), "PORT": str(port)}
    for name in ("DATABASE_URL", "REDIS_URL", "DJANGO_ALLOW_ASYNC_UNSAFE"):
        environment.pop(name, None)
    with (tmp_path / "log").open("wb") as log:
        # Whoever runs the tests in the background hands an ignored Ctrl-C down to every child; the one here must hear it.
        serving = subprocess.Popen(
            ["deploy/serve"],
            cwd=ROOT,
            env=environment,
            stdout=log,
            stderr=log,
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
        )
    try:
        assert answer_of(serving, port, "/static/business/style.css") == (200, "")
        # Nobody is signed in: the first page leads to the door.
        status, leads_to = answer_of(serving, port, "/")
        assert (status, leads_to.split("?")[0]) == (302, reverse(settings.LOGIN_URL))
        children = children_of(serving.pid)
        assert len(children) == 2
        serving.send_signal(signal.SIGINT)
        assert serving.wait(timeout=60) == 0, (tmp_path / "log").read_text()
        assert [pid for pid in children if is_running(pid)] == []
    finally:
        if serving.poll() is None:
            serving.kill()
            serving.wait()
