"""The table of species: complete, sourced, and refused with every fault."""

from __future__ import annotations

import pytest

from business.errors import BadInput
from gardens.climate import phenology_of
from gardens.climate.phenology import OverlapBloom, SequenceBloom, ThermalSum, VineGrowth
from gardens.climate.phenology_table import read_phenology, shipped_phenology
from gardens.climate.tables import shipped_text
from tests.gardens.climate.records import ALL_SPECIES


@pytest.mark.parametrize("species", ALL_SPECIES)
def test_every_species_names_its_sources(species):
    record = phenology_of(species)
    assert record.source
    assert all(offset.source and offset.days >= 0 for offset in record.after)
    least, most = record.chill_portions
    assert 0 <= least <= most <= 100


def test_growth_models_fit_their_groups():
    assert isinstance(phenology_of("apple_spur").growth, OverlapBloom)
    assert isinstance(phenology_of("peach").growth, SequenceBloom)
    assert isinstance(phenology_of("grape").growth, VineGrowth)
    assert isinstance(phenology_of("fig").growth, ThermalSum)


def test_unknown_species_falls_back_to_its_group():
    assert phenology_of("crab_apple", group="pome").species == "pome"
    with pytest.raises(BadInput, match="apple_spur"):
        phenology_of("crab_apple")
    with pytest.raises(BadInput, match="use one of"):
        phenology_of("crab_apple", group="berries")


def test_species_keeps_what_its_group_says():
    cherry, stone = phenology_of("cherry_sweet"), shipped_phenology().groups["stone"]
    assert isinstance(cherry.growth, OverlapBloom)
    assert isinstance(stone.growth, OverlapBloom)
    assert dict(cherry.growth.fractions)["petal_fall"] == 1.36
    assert dict(cherry.growth.fractions)["bud_swell"] == dict(stone.growth.fractions)["bud_swell"]
    offsets = {offset.stage: offset.days for offset in cherry.after}
    assert offsets["shoots_90"] == 70
    assert offsets["harvest_start"] == 65
    assert "second_drop" not in {offset.stage for offset in phenology_of("raspberry_summer").after}


TABLE = shipped_text("phenology.toml")


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('id = "quince"\ngroup = "pome"', 'id = "quince"\ngroup = "pomes"', "quince.group: 'pomes' is not a group"),
        ("{ bud_swell = 0.24", "{ bud_swel = 0.24", "'bud_swel' is not a stage"),
        (
            'stage = "second_drop", from = "full_bloom"',
            'stage = "second_drop", from = "bloom"',
            "'bloom' is not a stage",
        ),
        ('source = "vine_burst"', 'source = "vine"', "source 'vine' is not listed"),
        ("chill_portions = [30, 79]", "chill_portions = [79, 30]", "the least is above the most"),
        (
            'species = ["apple_spur"]\nwarmth = -90',
            'species = ["apple"]\nwarmth = -90',
            "'apple' is not a species here",
        ),
        ("fading = 0.016", "fading = 1.6", "fading"),
        ('model = "vine"', 'model = "wine"', "bloom"),
        ("ice_day_portions = 0.7", "ice_day_portion = 0.7", "ice_day_portions"),
        ('id = "fig"\nbloom', 'id = "fig"\nblom = 1\nbloom', "blom"),
        ("[[group]]", "[[group", "phenology.toml"),
    ],
)
def test_faults_name_file_key_and_remedy(old, new, said):
    assert old in TABLE
    with pytest.raises(BadInput) as refusal:
        read_phenology(TABLE.replace(old, new, 1), "phenology.toml")
    assert any(said in str(fault) for fault in refusal.value.faults)
    assert all(fault.where.startswith("phenology.toml") and fault.remedy for fault in refusal.value.faults)


def test_all_faults_come_at_once():
    text = TABLE.replace('group = "vine"', 'group = "wine"').replace("[30, 79]", "[79, 30]")
    with pytest.raises(BadInput) as refusal:
        read_phenology(text)
    assert len(refusal.value.faults) == 2
