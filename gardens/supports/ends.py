"""How the ends of a row stand against the pull of its wires. Forces in N, lengths in m, angles in degrees.

Each end is taken as a post hinged at the ground and held at one height by a stay, a rail or a strut.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import atan, cos, degrees, hypot, pi, radians, sin, tan


@dataclass(frozen=True, kw_only=True)
class Pull:
    """One wire's pull on an end post: tension [N] at a height [m]."""

    tension_n: float
    height_m: float


@dataclass(frozen=True, kw_only=True)
class EndForces:
    """What the parts of an end carry. [N], [N·m]

    ``pull_n`` ΣT, ``overturning_nm`` ΣT·h; ``member_n`` in the stay (pull), the rail or the strut (push); ``brace_n``
    in the diagonal; ``uplift_n`` at the anchor or the end post; ``foot_n`` sideways at the foot of the post;
    ``thrust_n`` down the post or out of the strut's foot; ``bending_nm`` in the post above the ground.
    """

    pull_n: float
    overturning_nm: float
    member_n: float
    brace_n: float
    uplift_n: float
    foot_n: float
    thrust_n: float
    bending_nm: float


def tie_back(pulls: Sequence[Pull], *, height_m: float, angle_deg: float) -> EndForces:
    """A stay from the post down to an anchor outside the row.

    T_stay = ΣTh/(h_t·cosθ), uplift T·sinθ, left at the foot ΣT − T·cosθ.

    Raises:
        ValueError: for an angle outside 0 … 90° or a height not above zero.
    """
    if not 0 < angle_deg < 90 or height_m <= 0:
        raise ValueError("a stay needs an angle between 0 and 90° and a height above zero")
    pull, turning = _sums(pulls)
    stay = turning / (height_m * cos(radians(angle_deg)))
    level = stay * cos(radians(angle_deg))
    return EndForces(
        pull_n=pull,
        overturning_nm=turning,
        member_n=stay,
        brace_n=0.0,
        uplift_n=stay * sin(radians(angle_deg)),
        foot_n=pull - level,
        thrust_n=stay * sin(radians(angle_deg)),
        bending_nm=_bending_nm(pulls, height_m=height_m, held_n=level),
    )


def h_brace(pulls: Sequence[Pull], *, height_m: float, reach_m: float) -> EndForces:
    """Two posts, a rail at a height and a diagonal from low on the end post to high on the inner one.

    C = ΣTh/h_r, φ = atan(h_r/s), diagonal C/cosφ, the end post rises with C·tanφ = C·h_r/s.
    """
    pull, turning, rail, slope = _braced(pulls, height_m=height_m, reach_m=reach_m)
    return EndForces(
        pull_n=pull,
        overturning_nm=turning,
        member_n=rail,
        brace_n=rail / cos(slope),
        uplift_n=rail * tan(slope),
        foot_n=pull - rail,
        thrust_n=rail * tan(slope),
        bending_nm=_bending_nm(pulls, height_m=height_m, held_n=rail),
    )


def strut(pulls: Sequence[Pull], *, height_m: float, reach_m: float) -> EndForces:
    """A strut on the row side from a height down to a stone.

    N = C/cosφ, the post rises with C·tanφ, the foot pushes C.
    """
    pull, turning, level, slope = _braced(pulls, height_m=height_m, reach_m=reach_m)
    return EndForces(
        pull_n=pull,
        overturning_nm=turning,
        member_n=level / cos(slope),
        brace_n=0.0,
        uplift_n=level * tan(slope),
        foot_n=pull - level,
        thrust_n=level,
        bending_nm=_bending_nm(pulls, height_m=height_m, held_n=level),
    )


def bare_post(pulls: Sequence[Pull]) -> EndForces:
    """A post alone: all of the pull bends it at the ground and turns it in the ground."""
    pull, turning = _sums(pulls)
    return EndForces(
        pull_n=pull,
        overturning_nm=turning,
        member_n=0.0,
        brace_n=0.0,
        uplift_n=0.0,
        foot_n=pull,
        thrust_n=0.0,
        bending_nm=turning,
    )


def rail_buckles_n(*, size_mm: float, length_m: float, modulus_gpa: float) -> float:
    """Push at which a round rail gives way sideways: π²·E·I/L², I = π·D⁴/64. [N]

    Source: Euler; both ends hinged.
    """
    if length_m <= 0:
        raise ValueError("a rail needs a length above zero")
    inertia = pi * (size_mm / 1000) ** 4 / 64
    return pi**2 * modulus_gpa * 1e9 * inertia / length_m**2


def brace_angle_deg(*, height_m: float, reach_m: float) -> float:
    """Angle of the diagonal or strut to the ground. [°]"""
    return degrees(atan(height_m / reach_m))


def diagonal_m(*, height_m: float, reach_m: float) -> float:
    """Length from the foot of one post to the rail's end on the other. [m]"""
    return hypot(height_m, reach_m)


def _sums(pulls: Sequence[Pull]) -> tuple[float, float]:
    if not pulls:
        raise ValueError("an end needs at least one wire that pulls on it")
    return sum(pull.tension_n for pull in pulls), sum(pull.tension_n * pull.height_m for pull in pulls)


def _braced(pulls: Sequence[Pull], *, height_m: float, reach_m: float) -> tuple[float, float, float, float]:
    if height_m <= 0 or reach_m <= 0:
        raise ValueError("a brace needs a height and a reach above zero")
    pull, turning = _sums(pulls)
    return pull, turning, turning / height_m, atan(height_m / reach_m)


def _bending_nm(pulls: Sequence[Pull], *, height_m: float, held_n: float) -> float:
    """Greatest moment along a post that is hinged at the ground and held at one height. [N·m]"""
    foot = sum(pull.tension_n for pull in pulls) - held_n
    moments = []
    for at in {height_m, *(pull.height_m for pull in pulls)}:
        moment = foot * at - sum(pull.tension_n * (at - pull.height_m) for pull in pulls if pull.height_m < at)
        moments.append(abs(moment + held_n * max(0.0, at - height_m)))
    return max(moments)
