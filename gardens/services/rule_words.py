"""Rules in words a person reads: days of the tree's year, sources in full, forms and profiles."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from django.utils.formats import date_format

from gardens.knowledge import Frame, Knowledge, When
from gardens.knowledge.usual import when_day
from gardens.knowledge.when import Point
from gardens.knowledge.words import FORM_GROUPS
from gardens.services.words import FORM_WORDS

GRADES: Mapping[str, str] = {
    "A": "extension service, society, research or law",
    "B": "press, nursery or consumer body",
    "C": "unsigned page, forum or copied text",
}
PLAIN = {
    "common practice": "held by the trade at large",
    "from memory": "not looked up again",
    "house default": "a number of this program's own choice",
}
ANCHOR_WORDS = {
    "shoots_90": "nine shoots in ten having ended",
    "shoot_ripe": "the shoots' ripening",
    "terminal_bud": "the terminal buds' setting",
    "coldest_end": "the end of the coldest weeks",
    "spring_dry": "the end of the winter rain",
    "autumn_rain": "the return of rain in autumn",
    "last_frost": "the last frost",
    "first_frost": "the first frost",
    "harvest_start": "the start of picking",
    "harvest_end": "the end of picking",
    "second_drop": "the second fruit drop",
}
GROUP_WORDS = {
    "tiers": "tiers and step-overs",
    "cordon": "cordons",
    "fan": "fans",
    "palmette": "palmettes",
    "vine": "vines",
    "informal": "informal trees",
    "lattice": "lattices",
}
PROFILE_WORDS = {
    "maritime": "maritime",
    "continental_cold": "continental, cold winters",
    "mediterranean": "mediterranean",
}


@dataclass(frozen=True, kw_only=True)
class FullSource:
    """One source: its title, how much it weighs in words, and what to know about it."""

    title: str
    weight: str
    note: str = ""


def full_sources(knowledge: Knowledge, titles: Iterable[str]) -> tuple[FullSource, ...]:
    """The sources of a rule, each once, with their standing."""
    known = {entry.title: entry for entry in knowledge.sources.values()}
    found = []
    for title in dict.fromkeys(titles):
        entry = known.get(title)
        weight = GRADES[entry.grade] if entry else PLAIN.get(title, "")
        found.append(FullSource(title=title, weight=weight, note=entry.note if entry else ""))
    return tuple(found)


def day_words(when: When) -> str:
    """later(petal_fall+45d, month:06-01) → the later of 45 days after petal fall and 1 June"""
    points = [_point_words(point) for point in when.points]
    if when.pick == "only":
        return points[0]
    return f"the {when.pick} of {', '.join(points[:-1])} and {points[-1]}"


def _point_words(point: Point) -> str:
    if point.month:
        anchor = date_format(date(2001, point.month, point.day), "j F")
    else:
        anchor = ANCHOR_WORDS.get(point.anchor, point.anchor.replace("_", " "))
    if point.seasons_away:
        anchor += " of the next season" if point.seasons_away > 0 else " of the season before"
    if not point.shift_days:
        return anchor
    days = abs(point.shift_days)
    amount = f"{days // 7} weeks" if days % 7 == 0 and days > 14 else f"{days} day{'s' if days > 1 else ''}"
    return f"{amount} {'after' if point.shift_days > 0 else 'before'} {anchor}"


def usual_day(when: When, calendar: Mapping[str, When], frame: Frame) -> date:
    """The day an expression usually falls on."""
    return when_day(when, frame, calendar)


def form_words(names: Iterable[str]) -> list[str]:
    """Forms and groups of forms in words."""
    return [FORM_WORDS[name] if name in FORM_WORDS and name not in FORM_GROUPS else GROUP_WORDS[name] for name in names]


def profile_words(profile: str) -> str:
    """continental_cold → continental, cold winters"""
    return PROFILE_WORDS.get(profile, profile.replace("_", " "))
