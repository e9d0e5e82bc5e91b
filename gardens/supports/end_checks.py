"""Ends of a row: anchor, stay, rail, strut and end post against the pull of all wires."""

from __future__ import annotations

from collections.abc import Sequence
from math import pi

from gardens.knowledge.material_book import Materials
from gardens.supports.cases import CaseName, LoadedWire
from gardens.supports.ends import (
    EndForces,
    Pull,
    bare_post,
    diagonal_m,
    h_brace,
    rail_buckles_n,
    strut,
    tie_back,
)
from gardens.supports.ground import plate_pull_out_n, skin_pull_out_n
from gardens.supports.judging import Asked, judge
from gardens.supports.post_checks import ground_check, section_check
from gardens.supports.values import Anchor, End, PartCheck, Support
from gardens.units import Units, show_length

STEEPEST_DEG = 60.0
"""A stay steeper than 60° lifts its anchor more than it holds the post."""


def end_forces(end: End, pulls: Sequence[Pull]) -> EndForces:
    """What the parts of an end carry under the pull of the wires."""
    height_m, reach_m = end.height_mm / 1000, end.reach_mm / 1000
    if end.kind == "tie_back":
        return tie_back(pulls, height_m=height_m, angle_deg=end.angle_deg)
    if end.kind == "h_brace":
        return h_brace(pulls, height_m=height_m, reach_m=reach_m)
    if end.kind == "strut":
        return strut(pulls, height_m=height_m, reach_m=reach_m)
    return bare_post(pulls)


def end_pulls(wires: Sequence[LoadedWire]) -> tuple[Pull, ...]:
    """The worst pull of all wires together: a cold night, full crop, gale or ice, or one wire leant on."""
    lasting: tuple[CaseName, ...] = ("cold", "crop", "gale", "ice", "strung")
    together = [
        tuple(Pull(tension_n=_in_case(wire, case), height_m=wire.height_mm / 1000) for wire in wires)
        for case in lasting
    ]
    for leant_on in wires:
        if accident := leant_on.case("accident"):
            together.append(
                tuple(
                    Pull(
                        tension_n=accident.tension_n if wire is leant_on else _in_case(wire, "strung"),
                        height_m=wire.height_mm / 1000,
                    )
                    for wire in wires
                )
            )
    return max(together, key=lambda pulls: sum(pull.tension_n * pull.height_m for pull in pulls))


def check_ends(support: Support, wires: Sequence[LoadedWire], book: Materials, units: Units) -> list[PartCheck]:
    """All checks of the ends of a row."""
    end = support.end
    if end is None or not support.is_row:
        return []
    forces = end_forces(end, end_pulls(wires))
    checks = [*_post(support, end, forces, book), *_held(support, end, forces, book)]
    checks += _member(support, end, forces, book)
    checks += _shape(support, end, (book, units))
    return checks


def pull_out_n(anchor: Anchor, end: End, support: Support, *, book: Materials) -> tuple[float, bool, str, str]:
    """What holds an end down at most, whether that is assumed, why, and its source. [N]"""
    soil = book.soils[support.surroundings.soil]
    if anchor.tested_n is not None:
        return anchor.tested_n, False, "pull-tested here", "site test"
    row = book.pull_outs[anchor.kind]
    wet = 0.5 if anchor.is_waterlogged else 1.0
    if anchor.kind == "screw_plate":
        cone = plate_pull_out_n(
            plate_m=anchor.plate_mm / 1000, depth_m=anchor.depth_mm / 1000, weight_kn_m3=soil.weight_kn_m3
        )
        why = f"{anchor.plate_mm} mm plate at {anchor.depth_mm} mm in {soil.name}"
        return (0.0 if soil.id == "fill" else cone * wet), soil.is_doubtful, why, row.source
    if row.ultimate_n is not None:
        return row.ultimate_n * wet, True, f"{row.name}, not pulled here", row.source
    skin = skin_pull_out_n(
        width_m=end.post.size_mm / 1000, depth_m=end.post.depth_mm / 1000, skin_kpa=soil.skin_kpa * wet
    )
    return skin, soil.is_doubtful, f"grip of {soil.name} along the post", row.source


def _in_case(wire: LoadedWire, name: CaseName) -> float:
    case = wire.case(name)
    return case.tension_n if case else wire.most_n("strung")


def _post(support: Support, end: End, forces: EndForces, book: Materials) -> list[PartCheck]:
    checks = section_check(
        "end_post_bending",
        "end posts",
        end.post,
        (forces.bending_nm, "greatest moment of a post hinged at the ground and held at one height, over W"),
        book,
    )
    kind = book.posts[end.post.kind]
    if not kind.may_end:
        checks.append(
            judge(
                Asked(
                    rule="end_post_kind",
                    part="end posts",
                    question=f"May a {kind.name} stand at the end of a row?",
                    demand=1.0,
                    limit=0.0,
                    unit="",
                    formula="T-posts and thin stakes are line posts only",
                    source="common practice",
                    cure="Use a timber or tube post with a brace at both ends.",
                )
            )
        )
    if abs(forces.foot_n) > 1:
        at_m = forces.overturning_nm / forces.pull_n if end.kind == "bare" else 0.0
        question = f"Does the ground hold the foot against {abs(forces.foot_n):.0f} N sideways?"
        asked = ("end_post_ground", "end posts", question)
        checks += ground_check(asked, support, end.post, (abs(forces.foot_n), at_m), book)
    return checks


