"""Trees and years for the tests of pruning: built plainly, without weather."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from gardens.climate.values import Place, StageDate
from gardens.knowledge import load_knowledge
from gardens.pruning import Season, SpeciesYear, Traits, YearBook
from gardens.training.state import Limb, TreeFacts, TreeState

BOOK = YearBook(load_knowledge())
NORTH = Place(latitude_deg=52.0, longitude_deg=0.0)
SOUTH = Place(latitude_deg=-40.0, longitude_deg=175.0)


def season(profile="maritime", place=NORTH, year=2026, **stages) -> Season:
    """A season whose usual days come from the species, but for the stages given as dates."""
    known = {key: StageDate(stage=key, on=on, earliest=on, latest=on, basis="observed") for key, on in stages.items()}
    return Season(place=place, profile=profile, year=year, stages=known)


def year_of(species="apple_spur", form="horizontal_tiers", *, cultivar="", diseases=(), **more) -> SpeciesYear:
    """The year of a species for one form."""
    return BOOK.year(species, season(**more), Traits(form, cultivar, frozenset(diseases)))


def tree(
    species="apple_spur", form="horizontal_tiers", *, stage="full", planted=date(2016, 1, 15), **more
) -> TreeState:
    """A tree of three tiers, 2 m of arm on each side, full unless said."""
    facts = TreeFacts(
        species=species,
        form=form,
        planted_on=planted,
        wire_heights_mm=(400, 800, 1200),
        run_left_mm=2000,
        run_right_mm=2000,
        height_mm=1800,
        tiers=3,
        cultivar=more.pop("cultivar", ""),
        rootstock=more.pop("rootstock", None),
    )
    arms = tuple(
        Limb(
            key=f"arm:{tier}:{name}",
            kind="arm",
            tier=tier,
            side=side,
            status="set",
            length_mm=2000,
            wanted_mm=2000,
            angle_deg=0.0,
            origin_y_mm=400 * tier,
        )
        for tier in (1, 2, 3)
        for side, name in ((-1, "left"), (1, "right"))
    )
    state = TreeState(
        facts=facts,
        on=date(2026, 1, 15),
        stage=stage,
        tiers_set=3,
        leader_height_mm=1200,
        limbs=more.pop("limbs", arms),
    )
    return replace(state, **more)
