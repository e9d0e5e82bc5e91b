"""What the ground holds: posts pushed sideways, posts and anchors pulled up. Lengths in m, forces in N."""

from __future__ import annotations

from math import cbrt, pi, radians, sqrt, tan

from gardens.knowledge.material_schema import Soil

DEEPEST_M = 3.0
"""A garden post deeper than this is not a garden post."""

_FOOT_LIMIT_M = 12 * 0.3048
_CONE_DEG = 20


def code_depth_free_m(*, push_n: float, at_m: float, width_m: float, bearing_kpa_m: float) -> float:
    """Depth of a post that nothing holds at ground level. [m]

    d = 0.5·A·(1 + √(1 + 4.36·h/A)), A = 2.34·P/(S₁·b), S₁ = k·min(d/3, 12 ft); iterated from 0.3 m, damped by half.

    Args:
        push_n: horizontal load P. [N]
        at_m: its height h above ground. [m]
        width_m: of the post (the diagonal of a square one, the collar where set in concrete). [m]
        bearing_kpa_m: lateral bearing k per metre depth. [kPa/m]

    Raises:
        ValueError: for ground without a bearing value, or a width not above zero.

    Source: International Building Code 1807.3.2.1.
    """
    _must_hold(width_m, bearing_kpa_m)
    if push_n <= 0:
        return 0.0
    depth = 0.3
    for _ in range(500):
        bearing = bearing_kpa_m * 1000 * min(depth / 3, _FOOT_LIMIT_M)
        area = 2.34 * push_n / (bearing * width_m)
        wanted = 0.5 * area * (1 + sqrt(1 + 4.36 * at_m / area))
        if abs(wanted - depth) < 1e-9:
            break
        depth = (depth + wanted) / 2
    return depth


def code_depth_held_m(*, moment_nm: float, width_m: float, bearing_kpa_m: float) -> float:
    """Depth of a post held at ground level, as by paving: (4.25·M/(k·b))^(1/3). [m]

    Source: International Building Code 1807.3.2.2.
    """
    _must_hold(width_m, bearing_kpa_m)
    return cbrt(4.25 * moment_nm / (bearing_kpa_m * 1000 * width_m))


def sideways_hold_n(soil: Soil, *, depth_m: float, width_m: float, at_m: float) -> float | None:
    """The most that the ground holds against a push at a height, short stiff post. [N] None where nobody can say.

    Sand and gravel: 0.5·γ·b·d³·Kₚ/(h + d), Kₚ = tan²(45° + φ/2). Clay: 9·cᵤ·b on the depth below 1.5·b, in balance.

    Source: Broms 1964 (sand, clay), as given in CAUL, Fundamentals of Foundation Engineering, 6.24, and from memory.
    """
    if soil.is_doubtful and soil.friction_deg is None:
        return None
    if soil.cohesion_kpa is not None:
        return _clay_hold_n(soil.cohesion_kpa * 1000, depth_m=depth_m, width_m=width_m, at_m=at_m)
    if soil.friction_deg is None:
        return None
    passive = tan(radians(45 + soil.friction_deg / 2)) ** 2
    return 0.5 * soil.weight_kn_m3 * 1000 * width_m * depth_m**3 * passive / (at_m + depth_m)


def _clay_hold_n(cohesion_pa: float, *, depth_m: float, width_m: float, at_m: float) -> float:
    """Balance of moments: P·(e + 1.5b + 0.5f) = 2.25·cᵤ·b·g² with f = P/(9·cᵤ·b) and g = d − 1.5b − f."""
    usable = depth_m - 1.5 * width_m
    if usable <= 0:
        return 0.0
    unit = 9 * cohesion_pa * width_m
    low, high = 0.0, unit * usable
    for _ in range(100):
        push = (low + high) / 2
        above = push / unit
        below = usable - above
        if push * (at_m + 1.5 * width_m + 0.5 * above) < 2.25 * cohesion_pa * width_m * below**2:
            low = push
        else:
            high = push
    return low


def depth_for_hold_m(soil: Soil, *, wanted_n: float, width_m: float, at_m: float, factor: float = 1.0) -> float | None:
    """The least depth at which the ground holds a push, in steps of 5 cm. [m] None where no garden depth does."""
    for step in range(1, round(DEEPEST_M / 0.05) + 1):
        depth = step * 0.05
        held = sideways_hold_n(soil, depth_m=depth, width_m=width_m, at_m=at_m)
        if held is None:
            return None
        if held * factor >= wanted_n:
            return round(depth, 2)
    return None


def plate_pull_out_n(*, plate_m: float, depth_m: float, weight_kn_m3: float = 18) -> float:
    """Weight of the cone of soil above a screw plate: γ·π·z/3·(r² + rR + R²), R = r + z·tan 20°. [N]

    Source: soil-cone estimate, the angle is a house default.
    """
    if plate_m <= 0 or depth_m <= 0:
        raise ValueError("a plate needs a width and a depth above zero")
    small = plate_m / 2
    large = small + depth_m * tan(radians(_CONE_DEG))
    return weight_kn_m3 * 1000 * pi * depth_m / 3 * (small**2 + small * large + large**2)


def skin_pull_out_n(*, width_m: float, depth_m: float, skin_kpa: float) -> float:
    """Grip of the ground along a post: π·D·d·τ. [N]"""
    return pi * width_m * depth_m * skin_kpa * 1000


def _must_hold(width_m: float, bearing_kpa_m: float) -> None:
    if width_m <= 0:
        raise ValueError("a post needs a width above zero")
    if bearing_kpa_m <= 0:
        raise ValueError("this ground has no bearing value: test it or have it engineered")
