"""A neglected tree is brought back over several seasons: how much goes at once is said beside the usual winter work."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from gardens.climate import Place
from gardens.pruning import AdviceRequest, advise, usual_facts
from gardens.training import practice_of

ASKED = AdviceRequest(
    species="apple_spur",
    form="horizontal_tiers",
    planted_on=date(2025, 12, 10),
    on=date(2026, 1, 10),
    place=Place(latitude_deg=51.5, longitude_deg=0.0),
)


def told(request: AdviceRequest) -> list[str]:
    facts = replace(usual_facts(request, request.species), start="neglected")
    due = advise(replace(request, facts=facts)).due
    return [need.instruction for need in due if need.kind in ("winter_prune", "renew_wood")]


def test_neglected_apple_loses_a_third_of_its_old_wood_a_winter():
    """Royal Horticultural Society, profile 319: renovation over two or three winters, about a third at a time."""
    winters = [text for text in told(ASKED) if "a third of the old and upright wood" in text]
    assert len(winters) == 2  # this winter's and the next one's, within twelve months
    assert "the first of 3 winters" in winters[0]
    assert "the second of 3 winters" in winters[1]


@pytest.mark.parametrize("species", ["peach", "cherry_sweet", "plum_european"])
def test_neglected_stone_fruit_is_renovated_in_growth_once(species: str):
    """Royal Horticultural Society, profile 625: stone fruit is cut back to young shoots in growth, never in winter."""
    request = replace(ASKED, species=species, form="fan", on=date(2026, 3, 10))
    facts = replace(usual_facts(request, species), start="neglected")
    found = [need for need in advise(replace(request, facts=facts)).due if "a third of the shoots" in need.instruction]
    assert len(found) == 1
    assert 4 <= found[0].window.opens.month <= 9


def test_renovation_follows_the_practice_of_the_business():
    slower = practice_of({"renovation_seasons": 4})
    assert any(
        "a quarter" in text and "the first of 4 winters" in text for text in told(replace(ASKED, practice=slower))
    )


def test_tree_in_order_is_not_renovated():
    due = advise(ASKED).due
    assert not any("old and upright wood" in need.instruction for need in due)
