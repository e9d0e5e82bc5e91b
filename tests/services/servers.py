"""PostgreSQL, Redis and the program's own processes, private to one test: on free ports, in one folder, stopped by pid.

Unlike the servers that deploy/test starts for the whole run, these may be restarted, killed and filled at will.
"""

from __future__ import annotations

import http.client
import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import quote

ROOT = Path(__file__).resolve().parents[2]


def free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


def wait_for(condition: Callable[[], object], what: str, seconds: float = 60) -> None:
    deadline = time.monotonic() + seconds
    while not condition():
        if time.monotonic() > deadline:
            raise TimeoutError(f"{what}: not within {seconds} s")
        time.sleep(0.05)


@contextmanager
def open_folder(prefix: str) -> Iterator[Path]:
    """A folder below the temporary one that the account of PostgreSQL may enter (pytest's own are closed to it)."""
    folder = Path(tempfile.mkdtemp(prefix=prefix))
    folder.chmod(0o755)
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


class Postgres:
    """A PostgreSQL of its own on a socket in ``folder``, as quick as one may be whose data nobody needs tomorrow."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder / "postgres"
        programs = [*sorted(Path("/usr/lib/postgresql").glob("*/bin")), *map(Path, os.get_exec_path())]
        self.programs = next(path for path in programs if (path / "initdb").exists())
        self.folder.mkdir()
        if os.getuid() == 0:
            shutil.chown(self.folder, "postgres")
        self._run(
            "initdb", "-D", self.data, "-A", "trust", "-U", "gardener", "-E", "UTF8", "--locale=C.UTF-8", "--no-sync"
        )

    @property
    def data(self) -> Path:
        return self.folder / "data"

    def start(self) -> None:
        options = f"-c listen_addresses='' -c unix_socket_directories='{self.folder}' -c fsync=off"
        self._run("pg_ctl", "-D", self.data, "-w", "-l", self.folder / "log", "-o", options, "start")

    def stop(self, how: str = "immediate") -> None:
        """``immediate`` throws everybody out at once, as a crash would; the log is replayed at the next start."""
        self._run("pg_ctl", "-D", self.data, "-m", how, "-w", "stop")

    def url(self, name: str = "postgres") -> str:
        return f"postgresql://gardener@/{name}?host={quote(str(self.folder))}"

    def _run(self, program: str, *arguments: object) -> None:
        # PostgreSQL refuses to run as root; its own account does it then.
        account = ["setpriv", "--reuid=postgres", "--regid=postgres", "--clear-groups"] if os.getuid() == 0 else []
        command = [*account, str(self.programs / program), *map(str, arguments)]
        with (self.folder.parent / "postgres-starts.log").open("a+") as log:
            subprocess.run(command, cwd="/", stdout=log, stderr=log, check=True, timeout=120)


class Redis:
    """A Redis of its own; it forgets everything when it is stopped."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.port = free_port()
        self.process: subprocess.Popen[bytes] | None = None

    @property
    def url(self) -> str:
        return f"redis://127.0.0.1:{self.port}/0"

    def start(self) -> None:
        quiet = ["--save", "", "--appendonly", "no", "--dir", str(self.folder)]
        with (self.folder / "redis.log").open("ab") as log:
            self.process = subprocess.Popen(
                ["redis-server", "--port", str(self.port), "--bind", "127.0.0.1", *quiet], stdout=log, stderr=log
            )
        wait_for(lambda: is_listening(self.port), "Redis")

    def stop(self) -> None:
        if self.process is not None:
            self.process.terminate()
            self.process.wait(timeout=30)
            self.process = None


def is_listening(port: int) -> bool:
    with socket.socket() as asking:
        return asking.connect_ex(("127.0.0.1", port)) == 0


class Process:
    """One process of the program in a group of its own, so that it can be killed with all its children."""

    def __init__(self, name: str, arguments: list[str], environment: Mapping[str, str], log: Path) -> None:
        self.name, self.log = name, log
        with log.open("ab") as out:
            self.process = subprocess.Popen(
                [sys.executable, *arguments],
                cwd=ROOT,
                env=dict(environment),
                stdout=out,
                stderr=out,
                start_new_session=True,
            )

    @property
    def pid(self) -> int:
        return self.process.pid

    def stop(self, seconds: float = 60) -> None:
        """Let it finish what it holds; a celery worker whose broker is gone is not waited for longer."""
        if self.process.poll() is None:
            self.process.terminate()
            try:
                self.process.wait(timeout=seconds)
            except subprocess.TimeoutExpired:
                self.kill()

    def kill(self) -> None:
        """As if the power went: signal 9 to the process and every child of it."""
        if self.process.poll() is None:
            os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait(timeout=30)

    def children(self) -> list[int]:
        done = subprocess.run(
            ["ps", "-o", "pid=", "--ppid", str(self.pid)], capture_output=True, text=True, check=False
        )
        return [int(word) for word in done.stdout.split()]

    def tail(self) -> str:
        return self.log.read_text(errors="replace")[-3000:]


