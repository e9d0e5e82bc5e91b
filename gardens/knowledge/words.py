"""The words a rule file may use. They are the trade's terms of the whole program, said once for the data.

Stages, forms and kinds of work are also types further up (`gardens.climate.values`, `gardens.training.state`); the
knowledge lies below both and may not import them, so a test holds the lists equal.
"""

from __future__ import annotations

STAGES: tuple[str, ...] = (
    "leaf_fall",
    "dormant",
    "bud_swell",
    "bud_burst",
    "first_leaves",
    "pink_bud",
    "first_bloom",
    "full_bloom",
    "petal_fall",
    "fruit_set",
    "second_drop",
    "shoots_90",
    "shoot_ripe",
    "terminal_bud",
    "harvest_start",
    "harvest_end",
    "leaf_colour",
    "last_frost",
    "first_frost",
)

MARKS: tuple[str, ...] = ("coldest_end", "spring_dry", "autumn_rain")
"""Days of the site's own year that rules hang on besides stages: the end of its coldest four weeks, the end of its
winter rain, the return of rain in autumn."""

PROFILES: tuple[str, ...] = ("maritime", "continental_cold", "mediterranean")

FORM_GROUPS: dict[str, tuple[str, ...]] = {
    "tiers": ("horizontal_tiers", "step_over"),
    "cordon": ("oblique_cordon", "upright_cordon"),
    "fan": ("fan",),
    "palmette": ("oblique_palmette", "candelabra_palmette", "u_form", "double_u", "lattice"),
    "vine": ("vine_rod_and_spur", "vine_cane_replacement", "vine_tiers"),
    "informal": ("informal",),
}
"""Forms that species rules treat alike."""

FORMS: tuple[str, ...] = tuple(form for forms in FORM_GROUPS.values() for form in forms)

WORK_KINDS: tuple[str, ...] = (
    "plant",
    "head_back",
    "select_shoots",
    "rub_out",
    "tie_in",
    "lower_arms",
    "renew_ties",
    "remove_ties",
    "pinch",
    "summer_prune",
    "winter_prune",
    "thin_spurs",
    "renew_wood",
    "shorten_arms",
    "clear_wall_side",
    "remove_low_shoots",
    "thin_fruit",
    "pick",
    "protect_frost",
    "water",
    "feed_mulch",
    "inspect",
    "clean_out",
    "tighten_wires",
    "straighten_posts",
    "erect_support",
    "replace_tree",
)

HARD_CUTS: tuple[str, ...] = (
    "head_back",
    "summer_prune",
    "winter_prune",
    "thin_spurs",
    "renew_wood",
    "shorten_arms",
    "clear_wall_side",
)
"""Cuts into wood that is not soft any more: what a disease window closes unless it says otherwise."""

SOFT_CUTS: tuple[str, ...] = ("select_shoots", "rub_out", "pinch", "remove_low_shoots")
"""Cuts into soft growth; they heal within days."""

TREE_STAGES: tuple[str, ...] = ("planted", "forming", "extending", "full", "renovating", "lost")

SEASONS: tuple[str, ...] = ("dormant", "spring", "summer", "autumn", "any")
"""The parts of the year in which a form asks for a step."""

PLAIN_SOURCES: tuple[str, ...] = ("common practice", "from memory", "house default")
"""What a rule may name as its source when no publication stands behind it. "house default" is a number we chose."""


def form_group(form: str) -> str:
    """The group of a form: "horizontal_tiers" → "tiers".

    Raises:
        ValueError: for a form that is not in `FORMS`.
    """
    for group, forms in FORM_GROUPS.items():
        if form in forms:
            return group
    raise ValueError(f"{form!r} is not a form; known are {', '.join(FORMS)}")
