"""Posts: what bending they bear at ground level, where rot begins."""

from __future__ import annotations

from math import pi

from gardens.knowledge.material_book import Materials, materials
from gardens.supports.values import Post


def section_modulus_mm3(post: Post, *, book: Materials | None = None) -> float | None:
    """Resistance of a section to bending: round πD³/32, square b³/6, tube π(D⁴ − d⁴)/(32·D). [mm³]

    None for a rolled post whose maker's figure was not given, or a tube without its wall thickness.
    """
    section = (book or materials()).posts[post.kind].section
    size = post.size_mm
    if section == "round":
        return pi * size**3 / 32
    if section == "square":
        return size**3 / 6
    if section == "tube" and 0 < post.wall_mm < size / 2:
        inner = size - 2 * post.wall_mm
        return pi * (size**4 - inner**4) / (32 * size)
    return post.section_mm3


def bending_mpa(moment_nm: float, modulus_mm3: float) -> float:
    """Bending stress M/W. [MPa] from [N·m] and [mm³]"""
    if modulus_mm3 <= 0:
        raise ValueError("a section modulus is above zero")
    return moment_nm * 1000 / modulus_mm3


def size_for_moment_mm(post: Post, moment_nm: float, *, book: Materials | None = None) -> int | None:
    """The least size sold of this kind of post that bears a moment at ground level. [mm] None where none does."""
    book = book or materials()
    kind = book.posts[post.kind]
    for size in kind.sizes_mm:
        modulus = section_modulus_mm3(
            Post(
                kind=post.kind,
                size_mm=size,
                length_mm=post.length_mm,
                depth_mm=post.depth_mm,
                wall_mm=post.wall_mm,
                section_mm3=post.section_mm3,
            ),
            book=book,
        )
        if modulus and bending_mpa(moment_nm, modulus) <= kind.allowed_mpa:
            return size
    return None


def ground_width_m(post: Post, *, book: Materials | None = None) -> float:
    """Width that pushes against the ground: diameter, diagonal of a square, or the concrete collar. [m]

    Source: International Building Code 1807.3.2 (the diagonal of a square post counts).
    """
    if post.collar_mm:
        return post.collar_mm / 1000
    if (book or materials()).posts[post.kind].section == "square":
        return post.size_mm * 2**0.5 / 1000
    return post.size_mm / 1000


def post_mass_kg(post: Post, *, book: Materials | None = None) -> float:
    """What one post weighs. [kg]"""
    kind = (book or materials()).posts[post.kind]
    length_m = post.length_mm / 1000
    if kind.mass_kg_per_m is not None:
        return kind.mass_kg_per_m * length_m
    size_m = post.size_mm / 1000
    area = {"round": pi * size_m**2 / 4, "square": size_m**2}.get(kind.section)
    if area is None:
        inner_m = size_m - 2 * post.wall_mm / 1000
        area = pi * (size_m**2 - inner_m**2) / 4
    return (kind.density_kg_m3 or 0) * area * length_m
