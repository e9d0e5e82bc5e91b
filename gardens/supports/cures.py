"""What would cure a part that is not enough: changes are tried one by one and only those that work are named."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from math import ceil

from gardens.knowledge.material_book import Materials
from gardens.supports.values import PartCheck, Support
from gardens.supports.wires import thicker_sizes
from gardens.units import Units, show_length

Changes = Iterator[tuple[str, str, Support]]
"""Kind of change, its sentence, the support so changed. Of each kind only the least change that works is named."""

Recheck = Callable[[Support], list[PartCheck]]

NAMED_AT_MOST = 3
GOOD_ENOUGH = ("fine", "near_its_limit", "not_proved")
LITTLE_TO_SPARE = "It holds with little to spare; no single change makes it fine."
BEYOND_US = "No single change cures it: change several together, or have it engineered."


def cure_for(check: PartCheck, support: Support, recheck: Recheck, how: tuple[Materials, Units]) -> str:
    """The sentence that says what would cure a check, each change proved by asking the same question again.

    ``recheck`` gives the checks of the changed support. A check that already carries a cure keeps it behind ours.
    """
    if check.verdict == "fine" or check.rule.startswith(("form_", "metals_", "wall_gap", "fence_")):
        return check.cure
    works: dict[str, str] = {}
    for kind, text, changed in _changes(check.rule, support, how):
        if kind in works:
            continue
        after = next((other for other in recheck(changed) if other.rule == check.rule), None)
        if after is None or _is_cured(check, after):
            works[kind] = text
        if len(works) == NAMED_AT_MOST:
            break
    ours = _join(list(works.values()))
    if not ours and not check.cure:
        return BEYOND_US if check.verdict == "not_enough" else LITTLE_TO_SPARE
    return " ".join(part for part in (ours, check.cure) if part)


def _is_cured(before: PartCheck, after: PartCheck) -> bool:
    if before.verdict == "not_enough":
        return after.verdict in GOOD_ENOUGH
    if before.verdict == "near_its_limit":
        return after.verdict == "fine" or (after.ratio <= 0.8 and after.ratio < before.ratio)
    return False


def _join(works: list[str]) -> str:
    if not works:
        return ""
    first, *others = works
    sentence = "; or ".join([first, *(text[:1].lower() + text[1:] for text in others)])
    return f"{sentence}."


def _changes(rule: str, support: Support, how: tuple[Materials, Units]) -> Changes:
    if rule.startswith("wire_"):
        yield from _wire_changes(rule, support, how)
    elif rule.startswith(("end_shank", "end_anchor")):
        yield from _end_fixing_changes(support, how)
    elif rule.startswith("eye_"):
        yield from _eye_changes(support, how)
    elif rule.startswith("post_"):
        yield from _post_changes(support, how)
    elif rule.startswith("end_"):
        yield from _end_changes(support, how)


def _wire_changes(rule: str, support: Support, how: tuple[Materials, Units]) -> Changes:
    book, units = how
    if rule == "wire_coat":
        for coat in ("class_3", "zinc_aluminium"):
            if coat != support.wire.coating:
                yield "coat", f"Use wire with {book.coatings[coat].name}", _with_wire(support, coating=coat)
        yield "stainless", "Use stainless wire", _with_wire(support, coating="stainless")
        return
    grips = "crimp sleeves or wedge grips"
    if support.joint == "hand_wrap":
        yield "joint", f"Make the ends fast with {grips}", replace(support, joint="grip")
    yield from _tension_changes(rule, support)
    if rule in ("wire_warm", "wire_cold") and not support.spring_n_per_mm:
        yield "spring", "Put a tension spring of 20 N/mm in each wire", replace(support, spring_n_per_mm=20)
    for size in thicker_sizes(support.wire.diameter_mm, book=book):
        thicker = _with_wire(support, diameter_mm=size, label="")
        yield "size", f"Use {size:g} mm wire", thicker
        if support.joint == "hand_wrap":
            yield "size", f"Use {size:g} mm wire and {grips}", replace(thicker, joint="grip")
    yield from _closer(support, units)


def _tension_changes(rule: str, support: Support) -> Changes:
    more = rule in ("wire_sag", "wire_warm", "wire_straight")
    for percent in (110, 125, 150, 175, 200, 250, 300) if more else (90, 80, 70, 60, 50, 40):
        tension = round(support.tension_n * percent / 1000) * 10
        if tension >= 50:
            yield "tension", f"String it to {tension} N", replace(support, tension_n=tension)


def _closer(support: Support, units: Units) -> Changes:
    """Holds set closer: one more, two more, … up to twice as many spans."""
    for spans in range(support.spans + 1, 2 * support.spans + 2):
        gap = ceil(support.run_mm / spans)
        what = "posts" if support.is_row else "eyes"
        yield "closer", f"Set the {what} {show_length(gap, units)} apart", replace(support, hold_gap_mm=gap)


def _end_fixing_changes(support: Support, how: tuple[Materials, Units]) -> Changes:
    book, units = how
    fixing = support.end_fixing
    if fixing is None:
        return
    for shank in book.shanks_mm:
        if shank > fixing.diameter_mm:
            text = f"Use {shank:g} mm shanks at the ends"
            yield "shank", text, replace(support, end_fixing=replace(fixing, diameter_mm=shank))
    for bolt_gap in (100, 150, 200):
        if bolt_gap > fixing.bolt_gap_mm:
            text = f"Use brackets or a batten with bolts {show_length(bolt_gap, units)} apart at the ends"
            bracket = replace(fixing, kind="bracket", bolt_gap_mm=bolt_gap, diameter_mm=max(8, fixing.diameter_mm))
            yield "bracket", text, replace(support, end_fixing=bracket)
            stud = replace(bracket, anchor="resin_stud")
            if fixing.anchor in ("plastic_plug", "sleeve"):
                yield "bracket", f"{text}, on resin studs", replace(support, end_fixing=stud)
    if fixing.anchor in ("plastic_plug", "sleeve"):
        yield "anchor", "Set the ends on resin studs", replace(support, end_fixing=replace(fixing, anchor="resin_stud"))
    if fixing.kind != "returned":
        text = f"Bring the wires back to the face of the {support.kind} at the ends"
        yield "returned", text, replace(support, end_fixing=replace(fixing, kind="returned", bolt_gap_mm=0))
    for percent in (80, 60, 50, 40):
        tension = round(support.tension_n * percent / 1000) * 10
        if tension >= 50:
            yield "tension", f"String the wires to {tension} N", replace(support, tension_n=tension)


def _eye_changes(support: Support, how: tuple[Materials, Units]) -> Changes:
    book, units = how
    fixing = support.fixing
    if fixing is None:
        return
    for shank in book.shanks_mm:
        if shank > fixing.diameter_mm:
            yield "shank", f"Use {shank:g} mm eyes", replace(support, fixing=replace(fixing, diameter_mm=shank))
            break
    for anchor in ("sleeve", "resin_stud"):
        if fixing.anchor in ("plastic_plug", "sleeve") and anchor != fixing.anchor:
            text = f"Use {book.wall_anchors[anchor].name}"
            yield "anchor", text, replace(support, fixing=replace(fixing, anchor=anchor))
    yield from _closer(support, units)


def _post_changes(support: Support, how: tuple[Materials, Units]) -> Changes:
    book, units = how
    post = support.post
    if post is None:
        return
    if post.setting == "dug":
        yield (
            "driven",
            "Drive the posts instead of digging them in",
            replace(support, post=replace(post, setting="driven")),
        )
    for size in book.posts[post.kind].sizes_mm:
        if size > post.size_mm:
            yield "size", f"Use {size} mm posts", replace(support, post=replace(post, size_mm=size))
            if size > post.size_mm + 30:
                break
    for more in range(50, 1001, 50):
        deeper = replace(post, depth_mm=post.depth_mm + more, length_mm=post.length_mm + more)
        yield "depth", f"Set the posts {show_length(deeper.depth_mm, units)} deep", replace(support, post=deeper)
    yield from _closer(support, units)


def _end_changes(support: Support, how: tuple[Materials, Units]) -> Changes:
    _, units = how
    end = support.end
    if end is None:
        return
    if end.kind == "bare":
        yield "stay", "Stay the end posts back to screw anchors", replace(support, end=replace(end, kind="tie_back"))
        brace = replace(end, kind="h_brace", reach_mm=2 * end.height_mm)
        yield "brace", "Build H-braces at the ends", replace(support, end=brace)
    if end.anchor.kind == "dug_post":
        driven = replace(end, anchor=replace(end.anchor, kind="driven_post"))
        yield "driven", "Drive the end posts instead of digging them in", replace(support, end=driven)
    if end.anchor.kind == "screw_plate":
        for depth in range(end.anchor.depth_mm + 150, 1801, 150):
            text = f"Screw the anchors {show_length(depth, units)} deep"
            yield "anchor depth", text, replace(support, end=replace(end, anchor=replace(end.anchor, depth_mm=depth)))
        for plate in (150, 200):
            if plate > end.anchor.plate_mm:
                text = f"Use {plate} mm anchor plates"
                yield (
                    "anchor plate",
                    text,
                    replace(support, end=replace(end, anchor=replace(end.anchor, plate_mm=plate))),
                )
    yield from _end_sizes(support, how)
    for percent in (80, 60, 50):
        tension = round(support.tension_n * percent / 1000) * 10
        yield "tension", f"String the wires to {tension} N", replace(support, tension_n=tension)


def _end_sizes(support: Support, how: tuple[Materials, Units]) -> Changes:
    book, units = how
    end = support.end
    if end is None:
        return
    if end.kind == "tie_back" and end.angle_deg > 45:
        yield "angle", "Set the stays at 45°", replace(support, end=replace(end, angle_deg=45))
    if end.kind in ("h_brace", "strut"):
        for tenths in (15, 20, 25):
            reach = tenths * end.height_mm // 10
            if reach > end.reach_mm:
                text = f"Make the brace {show_length(reach, units)} long"
                yield "reach", text, replace(support, end=replace(end, reach_mm=reach))
    for size in book.posts[end.post.kind].sizes_mm:
        if size > end.post.size_mm:
            text = f"Use {size} mm end posts"
            yield "size", text, replace(support, end=replace(end, post=replace(end.post, size_mm=size)))
    for more in range(100, 601, 100):
        post = replace(end.post, depth_mm=end.post.depth_mm + more, length_mm=end.post.length_mm + more)
        text = f"Set the end posts {show_length(post.depth_mm, units)} deep"
        yield "depth", text, replace(support, end=replace(end, post=post))
    for stay_mm in thicker_sizes(end.stay_mm, book=book):
        yield "stay size", f"Use {stay_mm:g} mm stay wire", replace(support, end=replace(end, stay_mm=stay_mm))
    if end.stay_strands < 4:
        yield "strands", "Double the stay wire", replace(support, end=replace(end, stay_strands=2 * end.stay_strands))


def _with_wire(support: Support, **changes: object) -> Support:
    return replace(support, wire=replace(support.wire, **changes))  # type: ignore[arg-type]
