"""Rules on pages: their addresses, measures with units, verdicts in words."""

from __future__ import annotations

from django import template
from django.urls import reverse

from business.queries.profile import our_profile
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
        return show_length(value, "imperial" if our_profile().units == "imperial" else "metric")
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
