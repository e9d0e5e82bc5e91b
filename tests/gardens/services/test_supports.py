"""Supports on rows: checked, cared for, written about."""

from __future__ import annotations

from datetime import date

import pytest

from business.errors import BadInput
from gardens.models import Record
from gardens.services.cautions import cautions_for_support
from gardens.services.support_records import SupportFact, write_support_record
from gardens.services.supports import (
    care_of,
    core_support,
    needs_of_support,
    save_build,
    slack_of,
    support_page,
)
from gardens.supports import SagReading
from tests import make_garden

pytestmark = pytest.mark.django_db
TODAY = date(2026, 11, 25)


@pytest.fixture
def row():
    return make_garden.support()


@pytest.fixture
def trees(row):
    return [make_garden.tree(support=row), make_garden.tree(support=row, position_mm=6000)]


def test_rows_become_a_support_of_the_core(row, trees):
    core = core_support(row, trees)

    assert (core.run_mm, core.height_mm, core.wire_heights_mm) == (8000, 1900, (450, 900, 1350))
    assert [(plant.species, plant.form, plant.count) for plant in core.plants] == [
        ("apple_spur", "horizontal_tiers", 2)
    ]


def test_the_page_draws_checks_and_lists_what_to_buy(row, trees):
    page = support_page(row, trees, TODAY)

    assert page.drawing.startswith("<svg")
    assert page.report is not None
    assert page.bill is not None
    assert page.report.checks
    assert any(line.good == "straining_wire" for line in page.bill.lines)
    assert all(check.source and check.formula for check in page.report.checks)


def test_a_build_that_cannot_be_is_refused_and_nothing_kept(row, trees):
    with pytest.raises(BadInput, match="tension"):
        save_build(support=row, build={"tension_n": -5}, trees=trees)

    row.refresh_from_db()
    assert row.build == {}


def test_what_is_known_of_the_build_is_no_longer_assumed(row, trees):
    before = core_support(row, trees).surroundings.assumed

    save_build(support=row, build={"tension_n": 600, "wire": {"size": "2.5 mm", "grade": "high_tensile"}}, trees=trees)

    after = core_support(row, trees)
    assert after.tension_n == 600
    assert after.wire.grade == "high_tensile"
    assert len(after.surroundings.assumed) < len(before)


def test_more_sag_is_less_tension(row, trees):
    tight = slack_of(row, trees, SagReading(sag_mm=1, span_mm=2000))
    slack = slack_of(row, trees, SagReading(sag_mm=12, span_mm=2000))

    assert tight.tension_n > slack.tension_n > 0


def test_a_slack_wire_becomes_work_on_that_wire(row, trees):
    save_build(support=row, build={"tension_n": 600}, trees=trees, built_on=date(2023, 1, 10))
    before = next(care for care in care_of(row, trees, TODAY) if (care.kind, care.part) == ("tighten_wires", "wire:2"))
    write_support_record(
        support=row,
        fact=SupportFact(on=date(2026, 11, 20), kind="measured", what="sag", part="wire:2", value=60),
        by=None,
    )

    after = next(need for need in needs_of_support(row, trees, TODAY) if need.limb == "wire:2")

    assert not before.is_urgent
    assert (after.kind, after.is_optional) == ("tighten_wires", False)
    assert after.window.closes < date(2026, 12, 31)


@pytest.mark.parametrize(
    ("fact", "word"),
    [
        (SupportFact(on=date(2090, 1, 1), kind="seen", what="gale"), "future"),
        (SupportFact(on=TODAY, kind="measured", what="sag", part="wire:9", value=5), "3 wires"),
        (SupportFact(on=TODAY, kind="measured", what="sag", part="plank:1", value=5), "not a part"),
        (SupportFact(on=TODAY, kind="measured", what="colour", value=5), "sag"),
        (SupportFact(on=TODAY, kind="measured", what="sag", part="wire:1"), "missing"),
    ],
)
def test_a_wrong_fact_is_named_and_not_kept(row, fact, word, time_machine):
    time_machine.move_to("2026-11-25 09:00:00+00:00")

    with pytest.raises(BadInput, match=word):
        write_support_record(support=row, fact=fact, by=None)

    assert not Record.objects.exists()


def test_care_nobody_did_in_time_is_due_now(row, trees):
    save_build(support=row, build={"tension_n": 600}, trees=trees, built_on=date(2023, 1, 10))

    late = [need for need in needs_of_support(row, trees, TODAY) if "overdue since" in need.why]

    assert late
    assert all(need.window.opens == TODAY for need in late)


@pytest.mark.parametrize(
    ("kind", "height", "work", "words"),
    [
        (
            "post_and_wire",
            1900,
            "tighten_wires",
            ("eye protection", "out of the line of the wire", "local building rules"),
        ),
        ("post_and_wire", 1900, "straighten_posts", ("buried pipes and cables", "fall line")),
        ("wall", 2400, "tighten_wires", ("masonry that is sound", "qualified structural person")),
        ("wall", 2600, "erect_support", ("detector before drilling", "Load or height call for a qualified person")),
    ],
)
def test_cautions_come_with_every_work_on_a_support(kind, height, work, words):
    support = make_garden.support(kind=kind, height_mm=height, gap_mm=100)

    told = " ".join(cautions_for_support(support, [work]))

    assert all(word in told for word in words)
    assert "stored energy" in told or "holds energy" in told
