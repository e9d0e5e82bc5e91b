"""Eyes, brackets and screws: how they bend, how they are pulled, what they hold. Forces in N, lengths in mm."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, pow

from gardens.knowledge.material_book import Materials, materials
from gardens.supports.values import Fixing

LBF_PER_INCH_AS_N_PER_MM = 4.4482216152605 / 25.4
"""Exact from the international pound and inch."""


@dataclass(frozen=True, kw_only=True)
class Grip:
    """What an anchor may carry straight out and along the face. [N] ``is_assumed``: nobody pulled it here."""

    allowed_n: float
    is_assumed: bool
    why: str
    source: str


def shank_bending_mpa(*, force_n: float, gap_mm: float, shank_mm: float) -> float:
    """Bending of a round shank that carries a force at a gap from the face: 32·H·e/(π·d³). [MPa]

    Raises:
        ValueError: for a shank not above zero.
    """
    if shank_mm <= 0:
        raise ValueError("a shank needs a diameter above zero")
    return 32 * force_n * gap_mm / (pi * shank_mm**3)


def shank_allows_n(*, gap_mm: float, shank_mm: float, allowed_mpa: float) -> float:
    """The force that bends a shank to its allowed stress. [N]"""
    if gap_mm <= 0:
        raise ValueError("without a gap nothing bends")
    return allowed_mpa * pi * shank_mm**3 / (32 * gap_mm)


def bracket_bolt_n(*, force_n: float, gap_mm: float, bolt_gap_mm: float) -> float:
    """Pull on one bolt of a bracket with two bolts along the wire: H·e/s. [N]"""
    if bolt_gap_mm <= 0:
        raise ValueError("a bracket needs two bolts some way apart")
    return force_n * gap_mm / bolt_gap_mm


def wood_screw_n(*, density_ratio: float, diameter_mm: float, thread_mm: float) -> float:
    """Allowed pull on a screw eye in side grain: 2850·G²·D lbf per inch of thread. [N]

    Source: Wood screws, allowable withdrawal load (Engineering ToolBox, after the US National Design Specification).
    """
    per_inch = 2850 * density_ratio**2 * diameter_mm / 25.4
    return per_inch * LBF_PER_INCH_AS_N_PER_MM * thread_mm


def lag_screw_n(*, density_ratio: float, diameter_mm: float, thread_mm: float) -> float:
    """Allowed pull on a lag screw or heavy eye in side grain: 1800·G^1.5·D^0.75 lbf per inch of thread. [N]

    Source: US National Design Specification, lag screw withdrawal (Engineers Edge).
    """
    per_inch = 1800 * pow(density_ratio, 1.5) * pow(diameter_mm / 25.4, 0.75)
    return per_inch * LBF_PER_INCH_AS_N_PER_MM * thread_mm


def wood_screw_ultimate_n(*, density_ratio: float, diameter_mm: float, thread_mm: float) -> float:
    """Pull at which a screw leaves side grain: 15,700·G²·D lbf per inch = 108.25·G²·D·L N. [N]

    Source: US Forest Products Laboratory, Wood Handbook.
    """
    per_inch = 15_700 * density_ratio**2 * diameter_mm / 25.4
    return per_inch * LBF_PER_INCH_AS_N_PER_MM * thread_mm


def grip(fixing: Fixing, *, wall: str | None, book: Materials | None = None) -> Grip:
    """What the anchor of a fixing may carry.

    A recorded pull test counts for two thirds of its load (tests are made at one and a half times the working load).
    In timber the lesser of the wood-screw and the lag-screw rule counts; in a wall the default of the anchor, and no
    more than the wall is trusted with.
    """
    book = book or materials()
    if fixing.tested_n is not None:
        return Grip(
            allowed_n=fixing.tested_n / 1.5,
            is_assumed=False,
            why="pull-tested here",
            source="test at 1.5 times the working load: house default",
        )
    if fixing.anchor == "wood":
        ratio = book.timbers[fixing.timber].density_ratio
        thread = fixing.thread_mm or round(6 * fixing.diameter_mm)
        return Grip(
            allowed_n=min(
                wood_screw_n(density_ratio=ratio, diameter_mm=fixing.diameter_mm, thread_mm=thread),
                lag_screw_n(density_ratio=ratio, diameter_mm=fixing.diameter_mm, thread_mm=thread),
            ),
            is_assumed=not fixing.thread_mm,
            why=f"{thread} mm of thread in side grain of {book.timbers[fixing.timber].name}",
            source="US National Design Specification, wood and lag screw withdrawal; density from memory",
        )
    anchor, masonry = book.wall_anchors[fixing.anchor], book.walls[wall or "rendered"]
    allowed = anchor.allowed_n if masonry.cap_n is None else min(anchor.allowed_n, masonry.cap_n)
    return Grip(
        allowed_n=allowed,
        is_assumed=True,
        why=f"{anchor.name} in {masonry.name}, not pulled here",
        source=anchor.source,
    )


def shank_for_mm(force_n: float, gap_mm: float, *, book: Materials | None = None) -> float | None:
    """The least shank sold that bears a force at a gap. [mm] None where none does."""
    book = book or materials()
    for shank in book.shanks_mm:
        if shank_bending_mpa(force_n=force_n, gap_mm=gap_mm, shank_mm=shank) <= book.limit("shank_mpa"):
            return shank
    return None
