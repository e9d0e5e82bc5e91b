"""Side wood out of records: what lives, how old it is, what it bore."""

from __future__ import annotations

from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from gardens.pruning import side_wood
from gardens.pruning.diseases import DiseaseNote
from gardens.training.state import Record

ON = date(2026, 9, 1)
LATERAL = "lateral:rib:1:left:3"
SHOOT = f"shoot:{LATERAL}"


def record(on, kind, what, limb="whole", value=None, text=""):
    return Record(on=on, kind=kind, what=what, limb=limb, value=value, text=text, key=f"{on}{what}{limb}")


def fold(*records, on=ON, southern=False):
    return side_wood(records, on=on, is_southern=southern)


def test_shoot_seen_in_growth_belongs_to_that_season():
    wood = fold(record(date(2025, 7, 1), "done", "tie_in", LATERAL))

    assert wood.shoots[0].born == 2025
    assert wood.shoots[0].age(2026) == 1
    assert wood.shoots[0].parent == "rib:1:left"


def test_shoot_measured_in_winter_grew_the_summer_before():
    wood = fold(record(date(2026, 1, 20), "measured", "limb_length", LATERAL, 450.0))

    assert (wood.shoots[0].born, wood.shoots[0].length_mm) == (2025, 450)


def test_southern_winter_lies_in_july():
    wood = fold(record(date(2026, 7, 10), "measured", "limb_length", LATERAL, 450.0), southern=True)

    assert wood.shoots[0].born == 2025


def test_age_written_down_goes_before_the_guess():
    wood = fold(record(date(2026, 1, 20), "seen", "note", LATERAL, text="born:2023"))

    assert wood.shoots[0].age(2026) == 3


def test_fruit_is_kept_by_season_and_cut_wood_is_gone():
    bore = fold(
        record(date(2025, 7, 1), "done", "tie_in", LATERAL),
        record(date(2026, 7, 20), "seen", "fruit_count", LATERAL, 5),
    )
    gone = fold(
        record(date(2025, 7, 1), "done", "tie_in", LATERAL), record(date(2026, 8, 20), "done", "renew_wood", LATERAL)
    )

    assert bore.shoots[0].has_fruited(2026)
    assert gone.shoots == ()


def test_place_of_cut_wood_may_grow_anew():
    wood = fold(
        record(date(2024, 7, 1), "done", "tie_in", LATERAL),
        record(date(2025, 8, 20), "done", "renew_wood", LATERAL),
        record(date(2026, 6, 20), "done", "tie_in", LATERAL),
    )

    assert [shoot.born for shoot in wood.shoots] == [2026]


def test_replacement_knows_the_lateral_it_grows_from():
    wood = fold(
        record(date(2025, 7, 1), "done", "tie_in", LATERAL),
        record(date(2026, 6, 20), "done", "select_shoots", SHOOT),
        record(date(2026, 7, 20), "measured", "limb_length", f"{SHOOT}:2", 600.0),
    )
    keys = [shoot.key for shoot in wood.replacements_of(LATERAL, 2026)]

    assert keys == [f"{SHOOT}:2", SHOOT]


def test_counts_weights_and_diseases_are_kept():
    wood = fold(
        record(date(2026, 1, 10), "seen", "spur_count", "arm:1:left", 24),
        record(date(2025, 12, 12), "done", "winter_prune", "whole", 1.2),
        record(date(2026, 1, 20), "seen", "note", "whole", 20.0, "dead_buds_percent"),
        record(date(2025, 5, 5), "seen", "disease", "whole", text="Bacterial canker"),
    )

    assert wood.spur_counts == (("arm:1:left", 24, date(2026, 1, 10)),)
    assert wood.prunings_kg == ((2026, 1.2),)
    assert wood.dead_buds_percent == 20.0
    assert wood.disease_notes == (DiseaseNote(on=date(2025, 5, 5), text="Bacterial canker"),)


def test_records_after_the_day_are_left_out():
    assert fold(record(date(2026, 9, 2), "done", "tie_in", LATERAL)).shoots == ()


@given(st.permutations(range(5)))
def test_order_of_records_does_not_matter(order):
    records = [
        record(date(2024, 7, 1), "done", "tie_in", LATERAL),
        record(date(2025, 7, 1), "seen", "fruit_count", LATERAL, 4),
        record(date(2025, 8, 1), "done", "renew_wood", LATERAL),
        record(date(2025, 6, 1), "done", "select_shoots", SHOOT),
        record(date(2026, 1, 10), "seen", "spur_count", "arm:1:left", 24),
    ]

    assert fold(*(records[index] for index in order)) == fold(*records)
