"""A crew's tick on a wire or a post is a record of the support, and changes what care it is due."""

from __future__ import annotations

from datetime import date

import pytest

from gardens.models import Record
from gardens.services.support_records import SupportFact, write_support_record
from gardens.services.supports import care_of, needs_of_support
from scheduling.models import Need, Task
from scheduling.services.seasons import plan_season
from scheduling.services.tasks import Answer, answer_task
from tests import make, make_garden

pytestmark = pytest.mark.django_db
TODAY = date(2026, 11, 25)


@pytest.fixture
def row(time_machine):
    time_machine.move_to("2026-11-25 09:00:00+00:00")
    make.profile()
    make_garden.crew()
    support = make_garden.support(built_on=date(2023, 1, 10), build={"tension_n": 600})
    make_garden.tree(support=support)
    write_support_record(
        support=support,
        fact=SupportFact(on=date(2026, 11, 20), kind="measured", what="sag", part="wire:2", value=60),
        by=None,
    )
    return support


def test_a_slack_wire_is_planned_ticked_and_rests(row):
    trees = list(row.trees.all())
    assert any((need.kind, need.limb) == ("tighten_wires", "wire:2") for need in needs_of_support(row, trees, TODAY))
    plan_season(2027)
    need = Need.objects.get(support=row, kind="tighten_wires", limb="wire:2")
    task = Task.objects.get(need=need)

    answer_task(task_id=task.pk, answer=Answer(state="done"), by=None)

    record = Record.objects.get(support=row, kind="done")
    assert (record.what, record.limb, record.source) == ("tighten_wires", "wire:2", "task")
    assert not [due for due in care_of(row, trees, TODAY) if (due.kind, due.part) == ("tighten_wires", "wire:2")]
