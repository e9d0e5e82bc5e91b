"""Acts from phones: once each, in any order, with an answer to each, and records that follow."""

from __future__ import annotations

import random
import uuid
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from gardens.models import Photo, Record
from scheduling.models import FieldAct, HandedOut, Need, Phone, Task, Visit
from scheduling.services.field_phones import meet_phone
from scheduling.services.field_sync import Batch, take_batch
from scheduling.services.tasks import Answer, answer_task, undo_answer
from tests import make_garden
from tests.conftest import make_staff

DAY = date(2025, 1, 14)
TEN = datetime(2025, 1, 14, 10, 0, tzinfo=UTC)
LATER = datetime(2025, 1, 14, 18, 0, tzinfo=UTC)


class Pocket:
    """A phone in a pocket: numbers its acts as the page does."""

    def __init__(self, person: Any, *visits: Visit) -> None:
        self.person = person
        self.uid = uuid.uuid4()
        self.seq = 0
        phone = meet_phone(uid=self.uid, staff=person)
        for visit in visits:
            HandedOut.objects.create(phone=phone, staff=person, visit=visit, first_at=TEN)

    def act(self, kind: str, visit: Visit, *, minute: int = 0, **more: Any) -> dict[str, Any]:
        self.seq += 1
        at = more.pop("at", TEN + timedelta(minutes=minute or self.seq))
        said = {"id": str(uuid.uuid4()), "seq": self.seq, "schema": 1, "person": self.person.pk, "visit": visit.pk}
        return {**said, "kind": kind, "at": at.isoformat(), "offset_s": 0, "value": {}, **more}

    def answer(self, kind: str, task: Task, visit: Visit, **more: Any) -> dict[str, Any]:
        job = {"tree": task.tree_id, "kind": task.kind, "limb": task.limb, "need": task.need_id, "at_mm": task.at_mm}
        return self.act(kind, visit, task=task.pk, job=job, **more)

    def send(self, *acts: dict[str, Any], by: Any = None, at: datetime = LATER) -> list[Any]:
        batch = Batch(phone=self.uid, acts=acts)
        return list(take_batch(batch=batch, by=by or self.person, received_at=at).receipts)


def a_visit(crew_person: Any, *others: Any, jobs: int = 2) -> Visit:
    needs = tuple(make_garden.need() for _ in range(1))
    tree = needs[0].tree
    needs = (*needs, *(make_garden.need(tree=tree) for _ in range(jobs - 1)))
    crew = make_garden.crew(members=(crew_person, *others))
    return make_garden.visit(needs=needs, on=DAY, crew=crew)


@pytest.fixture
def visit(crew):
    return a_visit(crew)


@pytest.fixture
def tasks(visit):
    return list(visit.work_order.tasks.order_by("pk"))


@pytest.fixture
def pocket(crew, visit):
    return Pocket(crew, visit)


def state_of_all() -> dict[str, Any]:
    """Everything that stands after a sync, with nothing that depends on when it came."""
    return {
        "tasks": list(
            Task.objects.order_by("pk").values_list("pk", "state", "reason", "note", "answered_at", "answered_by")
        ),
        "needs": list(Need.objects.order_by("pk").values_list("pk", "state")),
        "records": sorted(
            Record.objects.filter(is_withdrawn=False).values_list("uid", "kind", "what", "limb", "value", "text", "on")
        ),
        "acts": sorted(FieldAct.objects.values_list("uid", "kind", "result")),
        "visits": list(Visit.objects.order_by("pk").values_list("pk", "state", "minutes_taken", "note")),
        "photos": sorted(Photo.objects.values_list("uid", "digest", "is_withdrawn")),
    }


def test_a_tick_settles_the_job_and_the_tree(pocket, visit, tasks, crew):
    (receipt,) = pocket.send(pocket.answer("done", tasks[0], visit))
    assert receipt.result == "accepted"
    task = Task.objects.get(pk=tasks[0].pk)
    assert (task.state, task.answered_by, task.answered_at) == ("done", crew, TEN + timedelta(minutes=1))
    assert Need.objects.get(pk=task.need_id).state == "done"
    record = Record.objects.get(reference=f"task:{task.pk}")
    assert (record.kind, record.what, record.on) == ("done", task.kind, DAY)


