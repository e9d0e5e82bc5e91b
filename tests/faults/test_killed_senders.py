"""Workers killed at every step of a send: nothing is told twice that may not be, nothing that must go stays behind."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

from tests.services.mail_server import STEPS
from tests.services.servers import ROOT

pytestmark = pytest.mark.services
NOT_YET = ("connected", "sender", "reader", "data")
"""Steps at which no server can have taken the mail."""
PERHAPS = ("text", "taken", "quit")
"""Steps at which it can, and we have not written it down."""


@pytest.fixture(scope="module")
def told():
    run = subprocess.run(
        [sys.executable, "-m", "tests.faults.killed_senders"], cwd=ROOT, capture_output=True, text=True, timeout=600
    )
    assert run.returncode == 0, run.stderr[-3000:]
    return json.loads(run.stdout)


def test_every_step_of_a_send_was_tried(told):
    assert set(told["kill"]) == {"before", *STEPS, "after"}
    assert set(NOT_YET + PERHAPS) == set(STEPS)


def test_no_mail_that_may_not_repeat_goes_twice(told):
    assert {step: kinds["reminder"]["copies"] for step, kinds in told["kill"].items()} == {
        "before": 1,
        **dict.fromkeys(NOT_YET, 0),
        **dict.fromkeys(PERHAPS, 1),
        "after": 1,
    }


def test_a_reminder_whose_fate_nobody_knows_waits_for_a_person(told):
    became = {step: kinds["reminder"]["became"] for step, kinds in told["kill"].items()}
    assert became == {"before": "handed_over", **dict.fromkeys(STEPS, "not_sure"), "after": "handed_over"}


def test_no_mail_that_must_go_stays_behind(told):
    assert all(kinds["invoice"]["became"] == "handed_over" for kinds in told["kill"].values())
    assert {step: kinds["invoice"]["copies"] for step, kinds in told["kill"].items()} == {
        "before": 1,
        **dict.fromkeys(NOT_YET, 1),
        # Exactly once cannot be had from a mail server: these two copies are the price of losing none …
        **dict.fromkeys(PERHAPS, 2),
        "after": 1,
    }


def test_all_copies_of_a_mail_bear_one_identity(told):
    # … and this is what lets the reader's program know them as one (RFC 5322, 3.6.4).
    assert all(one["identities"] <= 1 for kinds in told["kill"].values() for one in kinds.values())


def test_a_child_that_dies_before_its_job_loses_nothing(told):
    assert told["child"] == {"deaths": 1, "became": "handed_over", "copies": 1, "identities": 1}


def test_a_line_broken_after_the_text_is_told_apart(told):
    assert told["broken off"] == {
        "reminder": {"left": "not_sure", "became": "not_sure", "copies": 1, "identities": 1},
        "invoice": {"left": "waiting", "became": "handed_over", "copies": 2, "identities": 1},
    }
