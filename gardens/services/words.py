"""Trees in words: what a person says of a tree in one line."""

from __future__ import annotations

from gardens.knowledge import load_knowledge
from gardens.knowledge.form_schema import rootstocks
from gardens.models import Tree
from gardens.services.standing import Outlook
from gardens.training import TreeState

FORM_WORDS = {
    "horizontal_tiers": "horizontal tiers",
    "step_over": "step-over",
    "oblique_cordon": "oblique cordon",
    "upright_cordon": "upright cordon",
    "fan": "fan",
    "oblique_palmette": "oblique palmette",
    "candelabra_palmette": "candelabra palmette",
    "u_form": "U form",
    "double_u": "double U",
    "lattice": "lattice",
    "vine_rod_and_spur": "rod and spur",
    "vine_cane_replacement": "cane replacement",
    "vine_tiers": "vine in tiers",
    "informal": "informal",
}


def species_name(species: str) -> str:
    """The plain name of a species: "pear_european" → "European pear"."""
    found = load_knowledge().species.get(species)
    return found.name if found else species.replace("_", " ")


def stage_words(state: TreeState) -> str:
    """The stage of a tree in one phrase."""
    tiers = max((limb.tier for limb in state.limbs if limb.kind == "arm"), default=0)
    if state.stage == "forming" and tiers > 1:
        return f"forming, {state.tiers_set} of {tiers} tiers set"
    return {
        "planted": "newly planted",
        "forming": "forming",
        "extending": "filling out",
        "full": "full",
        "renovating": "being renewed",
        "lost": "lost",
    }[state.stage]


def tree_fact(tree: Tree, state: TreeState) -> str:
    """Species, cultivar, form and stage in one line."""
    sort = f" ‘{tree.cultivar}’" if tree.cultivar else ""
    return f"{species_name(tree.species)}{sort}, {FORM_WORDS[tree.form]}, {stage_words(state)}"


def full_words(outlook: Outlook) -> str:
    """When the form will be full, in words: "Full by 2029, between 2028 and 2031 most likely"."""
    forecast, state = outlook.forecast, outlook.state
    if state.stage == "full":
        return f"Full since {forecast.full_p50}" if forecast.full_p50 else "Full"
    if forecast.full_p50 is None:
        return ""
    if forecast.full_p90 is None:
        return f"Full about {forecast.full_p50}, perhaps later"
    if forecast.full_p10 == forecast.full_p90:
        return f"Full in {forecast.full_p50}"
    return f"Full about {forecast.full_p50} (most likely {forecast.full_p10} to {forecast.full_p90})"


def limb_words(key: str) -> str:
    """A limb's key in words: "arm:2:left" → "arm of tier 2, left"."""
    kind, *rest = key.split(":")
    if kind == "whole":
        return "the whole tree"
    if kind in ("arm", "tier") and rest:
        return f"arm of tier {rest[0]}, {rest[1]}" if len(rest) > 1 else f"both arms of tier {rest[0]}"
    if kind == "shoot" and rest[:1] == ["lateral"]:
        return f"new shoot at {limb_words(key.partition(':')[2])}"
    if kind == "lateral" and len(rest) > 1:
        return f"lateral {rest[-1]} of {limb_words(':'.join(rest[:-1]))}"
    return " ".join([kind, *rest])


def species_choices() -> list[tuple[str, str]]:
    """Every species with its name, by name: for forms and filters."""
    return sorted(((key, found.name) for key, found in load_knowledge().species.items()), key=lambda pair: pair[1])


def stock_choices() -> list[tuple[str, str]]:
    """Every rootstock with its name, none first."""
    return [("", "its own roots, or not known"), *sorted((key, stock.name) for key, stock in rootstocks().items())]