def test_the_same_act_twice_counts_once(pocket, visit, tasks):
    act = pocket.answer("done", tasks[0], visit)
    assert pocket.send(act)[0].result == "accepted"
    before = state_of_all()
    assert [receipt.result for receipt in pocket.send(act, act)] == ["already_had", "already_had"]
    assert state_of_all() == before


def test_a_bad_act_does_not_hold_up_the_others(pocket, visit, tasks):
    good = [pocket.answer("done", tasks[0], visit), pocket.act("note", visit, value={"text": "Gate sticks."})]
    bad = pocket.act("measured", visit, tree=tasks[0].tree_id, value={"what": "leader_height", "limb": "leader"})
    receipts = pocket.send(good[0], bad, good[1])
    assert [receipt.result for receipt in receipts] == ["accepted", "refused", "accepted"]
    assert receipts[1].problem["errors"][0]["right"]
    assert FieldAct.objects.get(uid=bad["id"]).is_open


def test_a_refused_act_can_be_repaired(pocket, visit, tasks):
    bad = pocket.act("seen", visit, tree=tasks[0].tree_id, value={"what": "stage", "text": "blooming a bit"})
    assert pocket.send(bad)[0].result == "refused"
    value = {"what": "stage", "text": "leaf_fall"}
    mended = pocket.act("seen", visit, tree=tasks[0].tree_id, value=value, repairs=bad["id"])
    assert pocket.send(mended)[0].result == "accepted"
    assert not FieldAct.objects.get(uid=bad["id"]).is_open
    assert Record.objects.filter(what="stage", text="leaf_fall").count() == 1


def test_an_identity_cannot_be_used_for_something_else(pocket, visit, tasks):
    act = pocket.answer("done", tasks[0], visit)
    pocket.send(act)
    (receipt,) = pocket.send({**act, "kind": "not_done", "value": {"reason": "weather"}})
    assert (receipt.result, receipt.problem["type"]) == ("refused", "urn:field-problem:id-used")
    assert Task.objects.get(pk=tasks[0].pk).state == "done"


def test_undo_opens_the_job_in_either_order(crew):
    for is_reversed in (False, True):
        visit = a_visit(crew if not is_reversed else make_staff("rowan", "crew"))
        person = visit.round.crew.members.get().staff
        pocket = Pocket(person, visit)
        task = visit.work_order.tasks.first()
        done = pocket.answer("done", task, visit)
        undo = pocket.act("withdraws", visit, withdraws=done["id"], task=task.pk)
        acts = [undo, done] if is_reversed else [done, undo]
        for act in acts:
            pocket.send(act)
        task.refresh_from_db()
        assert task.state == "open"
        assert Need.objects.get(pk=task.need_id).state == "open"
        assert not Record.objects.filter(reference=f"task:{task.pk}", is_withdrawn=False).exists()


def test_two_phones_done_outweighs_not_done_either_way(crew, crew_lead):
    visit = a_visit(crew, crew_lead)
    task = visit.work_order.tasks.first()
    one, two = Pocket(crew, visit), Pocket(crew_lead, visit)
    two.send(two.answer("not_done", task, visit, minute=1, value={"reason": "weather"}))
    one.send(one.answer("done", task, visit, minute=9))
    task.refresh_from_db()
    assert (task.state, task.answered_by) == ("done", crew)
    flagged = FieldAct.objects.filter(is_open=True)
    assert [act.flags for act in flagged] == [["two_answers"], ["two_answers"]]


def test_ones_undo_leaves_the_others_tick(crew, crew_lead):
    visit = a_visit(crew, crew_lead)
    task = visit.work_order.tasks.first()
    one, two = Pocket(crew, visit), Pocket(crew_lead, visit)
    mine = one.answer("done", task, visit, minute=1)
    one.send(mine)
    two.send(two.answer("done", task, visit, minute=5))
    one.send(one.act("withdraws", visit, withdraws=mine["id"], task=task.pk))
    task.refresh_from_db()
    assert (task.state, task.answered_by) == ("done", crew_lead)
    assert Record.objects.filter(reference=f"task:{task.pk}", is_withdrawn=False).count() == 1


