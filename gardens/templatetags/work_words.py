"""Kinds of work, species and forms in the words people use."""

from __future__ import annotations

from math import isfinite

from django import template

from gardens.knowledge.form_schema import rootstocks
from gardens.queries.our_units import our_units
from gardens.services.record_words import LENGTHS, MEASURED_WORDS, SEEN_WORDS
from gardens.services.words import FORM_WORDS, species_name
from gardens.services.work_words import WORK_WORDS
from gardens.units import show_length

register = template.Library()


@register.filter
def work(kind: str) -> str:
    """head_back → Cut the leader back"""
    return WORK_WORDS.get(kind, kind.replace("_", " ").capitalize())


@register.filter
def species(key: str) -> str:
    """pear_european → European pear"""
    return species_name(key)


@register.filter
def form(key: str) -> str:
    """horizontal_tiers → horizontal tiers"""
    return FORM_WORDS.get(key, key.replace("_", " "))


@register.filter
def stage(key: str) -> str:
    """full_bloom → Full bloom"""
    return key.replace("_", " ").capitalize()


@register.filter
def seen(what: str) -> str:
    """leader_height → Height of the leader"""
    return {**MEASURED_WORDS, **SEEN_WORDS}.get(what, what.replace("_", " ").capitalize())


@register.filter
def recorded(value: float, what: str) -> str:
    """The value of a record with its unit."""
    if what in LENGTHS:
        return show_length(value)
    if what in ("limb_angle", "tie_in", "lower_arms"):
        return f"{value:g}°"
    return f"{value:g} kg" if what == "pick" else f"{value:g}"


@register.filter
def stock(key: str) -> str:
    """mm106 → MM106: a rootstock's name"""
    found = rootstocks().get(key)
    return found.name if found else key


@register.filter
def length_in(mm: float) -> str:
    """A length in the units of the business."""
    return show_length(mm, our_units())


@register.filter
def percent(share: float) -> str:
    """0.42 → 42 %"""
    return f"{share:.0%}".replace("%", " %")


@register.filter
def figure(value: float) -> str:
    """1234.5 → 1235, 3.456 → 3.46: three figures are all a check is good for; "none" for what has no bound."""
    if not isfinite(value):
        return "none"
    return f"{value:.0f}" if abs(value) >= 100 else f"{value:.3g}"
