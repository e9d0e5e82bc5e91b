"""The real thing: PostgreSQL, Redis and a Celery worker of our own, as deploy/test starts them."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest
from django.conf import settings as django_settings
from django.db import connection

from deploy.celery import app

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def queued() -> Iterator[None]:
    """Jobs go through the broker instead of running at once."""
    app.conf.task_always_eager = False
    yield
    app.conf.task_always_eager = True


class Worker:
    """A worker process on the test database; it may be killed and started again."""

    def __init__(self, log: Path) -> None:
        self.log = log
        self.process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        arguments = ["-m", "celery", "-A", "deploy", "worker", "--pool", "prefork", "--concurrency", "2"]
        quiet = ["--without-gossip", "--without-mingle", "--without-heartbeat", "--loglevel", "info"]
        with self.log.open("ab") as log:
            self.process = subprocess.Popen(
                [sys.executable, *arguments, *quiet], cwd=ROOT, env=self._environment(), stdout=log, stderr=log
            )
        self._wait_until_it_answers()

    def stop(self) -> None:
        """Let it finish what it holds."""
        if self.process is not None:
            self.process.terminate()
            self.process.wait(timeout=30)
            self.process = None

    def kill(self) -> None:
        """As if the power went."""
        if self.process is not None:
            self.process.kill()
            self.process.wait(timeout=30)
            self.process = None

    def _environment(self) -> dict[str, str]:
        database = connection.settings_dict
        return {
            **os.environ,
            "DATABASE_URL": f"postgresql://{database['USER']}@/{database['NAME']}?host={quote(database['HOST'])}",
            "VAR_DIR": str(django_settings.VAR),
        }

    def _wait_until_it_answers(self) -> None:
        deadline = time.monotonic() + 60
        while time.monotonic() < deadline:
            if self.process is not None and self.process.poll() is not None:
                break
            if app.control.ping(timeout=0.5):
                return
        pytest.fail(f"The worker did not start:\n{self.log.read_text(errors='replace')[-3000:]}")


@pytest.fixture(scope="session")
def worker_process(django_db_setup: None, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Worker]:
    worker = Worker(tmp_path_factory.mktemp("worker") / "worker.log")
    yield worker
    worker.stop()


@pytest.fixture
def worker(transactional_db: None, queued: None, worker_process: Worker) -> Iterator[Worker]:
    """A running worker on the rows this test writes. Rows must be committed, hence no test transaction."""
    app.control.purge()
    if worker_process.process is None:
        worker_process.start()
    yield worker_process
    app.control.purge()


@pytest.fixture
def eventually() -> Any:
    """``eventually(lambda: Message.objects.filter(state="handed_over").exists())``: wait for it, at most 20 s."""

    def wait(condition: Any, seconds: float = 20) -> None:
        deadline = time.monotonic() + seconds
        while time.monotonic() < deadline:
            if condition():
                return
            time.sleep(0.05)
        pytest.fail(f"It did not come true within {seconds} s.")

    return wait