def test_nobody_takes_back_somebody_elses_answer(crew, crew_lead):
    visit = a_visit(crew, crew_lead)
    task = visit.work_order.tasks.first()
    one, two = Pocket(crew, visit), Pocket(crew_lead, visit)
    mine = one.answer("done", task, visit)
    one.send(mine)
    two.send(two.act("withdraws", visit, withdraws=mine["id"], task=task.pk))
    task.refresh_from_db()
    assert task.state == "done"
    assert FieldAct.objects.get(kind="withdraws").flags == ["not_yours"]


def test_the_office_answer_and_the_phones_are_both_kept(pocket, visit, tasks, office):
    answer_task(task_id=tasks[0].pk, answer=Answer(state="not_done", reason="weather"), by=office, at=TEN)
    pocket.send(pocket.answer("done", tasks[0], visit))
    assert Task.objects.get(pk=tasks[0].pk).state == "done"
    kept = FieldAct.objects.get(kind="not_done")
    assert (kept.author, kept.body["value"]["reason"]) == (office, "weather")
    assert "two_answers" in kept.flags


def test_what_the_office_undid_stays_undone(pocket, visit, tasks, crew_lead):
    pocket.send(pocket.answer("done", tasks[0], visit))
    undo_answer(task_id=tasks[0].pk)
    pocket.send(pocket.answer("not_done", tasks[0], visit, value={"reason": "no_time"}))
    task = Task.objects.get(pk=tasks[0].pk)
    assert (task.state, task.reason) == ("not_done", "no_time")


def test_a_job_the_office_took_off_is_kept_on_the_tree(pocket, visit, tasks):
    act = pocket.answer("done", tasks[0], visit)
    tasks[0].delete()
    (receipt,) = pocket.send(act)
    assert (receipt.result, receipt.flags) == ("accepted", ["job_gone"])
    record = Record.objects.get(uid=act["id"])
    assert (record.tree_id, record.what) == (act["job"]["tree"], act["job"]["kind"])
    assert Need.objects.get(pk=act["job"]["need"]).state == "done"
    assert FieldAct.objects.get().is_open


def test_work_on_a_visit_moved_to_another_crew_is_kept(pocket, visit, tasks):
    other = make_garden.crew()
    visit.round.crew = other
    visit.round.save()
    (receipt,) = pocket.send(pocket.answer("done", tasks[0], visit))
    assert (receipt.result, receipt.flags) == ("accepted", ["moved_away"])
    assert Task.objects.get(pk=tasks[0].pk).state == "done"


def test_a_visit_one_never_had_cannot_be_answered(crew):
    stranger = make_staff("robin", "crew")
    visit = a_visit(crew)
    pocket = Pocket(stranger)
    (receipt,) = pocket.send(pocket.answer("done", visit.work_order.tasks.first(), visit))
    assert receipt.result == "refused"
    assert Task.objects.filter(state="done").count() == 0
    assert Record.objects.count() == 0


def test_a_tree_of_another_garden_is_refused(pocket, visit):
    elsewhere = make_garden.tree()
    value = {"what": "leader_height", "limb": "leader", "value": 900}
    (receipt,) = pocket.send(pocket.act("measured", visit, tree=elsewhere.pk, value=value))
    assert receipt.result == "refused"
    assert Record.objects.count() == 0


def test_acts_brought_by_another_keep_their_author(pocket, visit, tasks, crew, crew_lead):
    pocket.send(pocket.answer("done", tasks[0], visit), by=crew_lead)
    act = FieldAct.objects.get()
    assert (act.author, act.brought_by) == (crew, crew_lead)
    assert Task.objects.get(pk=tasks[0].pk).answered_by == crew


def test_a_finish_waits_for_what_was_said_before(pocket, visit, tasks):
    first, second = (pocket.answer("done", task, visit) for task in tasks)
    finish = pocket.act("finished", visit, value={"minutes": 61, "note": "All well."})
    pocket.send(finish)
    assert Visit.objects.get(pk=visit.pk).state == "planned"
    pocket.send(second)
    assert Visit.objects.get(pk=visit.pk).state == "planned"
    pocket.send(first)
    done = Visit.objects.get(pk=visit.pk)
    assert (done.state, done.minutes_taken, done.note) == ("finished", 61, "All well.")


