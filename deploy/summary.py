"""The last line of ``deploy/demo``: what build_demo said, with the seconds of the set-up measured by the script."""

from __future__ import annotations

import json
import sys
from pathlib import Path


def with_setup_seconds(log: str, setup_seconds: float) -> str:
    """The JSON line at the end of ``log``, its ``seconds`` completed.

    Raises:
        ValueError: the log does not end with a JSON object.
    """
    lines = [line for line in log.splitlines() if line.strip()]
    summary = json.loads(lines[-1]) if lines else None
    if not isinstance(summary, dict):
        raise ValueError("build_demo did not end with its summary")
    measured = {name: seconds for name, seconds in summary.get("seconds", {}).items() if name != "setup"}
    summary["seconds"] = {"setup": round(setup_seconds, 1), **measured}
    return json.dumps(summary)


def main(log_path: str, began: str, ready: str) -> None:
    log = Path(log_path).read_text(encoding="utf-8")
    sys.stdout.write(with_setup_seconds(log, float(ready) - float(began)) + "\n")


if __name__ == "__main__":
    main(*sys.argv[1:])
