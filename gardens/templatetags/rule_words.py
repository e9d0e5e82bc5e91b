"""Rules on pages: their addresses, measures with units, verdicts in words."""

from __future__ import annotations

from django import template
from django.urls import reverse

from gardens.knowledge.browse import RuleTable
from gardens.queries.our_units import our_units
from gardens.services.rule_keys import KEYS
from gardens.services.rule_words import profile_words
from gardens.units import show_length

register = template.Library()

VERDICTS = {
    "best": "Best",
    "yes": "Suits",
    "possible": "Possible with care",
    "poor": "Poor",
    "no": "Not advised",
}
FOLLOWED = {
    "a": "the first",
    "b": "the second",
    "both": "both",
    "by_profile": "the one for the climate of the site",
    "middle": "a way between",
}
TABLES: tuple[RuleTable, ...] = ("watch", "closed", "task")
# A key of several tables is called what tasks call it: they come last.
KEY_LABELS = {key.name: key.label for table in TABLES for key in KEYS[table]}
UNITS = ("_mm", "_deg", "_share", "_cm", "_minutes", "_days", "_percent")


@register.simple_tag
def rule_address(name: str) -> str:
    """The page of a rule: apple_spur/summer_prune"""
    origin, _, rule_id = name.partition("/")
    return reverse("rule", args=[origin, rule_id])


@register.filter
def verdict(key: str) -> str:
    """possible → Possible with care"""
    return VERDICTS.get(key, key)


@register.filter
def followed(key: str) -> str:
    """Which of two sources we follow."""
    return FOLLOWED.get(key, key)


@register.filter
def measure(key: str) -> str:
    """arm_first_angle_deg → Arm first angle"""
    bare = next((key.removesuffix(unit) for unit in UNITS if key.endswith(unit)), key)
    return bare.replace("_", " ").capitalize()


@register.filter
def measured(value: float, key: str) -> str:
    """A figure with the unit its key names, lengths as the business reads them."""
    if key.endswith("_mm"):
        return show_length(value, our_units())
    if key.endswith("_deg"):
        return f"{value:g}°"
    if key.endswith("_share"):
        return f"{value:.0%}".replace("%", " %")
    unit = next((f" {unit[1:]}" for unit in UNITS if key.endswith(unit)), "")
    return f"{value:g}{unit}"


@register.filter
def profile(key: str) -> str:
    """continental_cold → Continental, cold winters"""
    return profile_words(key).capitalize()


@register.filter
def sentence(words: str) -> str:
    """A reason as a sentence of its own, with one full stop whatever the file has."""
    plain = words.strip().rstrip(".")
    return f"{plain[:1].upper()}{plain[1:]}." if plain else ""


@register.filter
def spaced(name: str) -> str:
    """silver_leaf → silver leaf"""
    return name.replace("_", " ")


@register.filter
def rule_title(name: str) -> str:
    """stone/silver_leaf → Stone, silver leaf"""
    return name.replace("/", ", ").replace("_", " ").capitalize()


@register.filter
def key_words(name: str) -> str:
    """best_from → Best from"""
    return KEY_LABELS.get(name, spaced(name).capitalize())