def test_a_finish_waits_for_the_other_phone(crew, crew_lead):
    visit = a_visit(crew, crew_lead, jobs=2)
    tasks = list(visit.work_order.tasks.order_by("pk"))
    one, two = Pocket(crew, visit), Pocket(crew_lead, visit)
    two.send(two.act("started", visit))
    Phone.objects.filter(uid=two.uid).update(waiting=1)
    one.send(one.answer("done", tasks[0], visit), one.answer("done", tasks[1], visit))
    one.send(one.act("finished", visit, value={"minutes": 30}))
    assert Visit.objects.get(pk=visit.pk).state == "started"
    two.send(two.act("note", visit, value={"text": "Wire is loose."}))
    assert Visit.objects.get(pk=visit.pk).state == "finished"


def test_a_finish_with_an_open_job_is_told_to_the_office(pocket, visit, tasks):
    pocket.send(pocket.answer("done", tasks[0], visit), pocket.act("finished", visit, value={"minutes": 30}))
    act = FieldAct.objects.get(kind="finished")
    assert (Visit.objects.get(pk=visit.pk).state, act.flags, act.is_open) == ("planned", ["unanswered"], True)
    pocket.send(pocket.answer("not_done", tasks[1], visit, value={"reason": "no_time"}))
    act.refresh_from_db()
    assert (Visit.objects.get(pk=visit.pk).state, act.is_open) == ("finished", False)


def test_calling_off_gives_the_open_work_back(pocket, visit, tasks):
    off = pocket.act("called_off", visit, minute=9, value={"reason": "rain"})
    done = pocket.answer("done", tasks[0], visit)
    off["seq"], done["seq"] = done["seq"], off["seq"]
    pocket.send(off)
    pocket.send(done)
    found = Visit.objects.get(pk=visit.pk)
    assert (found.state, found.reason) == ("called_off", "rain")
    assert list(Task.objects.values_list("pk", "state")) == [(tasks[0].pk, "done")]
    assert Need.objects.get(pk=tasks[1].need_id).state == "open"


def test_work_after_the_call_off_is_kept_and_flagged(pocket, visit, tasks):
    from scheduling.services.visits import call_off_visit

    call_off_visit(visit_id=visit.pk, reason="rain")
    (receipt,) = pocket.send(pocket.answer("done", tasks[0], visit))
    assert receipt.result == "accepted"
    assert set(receipt.flags) == {"after_call_off", "job_gone"}
    assert Record.objects.filter(kind="done", tree=tasks[0].tree_id).count() == 1


def test_an_undo_after_the_finish_goes_to_the_office(pocket, visit, tasks):
    done = [pocket.answer("done", task, visit) for task in tasks]
    pocket.send(*done, pocket.act("finished", visit, value={"minutes": 30}))
    pocket.send(pocket.act("withdraws", visit, withdraws=done[0]["id"], task=tasks[0].pk))
    assert Task.objects.get(pk=tasks[0].pk).state == "done"
    assert "no_undo" in FieldAct.objects.get(uid=done[0]["id"]).flags


def test_two_measurements_close_together_are_averaged(crew, crew_lead):
    visit = a_visit(crew, crew_lead)
    tree = visit.work_order.tasks.first().tree_id
    one, two = Pocket(crew, visit), Pocket(crew_lead, visit)
    for pocket, value in ((one, 1000), (two, 1040)):
        said = {"what": "leader_height", "limb": "leader", "value": value}
        pocket.send(pocket.act("measured", visit, tree=tree, value=said))
    values = list(Record.objects.filter(kind="measured").order_by("entered_at", "pk").values_list("value", flat=True))
    assert values == [1000, 1040, 1020]


def test_two_measurements_far_apart_go_to_the_office(crew, crew_lead):
    visit = a_visit(crew, crew_lead)
    tree = visit.work_order.tasks.first().tree_id
    one, two = Pocket(crew, visit), Pocket(crew_lead, visit)
    for pocket, value in ((one, 700), (two, 1400)):
        said = {"what": "leader_height", "limb": "leader", "value": value}
        pocket.send(pocket.act("measured", visit, tree=tree, value=said))
    assert FieldAct.objects.filter(is_open=True).count() == 2
    assert Record.objects.filter(kind="measured").count() == 2


