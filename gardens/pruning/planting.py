"""What speaks against a tree as it is planted: the one answer for advice, designer and tree page."""

from __future__ import annotations

from gardens.knowledge import form_schema
from gardens.knowledge.schema import Species
from gardens.training import Doubt, doubts, suitability
from gardens.training.state import TreeFacts

GRADES = {0: "not advised", 1: "poor", 2: "possible with care"}


def planting_doubts(facts: TreeFacts, species: Species) -> tuple[Doubt, ...]:
    """Everything that speaks against form, stock, room and wires of a tree, each once with reason and source.

    The list of the form says how it suits a species; where it is silent, the species' own grade does.
    """
    found = doubts(facts)
    if suitability(facts.species, facts.form).is_recorded:
        return found
    rest = tuple(doubt for doubt in found if doubt.about != "form")
    grade = species.grade(facts.form)
    if grade not in GRADES:
        return rest
    known = species.facts.suitability
    name = form_schema.form(facts.form).name.lower()
    text = f"{species.name[:1].upper()}{species.name[1:]} as {name}: {GRADES[grade]}. {known.note}".strip()
    return (Doubt("form", text, "; ".join(known.source), is_refusal=grade == 0), *rest)
