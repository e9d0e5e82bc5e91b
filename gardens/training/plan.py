"""The plan of a tree: the places its form gives its limbs on this support."""

from __future__ import annotations

from functools import lru_cache

from gardens.knowledge import form_schema as knowledge
from gardens.knowledge.form_schema import FormRecord
from gardens.training.cordons import Cordons
from gardens.training.families import FormFamily
from gardens.training.fans import Fans
from gardens.training.informal import Informals
from gardens.training.lattice import Lattices
from gardens.training.palmettes import Palmettes
from gardens.training.places import Plan
from gardens.training.state import Limb, TreeFacts
from gardens.training.tiers import Tiers
from gardens.training.uprights import Uprights
from gardens.training.vines import Vines

FAMILIES: dict[str, FormFamily] = {
    "tiers": Tiers(),
    "cordons": Cordons(),
    "fans": Fans(),
    "palmettes": Palmettes(),
    "uprights": Uprights(),
    "lattice": Lattices(),
    "vines": Vines(),
    "informal": Informals(),
}


def family_of(form: FormRecord) -> FormFamily:
    """The family a form belongs to."""
    return FAMILIES[form.family]


def plan(facts: TreeFacts, form: FormRecord | None = None) -> Plan:
    """Lay a form out on a support; ``form`` replaces the record of the form's own file."""
    return _lay_out(facts, form) if form else _usual_plan(facts)


@lru_cache(maxsize=512)
def _usual_plan(facts: TreeFacts) -> Plan:
    return _lay_out(facts, knowledge.form(facts.form))


def _lay_out(facts: TreeFacts, record: FormRecord) -> Plan:
    places = family_of(record).places(facts, record)
    stem = next((place.limb.key for place in places if place.bearer == "planting"), "")
    waves = {place.wave: (place.cut_mm, place.takes_margin) for place in places if place.bearer == "leader"}
    return Plan(places, stem, tuple((wave, *waves[wave]) for wave in sorted(waves)))


def plan_limbs(facts: TreeFacts, form: FormRecord | None = None) -> tuple[Limb, ...]:
    """The limbs a tree is to have once its form is full: trunk first, each in its final place at its wanted length.

    Every limb lies within the support: between the ends of the run and below its height.
    """
    laid = plan(facts, form)
    limbs = tuple(place.limb for place in laid.places)
    if laid.stem or not limbs:
        return limbs
    return (Limb(key="trunk", kind="trunk", wanted_mm=laid.trunk_mm, parent=""), *limbs)