class Servers:
    """A whole installation: PostgreSQL, Redis, and as many web processes and workers as asked for."""

    def __init__(self, folder: Path, **settings: str) -> None:
        self.folder = folder
        self.var = folder / "var"
        self.var.mkdir()
        self.postgres, self.redis = Postgres(folder), Redis(folder)
        self.postgres.start()
        self.redis.start()
        self.running: list[Process] = []
        kept = {name: value for name, value in os.environ.items() if name in {"PATH", "HOME", "LANG", "TMPDIR"}}
        self.environment = {
            **kept,
            "VAR_DIR": str(self.var),
            "DEMO": "yes",
            "DATABASE_URL": self.postgres.url(),
            "REDIS_URL": self.redis.url,
            "XDG_CACHE_HOME": str(folder / "cache"),
            **settings,
        }

    def manage(self, *arguments: str) -> str:
        done = subprocess.run(
            [sys.executable, "manage.py", *arguments], cwd=ROOT, env=self.environment, capture_output=True, text=True
        )
        if done.returncode:
            raise RuntimeError(f"manage.py {' '.join(arguments)}: {done.stderr[-3000:]}")
        return done.stdout

    def start_web(self, *, workers: int = 1, threads: int = 4, **settings: str) -> tuple[Process, int]:
        """A web server of its own, and the port it answers on."""
        port = free_port()
        arguments = ["-m", "gunicorn", "deploy.wsgi", "--bind", f"127.0.0.1:{port}", "--worker-class", "gthread"]
        arguments += [
            "--workers",
            str(workers),
            "--threads",
            str(threads),
            "--no-control-socket",
            "--log-level",
            "warning",
        ]
        web = self._start(f"web-{port}", arguments, settings)
        self._wait(web, lambda: status_of(port, "/healthz") == 200)
        return web, port

    def start_worker(self, *, app: str = "deploy", concurrency: int = 2, **settings: str) -> Process:
        arguments = ["-m", "celery", "-A", app, "worker", "--pool", "prefork", "--concurrency", str(concurrency)]
        arguments += ["--without-gossip", "--without-mingle", "--without-heartbeat", "--loglevel", "info"]
        number = sum(process.name.startswith("worker") for process in self.running) + 1
        worker = self._start(f"worker-{number}", [*arguments, "--hostname", f"worker{number}@here"], settings)
        self._wait(worker, lambda: re.search(r"@here ready\.", worker.tail()))
        return worker

    def start_beat(self, **settings: str) -> Process:
        arguments = ["-m", "celery", "-A", "deploy", "beat", "--schedule", str(self.var / "beat")]
        return self._start("beat", arguments, settings)

    def stop(self) -> None:
        for process in reversed(self.running):
            process.kill()
        self.redis.stop()
        self.postgres.stop()

    def _start(self, name: str, arguments: list[str], settings: Mapping[str, str]) -> Process:
        process = Process(name, arguments, {**self.environment, **settings}, self.folder / f"{name}.log")
        self.running.append(process)
        return process

    def _wait(self, process: Process, condition: Callable[[], object]) -> None:
        wait_for(lambda: process.process.poll() is not None or condition(), process.name, 90)
        if process.process.poll() is not None:
            raise RuntimeError(f"{process.name} ended: {process.tail()}")


def status_of(port: int, path: str) -> int:
    """0 if nobody answers."""
    asking = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
    try:
        asking.request("GET", path)
        return asking.getresponse().status
    except OSError:
        return 0
    finally:
        asking.close()


@contextmanager
def servers(prefix: str = "fruit-servers-", **settings: str) -> Iterator[Servers]:
    """An installation with an empty, migrated book; everything is stopped and removed at the end."""
    # Whoever ends this process politely wants the servers ended with it.
    signal.signal(signal.SIGTERM, lambda number, frame: sys.exit(128 + number))
    with open_folder(prefix) as folder:
        running = Servers(folder, **settings)
        try:
            running.manage("migrate", "--verbosity", "0")
            yield running
        finally:
            running.stop()
