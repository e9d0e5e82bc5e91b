"""Supports that tests start from; a test changes only what it is about."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, TypeVar

from gardens.supports import Anchor, End, Fixing, Plant, Post, Support, Surroundings, wire

T = TypeVar("T")


def there(value: T | None) -> T:
    """The value, which the test counts on being there."""
    assert value is not None
    return value


def espalier(**changes: Any) -> Plant:
    facts: dict[str, Any] = {
        "species": "apple_spur",
        "form": "horizontal_tiers",
        "width_mm": 3600,
        "bottom_mm": 200,
        "top_mm": 1800,
        "crop_kg": 15.0,
    }
    return Plant(**(facts | changes))


def wall(**changes: Any) -> Support:
    facts: dict[str, Any] = {
        "kind": "wall",
        "run_mm": 3600,
        "height_mm": 2200,
        "wire_heights_mm": (400, 800, 1200, 1600),
        "wire": wire(2.5),
        "tension_n": 150.0,
        "hold_gap_mm": 1800,
        "joint": "grip",
        "gap_mm": 50,
        "wall": "sound_brick",
        "end_fixing": Fixing(kind="bracket", diameter_mm=10, bolt_gap_mm=150, anchor="resin_stud", tested_n=1800),
        "fixing": Fixing(kind="vine_eye", diameter_mm=8, tested_n=300),
        "plants": (espalier(),),
        "surroundings": Surroundings(gust_m_s=22, coldest_c=-8, warmest_c=30, strung_at_c=12),
    }
    return Support(**(facts | changes))


def row(**changes: Any) -> Support:
    facts: dict[str, Any] = {
        "kind": "post_and_wire",
        "run_mm": 20_000,
        "height_mm": 1800,
        "wire_heights_mm": (500, 900, 1300, 1700),
        "wire": wire(2.5, grade="high_tensile", coating="class_3"),
        "tension_n": 600.0,
        "hold_gap_mm": 2000,
        "joint": "grip",
        "slides": True,
        "gap_mm": 0,
        "post": Post(size_mm=125, length_mm=2700, depth_mm=900),
        "end": End(
            kind="tie_back",
            post=Post(size_mm=150, length_mm=3000, depth_mm=1100),
            height_mm=1600,
            angle_deg=45,
            anchor=Anchor(plate_mm=150, depth_mm=1500),
            stay_mm=4,
        ),
        "plants": (espalier(width_mm=4000, count=5, crop_kg=None, tiers=4),),
        "surroundings": Surroundings(gust_m_s=22, soil="sand", exposure="rural"),
    }
    return Support(**(facts | changes))


def place(support: Support, **changes: Any) -> Support:
    return replace(support, surroundings=replace(support.surroundings, **changes))
