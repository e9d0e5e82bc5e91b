"""Kinds of work in the words people use."""

from __future__ import annotations

WORK_WORDS = {
    "plant": "Plant",
    "head_back": "Cut the leader back",
    "select_shoots": "Choose shoots",
    "rub_out": "Rub out shoots",
    "tie_in": "Tie in",
    "lower_arms": "Bring arms down",
    "renew_ties": "Renew ties",
    "remove_ties": "Take ties off",
    "pinch": "Pinch",
    "summer_prune": "Summer prune",
    "winter_prune": "Winter prune",
    "thin_spurs": "Thin spurs",
    "renew_wood": "Renew fruiting wood",
    "shorten_arms": "Shorten arms",
    "clear_wall_side": "Clear the wall side",
    "remove_low_shoots": "Take off low shoots",
    "thin_fruit": "Thin fruit",
    "pick": "Pick",
    "protect_frost": "Protect from frost",
    "water": "Water",
    "feed_mulch": "Feed and mulch",
    "inspect": "Inspect",
    "clean_out": "Cut out dead and sick wood",
    "tighten_wires": "Tighten wires",
    "straighten_posts": "Straighten posts",
    "erect_support": "Put up the support",
    "replace_tree": "Replace the tree",
}
