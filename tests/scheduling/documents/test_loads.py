"""Load in the van: quantities of the jobs and of the supports worked on, by kind and size."""

from __future__ import annotations

from datetime import date

import pytest

from gardens.services.supports import bill_of
from scheduling.documents.loads import loads_of
from scheduling.documents.work_orders import work_order_html
from scheduling.models import Need, Task, Visit
from scheduling.queries.visits import with_tasks
from tests import make, make_garden

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _business():
    make.profile()


def support_need(support, **values):
    defaults = {
        "season": make_garden.season(), "site": support.site, "support": support, "kind": "tighten_wires",
        "limb": "wire:1", "instruction": "Tighten wire 1 to 600 N.", "opens": date(2026, 12, 1),
        "best_from": date(2027, 1, 5), "best_until": date(2027, 2, 10), "closes": date(2027, 2, 28),
        "basis": "normals", "minutes": 6, "why": "new wire settles", "source": "common practice",
        "key": f"support:{make.next_number()}",
    }  # fmt: skip
    return Need.objects.create(**{**defaults, **values})


def visit_of(*needs):
    made = make_garden.visit(on=date(2027, 1, 12), needs=needs, site=needs[0].site)
    for task in Task.objects.filter(work_order__visit=made):
        task.support = task.need.support
        task.save()
    return with_tasks(Visit.objects.filter(pk=made.pk)).get()


def by_name(*needs):
    return {load.name: load for load in loads_of([visit_of(*needs)])}


def test_ties_of_all_trees_are_one_line_in_packs():
    support = make_garden.support()
    trees = [
        make_garden.tree(support=support, position_mm=1000 + 2000 * number, run_left_mm=900, run_right_mm=900)
        for number in range(3)
    ]
    needs = [make_garden.need(tree=tree, materials=[["tie_soft_tube", 41.5], ["cane_2400", 2]]) for tree in trees]

    loads = by_name(*needs)

    assert loads["soft hollow tube"].quantity == 125
    assert loads["soft hollow tube"].packed == "2 packs of 100"
    assert loads["cane 2.4 m"].quantity == 6


def test_tightening_takes_spares_of_the_right_wire():
    support = make_garden.support(build={"wire": {"size": "3.15 mm"}}, length_mm=20_000)
    thin = make_garden.support(site=support.site, build={"wire": {"size": "2 mm"}}, length_mm=6_000)
    needs = [support_need(support, limb=f"wire:{number}") for number in (1, 2, 3)]

    loads = by_name(*needs, support_need(thin))

    assert loads["straining wire, 3.15 mm"].quantity == 20
    assert loads["straining wire, 2 mm"].quantity == 6
    assert loads["straining wire, 3.15 mm"].packed.startswith("1 coil of")
    # A tensioner and two joiners for every third wire of a support.
    assert loads["wire joiner or crimp sleeve"].quantity == 4
    assert sum(load.quantity for load in loads.values() if load.kind == "Tensioners" and "tensioner" in load.name) == 2


def test_putting_up_a_support_takes_its_whole_bill():
    support = make_garden.support(length_mm=20_000)
    need = support_need(support, kind="erect_support", limb="whole", rule="quote:1", materials=[["straining_wire", 1]])

    loads = loads_of([visit_of(need)])

    bill = bill_of(support, [])
    assert {load.name for load in loads} == {line.text for line in bill.lines}
    posts = next(line for line in bill.lines if line.good == "line_post")
    assert next(load for load in loads if load.name == posts.text).quantity == posts.quantity


def test_the_second_day_of_building_brings_nothing_twice():
    support = make_garden.support(length_mm=20_000)

    assert by_name(support_need(support, kind="erect_support", limb="whole", rule="quote:1", materials=[])) == {}


def test_what_is_done_is_loaded_no_more():
    support = make_garden.support()
    need = make_garden.need(tree=make_garden.tree(support=support), materials=[["cane_2400", 2]])
    visit = visit_of(need)
    Task.objects.update(state="done", answered_at=make_garden.utc(2027, 1, 12))

    assert loads_of([with_tasks(Visit.objects.filter(pk=visit.pk)).get()]) == []


def test_a_support_that_cannot_be_read_keeps_what_its_job_names():
    support = make_garden.support(build={"wire": {"size": "99 SWG"}})

    loads = by_name(support_need(support, materials=[["tensioner", 1]]))

    assert [load.quantity for load in loads.values()] == [1]


def test_something_no_list_knows_is_still_named():
    need = make_garden.need(materials=[["left_handed_hook", 3]])

    assert by_name(need)["left handed hook"].quantity == 3


def test_the_round_page_and_sheet_name_the_load(at_office):
    support = make_garden.support(length_mm=20_000)
    visit = visit_of(support_need(support))

    page = at_office.get(f"/rounds/{visit.round_id}/").content.decode()

    assert "Load in the van" in page
    assert "Wire joiner or crimp sleeve" in page


def test_the_work_order_prints_the_cautions_of_tight_wire():
    support = make_garden.support(kind="wall", gap_mm=100, height_mm=2400)

    printed = work_order_html(visit_of(support_need(support)))

    for words in ("Tight wire holds energy", "eye protection", "masonry that is sound", "qualified structural person"):
        assert words in printed