def _held(support: Support, end: End, forces: EndForces, book: Materials) -> list[PartCheck]:
    """The anchor of a stay, or the end post that a brace lifts."""
    if end.kind == "bare":
        return []
    most, is_assumed, why, source = pull_out_n(end.anchor, end, support, book=book)
    limit = book.limits["pull_out_factor"]
    part = "anchors of the stays" if end.kind == "tie_back" else "end posts"
    return [
        judge(
            Asked(
                rule="end_uplift",
                part=part,
                question=f"Does the ground hold an uplift of {forces.uplift_n:.0f} N?",
                demand=forces.uplift_n,
                limit=most / limit.value,
                unit="N",
                formula="uplift of the end assembly; limit pull-out/2",
                source=source,
                assumed=(why,) if is_assumed else (),
                notes=(why,),
                cure=f"Pull one up with a hoist and a scale to {1.5 * forces.uplift_n:.0f} N and record it."
                if is_assumed
                else "",
            )
        )
    ]


def _member(support: Support, end: End, forces: EndForces, book: Materials) -> list[PartCheck]:
    """Stay or diagonal in pull; rail or strut in push."""
    checks = []
    wire_n = {"tie_back": forces.member_n, "h_brace": forces.brace_n}.get(end.kind, 0.0)
    if wire_n:
        strength_n = support.wire.strength_mpa * pi * end.stay_mm**2 / 4 * end.stay_strands
        limit = book.limits["tension_share_loaded"]
        checks.append(
            judge(
                Asked(
                    rule="end_stay",
                    part="stays" if end.kind == "tie_back" else "diagonals",
                    question=f"Do {end.stay_strands} strands of {end.stay_mm:g} mm bear {wire_n:.0f} N?",
                    demand=wire_n,
                    limit=limit.value * strength_n * book.joints["grip"].factor,
                    unit="N",
                    formula="stay: ΣT·h/(h_t·cosθ); diagonal: ΣT·h/(h_r·cosφ); limit R·A·joint factor/2",
                    source=limit.source,
                )
            )
        )
    if end.kind in ("h_brace", "strut"):
        length_m = (
            end.reach_mm / 1000
            if end.kind == "h_brace"
            else diagonal_m(height_m=end.height_mm / 1000, reach_m=end.reach_mm / 1000)
        )
        checks.append(
            judge(
                Asked(
                    rule="end_rail",
                    part="rails" if end.kind == "h_brace" else "struts",
                    question=f"Does a {end.rail_mm} mm rail bear a push of {forces.member_n:.0f} N without buckling?",
                    demand=forces.member_n,
                    limit=rail_buckles_n(size_mm=end.rail_mm, length_m=length_m, modulus_gpa=8) / 2,
                    unit="N",
                    formula="π²·E·I/L² over 2",
                    source="Euler; E 8 GPa for softwood C16, EN 338, from memory",
                )
            )
        )
    return checks


def _shape(support: Support, end: End, how: tuple[Materials, Units]) -> list[PartCheck]:
    """Lengths and angles that the trade has found good."""
    book, units = how
    checks = []
    if end.kind in ("h_brace", "strut"):
        wanted = 2 * end.height_mm if end.kind == "h_brace" else end.height_mm
        checks.append(
            judge(
                Asked(
                    rule="end_shape",
                    part="end assemblies",
                    question="Is the brace long enough to lift the post little?",
                    demand=end.reach_mm,
                    limit=wanted,
                    unit="mm",
                    is_floor=True,
                    is_advice=True,
                    formula="rail: at least twice its height; strut: at most 45° to the ground",
                    source="common practice",
                    cure=f"Set the foot {show_length(wanted, units)} away.",
                )
            )
        )
    if end.kind == "tie_back":
        checks.append(
            judge(
                Asked(
                    rule="end_shape",
                    part="end assemblies",
                    question=f"Is the stay no steeper than {STEEPEST_DEG:g}°?",
                    demand=end.angle_deg,
                    limit=STEEPEST_DEG,
                    unit="°",
                    is_advice=True,
                    formula="post, stay and ground as an equal-sided triangle",
                    source="Fraser & Oakes, Nuts and bolts of dwarf fruit tree support systems, IDFTA 1999",
                    cure=f"Set the anchor further out: {show_length(end.height_mm / 1.7321, units)} from the post.",
                )
            )
        )
    if end.kind == "tie_back" and end.anchor.kind == "screw_plate":
        checks.append(_row_length(support, end, book))
    return checks


def _row_length(support: Support, end: End, book: Materials) -> PartCheck:
    fitting = [row for row in book.row_anchors if row.plate_mm <= end.anchor.plate_mm]
    row = max(fitting, key=lambda row: row.longest_m, default=None)
    return judge(
        Asked(
            rule="end_row_length",
            part="anchors of the stays",
            question="Is the row short enough for one screw anchor at each end?",
            demand=support.run_mm / 1000,
            limit=row.longest_m if row else 0.0,
            unit="m",
            is_advice=True,
            formula="150 mm plate up to 183 m, 100 mm up to 76 m, less on sand",
            source=row.source if row else book.row_anchors[0].source,
            cure="Use a 150 mm plate, or an H-brace above 183 m.",
        )
    )
