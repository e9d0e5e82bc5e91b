"""A question about any species in any form, in any month, on either half of the world has an answer."""

from __future__ import annotations

from datetime import date

import pytest

from gardens.climate import Place
from gardens.knowledge import load_knowledge
from gardens.pruning import AdviceRequest, advise
from gardens.training.state import FORMS

SPECIES = tuple(load_knowledge().species)
PLACES = (
    Place(latitude_deg=51.5, longitude_deg=-1.0),
    Place(latitude_deg=-43.5, longitude_deg=172.6),
    Place(latitude_deg=44.9, longitude_deg=-93.2, elevation_m=250),
    Place(latitude_deg=-33.9, longitude_deg=18.9, elevation_m=120),
)
PLANTED = (date(2012, 11, 20), date(2022, 3, 1), date(2025, 12, 15))


@pytest.mark.parametrize("species", SPECIES)
def test_every_form_and_month_is_answered_with_sources(species):
    """Every form, every month and both hemispheres of each species; months and places turn with the form."""
    shift = SPECIES.index(species)
    seen_months, seen_south = set(), set()
    for number, form in enumerate(FORMS):
        turn = number + shift
        place = PLACES[turn % len(PLACES)]
        on = date(2026, turn % 12 + 1, 3 + turn % 25)
        planted = min(PLANTED[turn % len(PLANTED)], on)
        answer = advise(AdviceRequest(species=species, form=form, planted_on=planted, on=on, place=place))
        seen_months.add(on.month)
        seen_south.add(place.is_southern)
        for need in answer.due:
            assert need.source
            assert need.why
            assert need.instruction
            assert need.minutes > 0
        kinds = [verdict.kind for verdict in answer.verdicts]
        assert len(kinds) == len(set(kinds))
        assert all(verdict.source and verdict.why for verdict in answer.verdicts)
        assert all(warning.source for warning in answer.warnings)
    assert len(seen_months) == 12
    assert seen_south == {True, False}
