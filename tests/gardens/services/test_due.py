"""What is due at trees on rows: records of side wood and diseases act, whole books come out as single trees do."""

from __future__ import annotations

from datetime import date

import pytest

from gardens.queries.trees import living_trees, sites_with_trees
from gardens.services.due import DueBook
from gardens.services.due_together import in_climates, reckoned_together
from tests import make, make_garden

pytestmark = pytest.mark.django_db

ON = date(2026, 9, 20)


@pytest.fixture(autouse=True)
def business():
    return make.profile()


def instructions(tree, kind: str, on: date = ON, year: int = 2026) -> str:
    work = DueBook(on).work_of(tree.site, tree, year).work
    return "\n".join(need.instruction for need in work.needs if need.kind == kind)


def peach(**values):
    return make_garden.tree(species="peach", form="fan", planted_on=date(2018, 11, 20), rootstock="", **values)


def seen(tree, what: str, limb: str = "whole", *, on: date, kind: str = "seen", value=None, text: str = ""):
    return make_garden.record(tree=tree, kind=kind, what=what, limb=limb, on=on, value=value, text=text)


def test_a_recorded_replacement_takes_the_place_of_the_lateral():
    tree = peach()
    before = instructions(tree, "renew_wood")
    seen(tree, "fruit_count", "lateral:rib:1:left:2", on=date(2026, 7, 20), value=4, text="born:2025")
    without = instructions(tree, "renew_wood")
    seen(tree, "limb_length", "shoot:lateral:rib:1:left:2", on=date(2026, 8, 20), kind="measured", value=400)
    after = instructions(tree, "renew_wood")

    assert "lateral:rib:1:left:2" not in before
    assert "no replacement shoot is recorded" in without
    assert "Cut lateral:rib:1:left:2 back to shoot:lateral:rib:1:left:2" in after
    assert "Tie shoot:lateral:rib:1:left:2 into the place" in after


def test_three_year_old_peach_wood_is_flagged_with_its_age():
    tree = peach()
    seen(tree, "fruit_count", "lateral:rib:1:left:2", on=date(2024, 7, 20), value=4, text="born:2023")
    assert "It is 3 years old" in instructions(tree, "renew_wood")


def test_counted_spur_systems_ask_for_fewer_on_that_arm():
    tree = make_garden.tree(planted_on=date(2014, 11, 20), start="ready_trained", tiers_at_start=3)
    before = instructions(tree, "thin_spurs", date(2026, 1, 10))
    seen(tree, "spur_count", "arm:1:left", on=date(2026, 1, 5), value=90)
    after = instructions(tree, "thin_spurs", date(2026, 1, 10))
    assert "of the 90 spur systems" in after
    assert "of the 90" not in before


def test_weighed_prunings_of_a_vine_give_its_buds():
    tree = make_garden.tree(
        species="grape", form="vine_rod_and_spur", planted_on=date(2016, 3, 1), cultivar="Concord", rootstock=""
    )
    before = instructions(tree, "winter_prune", date(2026, 1, 10))
    seen(tree, "winter_prune", on=date(2025, 1, 20), kind="done", value=3 * 0.45359237)
    after = instructions(tree, "winter_prune", date(2026, 1, 10))
    # University of Illinois Extension: American cultivars keep 30 buds for the first pound and 10 for each further.
    assert "Leave 50 buds" in after
    assert "Leave 50 buds" not in before


def test_fruited_canes_go_out_and_new_ones_come_in():
    tree = make_garden.tree(species="raspberry_summer", form="informal", planted_on=date(2022, 3, 1), rootstock="")
    seen(tree, "limb_length", "cane:1", on=date(2025, 8, 1), kind="measured", value=1500)
    seen(tree, "limb_length", "cane:2", on=date(2026, 8, 1), kind="measured", value=1400)
    said = instructions(tree, "renew_wood")
    assert "Cut cane:1 off at the ground." in said
    assert "Tie cane:2 in" in said


def winter_windows(tree, year: int, on: date):
    work = DueBook(on).work_of(tree.site, tree, year).work
    return [need.rule for need in work.needs if need.kind == "winter_prune"]


def test_bacterial_canker_seen_in_the_garden_closes_the_winter():
    garden = make_garden.site(climate_profile="continental_cold", latitude_deg=44.9, longitude_deg=-93.2)
    row = make_garden.support(site=garden)
    values = {"support": row, "species": "cherry_sweet", "form": "fan", "rootstock": "", "planted_on": date(2015, 4, 1)}
    sick, well = make_garden.tree(**values), make_garden.tree(**values, position_mm=5900)
    assert winter_windows(well, 2027, date(2026, 12, 1))

    record = seen(sick, "disease", on=date(2020, 6, 3), text="Bacterial canker, gum on two limbs")
    assert not winter_windows(well, 2027, date(2026, 12, 1))  # NETREE: wherever it was ever recorded in the garden

    record.is_withdrawn = True
    record.save()
    assert winter_windows(well, 2027, date(2026, 12, 1))


def test_many_processes_answer_what_one_does():
    gardens = [make_garden.site(elevation_m=25.0 * number) for number in range(3)]
    for garden in gardens:
        row = make_garden.support(site=garden)
        make_garden.tree(support=row)
        make_garden.tree(support=row, species="peach", form="fan", rootstock="", position_mm=6000)
    answers = []
    for processes in (1, 2):
        sites = in_climates(sites_with_trees())
        with reckoned_together(DueBook(ON), sites, 2027, processes) as work_at:
            answers.append([[(tree.pk, work) for tree, work in work_at(site)] for site in sites])
    assert answers[0] == answers[1]
    assert sum(len(works) for works in answers[0]) == 6


def test_a_book_of_gardens_is_read_in_few_queries(django_assert_max_num_queries):
    for _ in range(5):
        tree = make_garden.tree()
        make_garden.record(tree=tree)
    with django_assert_max_num_queries(16):
        sites = sites_with_trees()
        book = DueBook(ON)
        book.prepare(sites, 2027)
        assert sum(1 for site in sites for _ in book.work_at(site, living_trees(site), 2027)) == 5
