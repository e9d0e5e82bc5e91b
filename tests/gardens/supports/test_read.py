"""A support read from a document: whole, or refused with every fault and what would be right."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from business.errors import BadInput
from gardens.supports import EXAMPLES, check_support, layout_of, read_support, read_wire_size


def example(which: str = "wall", /, **changes: Any) -> dict[str, Any]:
    document = copy.deepcopy(EXAMPLES[which])
    for key, value in changes.items():
        if value is None:
            document.pop(key, None)
        else:
            document[key] = value
    return document


def faults_of(document: dict[str, Any]) -> list[str]:
    with pytest.raises(BadInput) as refusal:
        read_support(document, where="wall.json")
    return [str(fault) for fault in refusal.value.faults]


def only_fault(document: dict[str, Any]) -> str:
    faults = faults_of(document)
    assert len(faults) == 1, faults
    return faults[0]


@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_every_example_reads_and_can_be_laid_out(name):
    support = read_support(EXAMPLES[name])

    assert layout_of(support).wire_heights_mm == support.wire_heights_mm
    assert check_support(support, with_cures=False).checks


@pytest.mark.parametrize("name", ["wall", "row"])
def test_good_examples_are_not_called_not_enough(name):
    assert check_support(read_support(EXAMPLES[name])).verdict in ("fine", "near_its_limit")


@pytest.mark.parametrize("run", ["3.6 m", "360 cm", 3600, "3600 mm", "11 ft 9.73 in"])
def test_lengths_are_read_as_people_write_them(run):
    assert read_support(example(run=run)).run_mm == 3600


@pytest.mark.parametrize(("key", "value"), [("run_m", 3.6), ("run_cm", 360), ("run_mm", 3600)])
def test_key_may_carry_the_unit(key, value):
    document = example(run=None)
    document[key] = value

    assert read_support(document).run_mm == 3600


def test_bare_metres_are_told_apart_from_millimetres():
    fault = only_fault(example(run=6, plants=[]))

    assert "6 mm" in fault
    assert "plain numbers are millimetres" in fault


@pytest.mark.parametrize("gap", [0, "0 m", -5])
def test_span_of_nothing_is_named(gap):
    fault = only_fault(example(hold_gap=gap))

    assert fault.startswith("wall.json, hold_gap:")
    assert "give 20 cm to 15.00 m" in fault


def test_run_of_zero_is_named():
    assert "run: 0 mm" in faults_of(example(run="0 m"))[0]


@pytest.mark.parametrize("bearing", [400, -1, 360])
def test_bearing_off_the_compass_is_named(bearing):
    fault = only_fault(example(faces=bearing))

    assert f"a bearing of {bearing}°" in fault
    assert "0 to 359" in fault


def test_wires_out_of_order_are_named_with_the_right_order():
    fault = only_fault(example(wire_heights=["40 cm", "120 cm", "80 cm"]))

    assert "wire 3: 80 cm does not lie above 120 cm" in fault
    assert "40 cm, 80 cm, 120 cm" in fault


def test_wires_above_the_wall_are_named_one_by_one():
    faults = faults_of(example(wire_heights=["40 cm", "2.1 m", "2.5 m"]))

    assert [fault.split(":")[0] for fault in faults] == ["wall.json, wire 2", "wall.json, wire 3"]
    assert all("at most 2.00 m" in fault for fault in faults)


@pytest.mark.parametrize(
    ("size", "words"),
    [
        ("40 SWG", "40 is not in the Imperial standard wire gauge"),
        ("14 gauge", "names no gauge system"),
        ("14", "names no gauge system"),
        ("12½ SWG", "12.5 is not in"),
        ("thin", "is no size"),
        ("9 mm", "is no straining wire"),
        ("14 abc", "is not known"),
    ],
)
def test_wire_size_that_is_none_is_named(size, words):
    assert words in only_fault(example(wire={"size": size}))


def test_bare_gauge_is_told_what_it_could_mean():
    with pytest.raises(BadInput) as refusal:
        read_wire_size("14 gauge")

    assert "14 SWG is 2.03 mm" in refusal.value.faults[0].remedy
    assert "14 AWG is 1.63 mm" in refusal.value.faults[0].remedy


@pytest.mark.parametrize(
    ("text", "diameter"),
    [
        ("2.5 mm", 2.5),
        ("2,5 mm", 2.5),
        ("14 SWG", 2.032),
        ("SWG 14", 2.032),
        ("12½ ga W&M", 2.5146),
        (".099 in", 2.5146),
    ],
)
def test_wire_sizes_are_read_in_every_writing(text, diameter):
    assert read_wire_size(text)[0] == pytest.approx(diameter)


def test_every_fault_is_told_at_once():
    faults = faults_of(
        {
            "kind": "hedge",
            "run": "0 m",
            "height": "2 m",
            "wire_heights": ["80 cm", "40 cm"],
            "wire": {"size": "99 SWG", "grade": "gold"},
            "tension_n": -5,
            "faces": 400,
            "colour": "green",
            "plants": [{"species": "apple", "form": "bonsai"}],
            "place": {"coldest_c": 10, "warmest_c": 0, "strung_at_c": 20, "soil": "jam"},
        }
    )

    told = "\n".join(faults)
    for words in (
        "kind: 'hedge' is not known",
        "run: 0 mm",
        "wire 2: 40 cm does not lie above 80 cm",
        "99 is not in",
        "grade: 'gold'",
        "tension_n: -5",
        "a bearing of 400°",
        "colour: is not a key",
        "form: 'bonsai'",
        "does not lie between",
        "soil: 'jam'",
    ):
        assert words in told, words
    assert len(faults) >= 11


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"hieght": "2 m"}, "did you mean height?"),
        ({"kind": None}, "kind: is missing"),
        ({"height": "two metres"}, "is not a length"),
        ({"height": True}, "is not a length"),
        ({"wire_heights": "40 cm"}, "is not a list"),
        ({"wire": "2 mm"}, "is not a table"),
        ({"slides": "yes"}, "is not true or false"),
        ({"tension_n": "200"}, "is not a number"),
        ({"plants": [{"species": "bamboo", "form": "fan"}]}, "'bamboo' is not a species we know"),
        ({"plants": [{"form": "fan"}]}, "species: is missing"),
        ({"plants": ["apple"]}, "is not a table"),
        ({"name": 7}, "is not a text"),
        ({"wall": "cheese"}, "use one of sound_brick"),
        ({"plants": [{"species": "apple", "form": "fan", "width": "3 m", "count": 4}]}, "the run is 3600 mm"),
        ({"plants": [{"species": "apple", "form": "fan", "bottom": "2 m", "top": "1 m"}]}, "is not below the top"),
        ({"run": "1.500 m"}, "can be read as"),
    ],
)
def test_each_fault_says_what_would_be_right(changes, words):
    assert words in "\n".join(faults_of(example(**changes)))


@pytest.mark.parametrize(
    ("post", "words"),
    [
        ({"length": "1.5 m", "depth": "1.5 m"}, "give less than 1500 mm"),
        ({"length": "2 m", "depth": "75 cm"}, "the top wire lies at 1700 mm"),
        ({"kind": "steel_tube", "size": "48 mm", "length": "2.7 m", "wall_thickness": "30 mm"}, "give less than 24 mm"),
    ],
)
def test_posts_that_cannot_stand_are_named(post, words):
    assert words in "\n".join(faults_of(example("row", post=post)))


def test_wires_come_from_the_form_where_none_are_given():
    support = read_support(example(wire_heights=None, height="2 m"))

    assert support.wire_heights_mm == (400, 800, 1200, 1600)
    assert any("horizontal tiers wants them" in what for what in support.surroundings.assumed)


def test_what_is_left_out_is_assumed_and_said():
    support = read_support(
        {"kind": "post_and_wire", "run": "12 m", "height": "1.8 m", "plants": [{"species": "pear", "form": "fan"}]}
    )
    assumed = " / ".join(support.surroundings.assumed)

    for what in ("wire", "tension", "posts", "line posts", "ends", "ground", "gust", "coldest", "warmest", "air"):
        assert what in assumed, what
    assert set(support.surroundings.assumed) <= set(check_support(support, with_cures=False).assumed)


def test_plain_species_names_are_understood():
    plants = [{"species": "Sweet cherry", "form": "fan"}]

    assert read_support(example(plants=plants)).plants[0].species == "cherry_sweet"


def test_plain_name_that_hides_a_choice_says_so():
    support = read_support(example(plants=[{"species": "apple", "form": "fan"}]))

    assert support.plants[0].species == "apple_spur"
    assert any("tip bearers" in note for note in support.surroundings.assumed)


def test_null_means_not_given():
    document = example()
    document["spring_n_per_mm"] = None

    assert read_support(document).spring_n_per_mm is None
