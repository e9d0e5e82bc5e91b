"""What runs the program on a server: service units, their timer, the proxy in front."""

from __future__ import annotations

import configparser
import os
import re
import shutil
import subprocess
from pathlib import Path

import pytest
from django.urls import URLResolver, get_resolver

from deploy.logs import without_links

ROOT = Path(__file__).resolve().parents[2]
UNITS = sorted((ROOT / "deploy" / "units").glob("fruit-*.*"))
PROXY = ROOT / "deploy" / "proxy" / "nginx.conf"
EXAMPLE = ROOT / "deploy" / "units" / "fruit.env.example"
# systemd.exec(5): what a service should give up that needs none of it.
GIVEN_UP = {"NoNewPrivileges": "yes", "ProtectSystem": "strict", "ProtectHome": "yes", "PrivateTmp": "yes"}


def unit(path: Path) -> configparser.ConfigParser:
    read = configparser.ConfigParser(strict=False, interpolation=None, comment_prefixes=("#",), delimiters=("=",))
    read.optionxform = str
    read.read_string(path.read_text(encoding="utf-8"))
    return read


def test_web_worker_clock_and_nightly_backup_have_units():
    assert {path.name for path in UNITS} == {
        "fruit-web.service",
        "fruit-worker.service",
        "fruit-beat.service",
        "fruit-backup.service",
        "fruit-backup.timer",
    }


