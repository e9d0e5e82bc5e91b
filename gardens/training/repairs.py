"""What to do about an arm that did not come, or died; and what may not be done to wake or slow a limb."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from gardens.knowledge import form_schema as knowledge
from gardens.training.frame_acts import called
from gardens.training.growing import Growing
from gardens.training.season_view import SeasonView, at, to
from gardens.training.state import Step

NOTCH_WIDTH_MM = 2
NOTCH_FROM, NOTCH_UNTIL = timedelta(days=28), timedelta(days=14)
YEARS_UNTIL_GRAFT = 2


def notch_window(full_bloom: date) -> tuple[date, date]:
    """First and last day for a notch above a sleeping bud: four to two weeks before full bloom.

    Source: Greene and Autio, J. Amer. Soc. Hort. Sci. 119(4):678-682, 1994.
    """
    return full_bloom - NOTCH_FROM, full_bloom - NOTCH_UNTIL


def may_ring_bark(species: str) -> tuple[bool, str]:
    """Whether a too strong limb of a species may be checked by a bark ring, with the reason if not.

    Source: gardening tips page on bark ringing (never on stone fruit).
    """
    usual = knowledge.usual_vigours().get(species)
    if usual and usual.group == "stone":
        return (
            False,
            "Stone fruit never heals a bark ring well: it gums, and canker and silver leaf enter. Lower the limb.",
        )
    if usual and usual.group in ("fig", "vine"):
        return False, "A bark ring is only known on apples and pears. Lower the limb instead."
    return True, ""


def repairs(view: SeasonView) -> Iterator[Step]:
    """The repair of each lost limb that was not accepted, in the order of preference."""
    for limb in view.limbs:
        if limb.status == "lost" and not limb.is_accepted:
            yield from _repair(view, limb)


def _repair(view: SeasonView, limb: Growing) -> Iterator[Step]:
    name = called(view, limb)
    if view.state.full_since is not None:
        yield from view.step(
            "accept_gap",
            limb.key,
            f"Lay a side shoot of the limb below into the gap of {name}, or record the gap as accepted.",
        )
    elif limb.lost_in and view.year - limb.lost_in >= YEARS_UNTIL_GRAFT:
        height = limb.place.limb.origin_y_mm
        yield from view.step(
            "graft",
            limb.key,
            f"Set a bud or a side graft into the trunk {view.length(height)} above the ground for {name}.",
            at=at(height),
        )
    else:
        yield from _wake_a_bud(view, limb, name)


def _wake_a_bud(view: SeasonView, limb: Growing, name: str) -> Iterator[Step]:
    yield from view.step(
        "spare",
        limb.key,
        f"Tie the nearest spare shoot into the place of {name} at {limb.place.first_angle_deg:.0f}°.",
        at=to(limb.place.first_angle_deg),
    )
    yield from view.step(
        "notch",
        limb.key,
        f"If no shoot stands there, cut out a strip of bark {NOTCH_WIDTH_MM} mm wide, a third of the way round, above the bud "
        f"for {name}, two to four weeks before full bloom.",
    )
    if view.leader_goes_on and view.before_growth and limb.place.bearer == "leader":
        yield from view.step(
            "bend_leader",
            limb.key,
            f"If all shoots stand at the top, bend the old leader down as {name} and let the best shoot near the bend lead.",
        )
