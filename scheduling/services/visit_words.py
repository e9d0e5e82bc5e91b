"""A visit in words for clients: rough on purpose, because a round can slip by an hour."""

from __future__ import annotations

from scheduling.models import Visit

WEATHER_WORDS = {
    "D24": "Cut only on a dry day with a dry day after it.",
    "D48": "Cut only on a dry day with two dry days after it.",
    "D5D": "Cut only with five dry days ahead.",
    "D6W": "Cut only in a dry spell of weeks.",
    "COLD_STOP": "Do not cut with deep frost in the forecast.",
    "COLD_PEACH": "Do not cut peaches with hard frost in the forecast.",
    "COLD_TENDER": "Do not cut tender kinds with hard frost in the forecast.",
    "COLD_POME": "Do not cut apples and pears with severe frost in the forecast.",
    "NOFROZEN": "Do not cut frozen wood.",
    "FROSTY_HANDS": "Stay in when it is too cold for hands and ladders.",
    "BEND": "Bend wood only on a mild day.",
    "HEAT_STOP": "Do not cut in a heat wave.",
    "SCORCH": "Leave leaves over the fruit when hot days follow.",
    "CREW_HEAT": "Hot: start early, rest in the shade, drink.",
    "LADDER": "No ladder in strong wind.",
    "PAINT": "Paint only on a dry, mild, calm day.",
    "PLANT": "Do not plant in frozen ground.",
}
"""What a gate asks of the day, in one line for people; its figures stand in gardens/knowledge/climate/gates.toml."""


def weather_words(gate: str) -> str:
    return WEATHER_WORDS.get(gate, gate)


def part_of_day(visit: Visit) -> str:
    """in the morning, in the early afternoon, in the afternoon, some time in the day"""
    if visit.arrives_at is None:
        return "some time in the day"
    if visit.arrives_at.hour < 12:
        return "in the morning"
    return "in the early afternoon" if visit.arrives_at.hour < 14 else "in the afternoon"
