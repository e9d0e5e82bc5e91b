"""Posts along a row: do they bend, does the ground hold them, are they deep enough?"""

from __future__ import annotations

from gardens.knowledge.material_book import Materials
from gardens.supports.ground import code_depth_free_m, sideways_hold_n
from gardens.supports.judging import Asked, judge
from gardens.supports.loads import wind_on_post_n
from gardens.supports.posts import bending_mpa, ground_width_m, section_modulus_mm3
from gardens.supports.values import PartCheck, Post, Support
from gardens.units import Units, show_length

MAY_MOVE = 2.0
"""Isolated posts that may move half an inch: twice the bearing (IBC 1806.3.4)."""


def check_posts(support: Support, book: Materials, units: Units) -> list[PartCheck]:
    """Line posts of a row against the wind on the plants, and their depth against the rules of the trade and code."""
    post = support.post
    if post is None:
        return []
    push_n, at_m = wind_on_post_n(support, book=book)
    checks = [_depth_rule(post, book, units)]
    if push_n:
        checks += _bending(post, (push_n, at_m), book)
        checks += _ground(support, post, (push_n, at_m), book)
        checks += _code_depth(support, post, (push_n, at_m), (book, units))
    return checks


def section_check(rule: str, part: str, post: Post, bending: tuple[float, str], book: Materials) -> list[PartCheck]:
    """A post's section against a moment. [N·m]"""
    moment_nm, formula = bending
    kind = book.posts[post.kind]
    modulus = section_modulus_mm3(post, book=book)
    question = f"Does its section bear {moment_nm:.0f} N·m at the ground?"
    if modulus is None:
        return [
            judge(
                Asked(
                    rule=rule,
                    part=part,
                    question=question,
                    demand=0.0,
                    limit=kind.allowed_mpa,
                    unit="MPa",
                    formula=formula,
                    source=kind.source,
                    assumed=("the section modulus of this post",),
                    cure="Ask the maker for the section modulus (mm³) and enter it.",
                )
            )
        ]
    return [
        judge(
            Asked(
                rule=rule,
                part=part,
                question=question,
                demand=bending_mpa(moment_nm, modulus),
                limit=kind.allowed_mpa,
                unit="MPa",
                formula=formula,
                source=kind.source,
            )
        )
    ]


def ground_check(
    asked: tuple[str, str, str], support: Support, post: Post, push: tuple[float, float], book: Materials
) -> list[PartCheck]:
    """What the ground holds of a post that is pushed sideways at a height. [N, m]"""
    rule, part, question = asked
    push_n, at_m = push
    soil = book.soils[support.surroundings.soil]
    limit = book.limits["ground_factor"]
    setting = book.settings[post.setting]
    held = sideways_hold_n(soil, depth_m=post.depth_mm / 1000, width_m=ground_width_m(post, book=book), at_m=at_m)
    assumed = (f"ground: {soil.name}",) if soil.is_doubtful else ()
    return [
        judge(
            Asked(
                rule=rule,
                part=part,
                question=question,
                demand=(held or 0.0) * setting.holding_factor / push_n,
                limit=limit.value,
                unit="times the load",
                is_floor=True,
                formula="sand: 0.5·γ·b·d³·Kₚ/(h + d); clay: 9·cᵤ·b below 1.5·b; over the push",
                source=f"Broms 1964; factor: {limit.source}; {setting.name}: {setting.source}",
                assumed=assumed if held is not None else (),
                cure="Dig a trial hole and enter what the ground is." if assumed else "",
                notes=() if held is not None else ("this ground holds nothing that can be reckoned with: test it",),
            )
        )
    ]


def _bending(post: Post, push: tuple[float, float], book: Materials) -> list[PartCheck]:
    return section_check(
        "post_bending", "line posts", post, (push[0] * push[1], "σ = P·h/W, P = q·Cd·face·post distance"), book
    )


def _ground(support: Support, post: Post, push: tuple[float, float], book: Materials) -> list[PartCheck]:
    gust = f"a gust of {support.surroundings.gust_m_s:g} m/s ({push[0]:.0f} N at {push[1]:.2f} m)"
    question = f"Does the ground hold them in {gust}?"
    return ground_check(("post_ground", "line posts", question), support, post, push, book)


def _code_depth(
    support: Support, post: Post, push: tuple[float, float], how: tuple[Materials, Units]
) -> list[PartCheck]:
    """Depth by building code. Where nobody passes it is told, where people pass it counts."""
    book, units = how
    soil = book.soils[support.surroundings.soil]
    if not soil.bearing_kpa_m:
        return []
    depth_m = code_depth_free_m(
        push_n=push[0],
        at_m=push[1],
        width_m=ground_width_m(post, book=book),
        bearing_kpa_m=soil.bearing_kpa_m * MAY_MOVE,
    )
    needs = show_length(depth_m * 1000, units)
    people = support.surroundings.people_pass
    return [
        judge(
            Asked(
                rule="post_code_depth",
                part="line posts",
                question="Do they stand as deep as building code asks of a post that could fall on somebody?",
                demand=post.depth_mm,
                limit=depth_m * 1000,
                unit="mm",
                is_floor=True,
                is_advice=not people,
                formula="d = 0.5·A·(1 + √(1 + 4.36·h/A)), A = 2.34·P/(S₁·b), bearing doubled for posts that may move",
                source="International Building Code 1807.3.2.1, 1806.3.4",
                cure=(
                    f"Code depth is {needs}; usual garden depths are shallower. Keep people out of the fall line, set "
                    "posts closer, thicker or deeper, or have the row engineered."
                ),
                notes=() if people else ("told for comparison: nobody was said to pass within its fall",),
            )
        )
    ]


def _depth_rule(post: Post, book: Materials, units: Units) -> PartCheck:
    share, least = book.limits["post_depth_share"], book.limits["post_depth_least_mm"]
    wanted = max(share.value * post.length_mm, least.value)
    return judge(
        Asked(
            rule="post_depth",
            part="line posts",
            question="Is enough of them in the ground by the rule of the trade?",
            demand=post.depth_mm,
            limit=wanted,
            unit="mm",
            is_floor=True,
            is_advice=True,
            formula="30 % of the length, at least 60 cm",
            source=share.source,
            cure=f"Set them {show_length(wanted, units)} deep, with longer posts if need be.",
        )
    )