def test_a_wrong_clock_is_set_right_and_remarked(pocket, visit, tasks):
    three_hours = timedelta(hours=3)
    act = pocket.answer("done", tasks[0], visit, at=TEN + three_hours, offset_s=-three_hours.total_seconds())
    (receipt,) = pocket.send(act)
    assert receipt.flags == ["clock_off"]
    row = FieldAct.objects.get()
    assert (row.happened_at, row.device_time) == (TEN, TEN + three_hours)


def test_the_day_of_work_is_the_gardens_own_day(crew):
    """Midnight of 12 July 2025 in London is 23:00 UTC of the day before (British Summer Time, UTC+1)."""
    visit = a_visit(crew)
    pocket = Pocket(crew, visit)
    task = visit.work_order.tasks.first()
    at = datetime(2025, 7, 11, 23, 30, tzinfo=UTC)
    pocket.send(pocket.answer("done", task, visit, at=at), at=at + timedelta(minutes=1))
    assert Record.objects.get().on == date(2025, 7, 12)


@pytest.mark.parametrize("order", range(8))
def test_any_order_of_arrival_ends_the_same(crew, crew_lead, order):
    visit = a_visit(crew, crew_lead, jobs=4)
    tasks = list(visit.work_order.tasks.order_by("pk"))
    one, two = Pocket(crew, visit), Pocket(crew_lead, visit)
    done = one.answer("done", tasks[0], visit)
    acts = [
        (one, one.act("started", visit)),
        (one, done),
        (one, one.act("withdraws", visit, withdraws=done["id"], task=tasks[0].pk)),
        (one, one.answer("not_done", tasks[0], visit, value={"reason": "unsafe", "note": "Rotten rung."})),
        (one, one.answer("done", tasks[1], visit)),
        (two, two.answer("done", tasks[1], visit, minute=2)),
        (two, two.answer("not_done", tasks[2], visit, value={"reason": "no_time"})),
        (one, one.answer("not_done", tasks[2], visit, value={"reason": "weather"})),
        (two, two.act("note", visit, tree=tasks[0].tree_id, value={"text": "Bark is loose."})),
        (one, one.answer("done", tasks[3], visit)),
        (one, one.act("finished", visit, value={"minutes": 42})),
    ]
    shuffled = acts[:]
    random.Random(order).shuffle(shuffled)
    for pocket, act in [*shuffled, *shuffled[:4]]:
        pocket.send(act)
    tasks = list(visit.work_order.tasks.order_by("pk").values_list("state", "reason", "answered_by"))
    assert tasks == [
        ("not_done", "unsafe", crew.pk),
        ("done", "", crew_lead.pk),
        ("not_done", "weather", crew.pk),
        ("done", "", crew.pk),
    ]
    standing = Record.objects.filter(is_withdrawn=False)
    assert sorted(standing.values_list("kind", flat=True)) == ["done", "done", "seen"]
    assert Visit.objects.get(pk=visit.pk).state == "finished"
    assert FieldAct.objects.count() == len(acts)


def test_a_long_batch_takes_few_questions(crew, django_assert_max_num_queries):
    """The count grows with the size of one statement (SQLite takes 999 values in one), not with the acts."""
    visit = a_visit(crew, jobs=60)
    pocket = Pocket(crew, visit)
    acts = [pocket.answer("done", task, visit) for task in visit.work_order.tasks.all()]
    with django_assert_max_num_queries(45):
        pocket.send(*acts)
    assert Task.objects.filter(state="done").count() == 60


def test_a_batch_that_is_too_long_is_declined_whole(pocket, visit):
    from business.errors import BadInput

    with pytest.raises(BadInput):
        pocket.send(*[pocket.act("note", visit, value={"text": "x"}) for _ in range(1001)])
    assert FieldAct.objects.count() == 0


@pytest.mark.parametrize(
    "broken",
    [
        "not a table",
        {},
        {"id": "x"},
        {"kind": "dance"},
        {"at": "yesterday"},
        {"seq": -1},
        {"schema": 99},
        {"value": {"text": "nul \x00"}},
        {"person": 10**12},
    ],
)
def test_nonsense_is_refused_with_what_would_be_right(pocket, visit, broken):
    good = pocket.act("note", visit, value={"text": "Fine."})
    act = {**good, **broken} if isinstance(broken, dict) and broken else broken
    (receipt,) = pocket.send(act)
    assert receipt.result == "refused"
    assert receipt.problem["errors"]
    assert Record.objects.count() == 0