@pytest.mark.parametrize("path", [path for path in UNITS if path.suffix == ".service"], ids=lambda path: path.name)
def test_a_service_runs_what_is_there_as_nobody_special(path):
    service = unit(path)["Service"]
    assert service["User"] == "fruit"
    assert service["EnvironmentFile"] == "/etc/fruit.env"
    assert {name: service.get(name) for name in GIVEN_UP} == GIVEN_UP
    program, *arguments = service["ExecStart"].split()
    assert program in {"/opt/fruit/.venv/bin/python", "/opt/fruit/deploy/backup"}
    if program.endswith("backup"):
        assert os.access(ROOT / "deploy" / "backup", os.X_OK)
        assert arguments[0] in service["ReadWritePaths"].split()
    else:
        help_text = subprocess.run(
            [ROOT / ".venv" / "bin" / "python", *arguments[:5], "--help"]
            if "celery" in arguments
            else [ROOT / ".venv" / "bin" / "python", *arguments[:2], "--help"],
            cwd=ROOT,
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for option in (word for word in arguments[2:] if word.startswith("--")):
            assert option in help_text, option


def test_the_backup_timer_starts_the_backup_and_catches_up():
    timer = unit(ROOT / "deploy" / "units" / "fruit-backup.timer")
    assert timer["Timer"]["Persistent"] == "yes"
    assert timer["Install"]["WantedBy"] == "timers.target"


def test_only_one_clock_is_started():
    starts = [path.name for path in UNITS if re.search(r"^ExecStart=.*(\bbeat\b|--beat)", path.read_text(), re.M)]
    assert starts == ["fruit-beat.service"]


if shutil.which("systemd-analyze"):

    def test_systemd_finds_nothing_wrong_with_the_units(tmp_path):
        """On a machine with systemd its own reader looks too; the programs named stand in /opt only on a server."""
        for path in UNITS:
            text = path.read_text(encoding="utf-8").replace("/opt/fruit/.venv/bin/python", "/bin/true")
            (tmp_path / path.name).write_text(text.replace("/opt/fruit/deploy/backup", "/bin/true"))
        said = subprocess.run(
            ["systemd-analyze", "verify", *sorted(str(path) for path in tmp_path.iterdir())],
            capture_output=True,
            text=True,
            check=False,
        ).stderr
        assert [line for line in said.splitlines() if str(tmp_path) in line or "fruit-" in line] == []


def test_every_example_setting_is_one_the_program_reads():
    names = re.findall(r"^([A-Z_]+)=", EXAMPLE.read_text(encoding="utf-8"), re.M)
    settings = (ROOT / "deploy" / "settings.py").read_text(encoding="utf-8")
    for name in names:
        assert f'"{name.removesuffix("_FILE")}"' in settings, name


# The proxy


def blocks(text: str) -> list[str]:
    """Words of the configuration; quotes are kept together, comments left out."""
    return re.findall(r"""'[^']*'|"[^"]*"|[{};]|[^\s{};'"]+""", re.sub(r"(?m)^\s*#.*$", "", text))


def test_every_block_is_closed_and_every_line_ended():
    depth, last = 0, ";"
    for word in blocks(PROXY.read_text(encoding="utf-8")):
        if word == "{":
            depth += 1
        elif word == "}":
            assert last in {";", "}"}, "a line before } lacks its ;"
            depth -= 1
        assert depth >= 0
        last = word
    assert (depth, last) == (0, "}")


def test_the_proxy_replaces_what_visitors_claim():
    text = PROXY.read_text(encoding="utf-8")
    for header in (
        "Host $host",
        "X-Forwarded-Proto $scheme",
        "X-Forwarded-For $remote_addr",
        "X-Request-ID $request_id",
    ):
        assert f"proxy_set_header {header};" in text


def test_uploads_pass_the_proxy_as_far_as_the_program_takes_them(settings):
    (most,) = re.findall(r"client_max_body_size (\d+)m;", PROXY.read_text(encoding="utf-8"))
    assert int(most) * 1024 * 1024 >= settings.DATA_UPLOAD_MAX_MEMORY_SIZE


def test_what_watches_is_answered_on_this_machine_only():
    (names, inside) = re.findall(r"location ~ \^/\(([^)]*)\)\$ \{(.*?)\}", PROXY.read_text(encoding="utf-8"), re.S)[0]
    assert set(names.split("|")) == {"healthz", "readyz", "metrics"}
    assert "deny all;" in inside


def addresses_with_keys(resolver: URLResolver | None = None, prefix: str = "/") -> list[str]:
    found = []
    for entry in (resolver or get_resolver()).url_patterns:
        route = prefix + str(entry.pattern)
        if isinstance(entry, URLResolver):
            found += addresses_with_keys(entry, route)
        elif "<str:token>" in route:
            found.append(route)
    return found


def test_no_log_shows_the_key_of_any_address():
    routes = addresses_with_keys()
    assert len(routes) >= 5
    (kept,) = re.findall(r'"~\^\(\?<kept>(.*)\)" ', PROXY.read_text(encoding="utf-8"))
    key = "Zm9vYmFyYmF6cXV4"
    for route in routes:
        address = route.replace("<str:token>", key)
        shown = re.match(kept, address)
        assert shown, f"the proxy's log would show {route}"
        assert key not in shown.group(0)
        assert key not in without_links(f"GET {address} HTTP/1.1")


if shutil.which("nginx") and shutil.which("openssl"):

    def test_nginx_itself_reads_the_configuration(tmp_path):
        """Where the proxy is installed; elsewhere the tests above have read it."""
        key, certificate = tmp_path / "key.pem", tmp_path / "certificate.pem"
        request = ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-subj", "/CN=fruit.example.com"]
        subprocess.run([*request, "-keyout", key, "-out", certificate], capture_output=True, check=True)
        text = PROXY.read_text(encoding="utf-8")
        text = text.replace("/etc/ssl/fruit/fullchain.pem", str(certificate))
        text = text.replace("/etc/ssl/fruit/privkey.pem", str(key)).replace("/var/log/nginx", str(tmp_path))
        text = re.sub(r"listen (80|443)", lambda found: f"listen 127.0.0.1:{found[1]}", text)
        whole = tmp_path / "nginx.conf"
        whole.write_text(f"pid {tmp_path}/pid;\nerror_log {tmp_path}/error.log;\nevents {{}}\nhttp {{\n{text}\n}}\n")
        done = subprocess.run(["nginx", "-t", "-q", "-p", tmp_path, "-c", whole], capture_output=True, text=True)
        assert done.returncode == 0, done.stderr
