"""A plan offered, then accepted or dropped. Until it is accepted no visit and no shift changes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from django.db import transaction

from business import clock
from business.errors import AlreadyDone, Fault, Stale
from business.models import Message, Staff
from scheduling.models import Plan, Shift, Unplaced, Visit
from scheduling.models import Round as RoundRow
from scheduling.queries.plans import RETIMED_MINUTES
from scheduling.rounds import Change, Replan, Stop
from scheduling.rounds import Round as CoreRound
from scheduling.services.placements import (
    Placement,
    clock_words,
    drop_empty_rounds,
    outlines_of,
    placement,
    put,
    put_outlines,
    round_key,
    time_of,
)
from scheduling.services.plan_notes import note_moves
from scheduling.services.questions import Asked
from scheduling.services.rounds import must_be_placed, numbers_kept
from scheduling.services.scenes import Scene
from scheduling.services.visits import touch_visits


def offer_plan(asked: Asked, found: Replan, *, by: Staff | None = None, into: Plan | None = None) -> Plan:
    """Write down what a plan would change, on a fresh row or on that of the run that worked it out."""
    scene, rows = asked.scene, asked.scene.rows
    before = {key: placement(visit) for key, visit in rows.items()}
    after = _after(asked, found)
    touched = [key for key in rows if before[key] != after[key]]
    days = {round_key(place[key]["crew"], place[key]["on"]) for place in (before, after) for key in touched}
    days.discard(round_key(None, None))
    plan = into or Plan(made_by=by)
    plan.made_at = clock.now()
    plan.cause = asked.cause[:120]
    plan.first_day, plan.last_day = scene.first_day, scene.last_day
    plan.state = Plan.State.OFFERED
    plan.before = {key: before[key] for key in touched}
    plan.after = {key: after[key] for key in touched}
    plan.numbers = {
        "before": numbers_kept(scene.before),
        "after": numbers_kept(found.plan),
        "stage": found.stage,
        "moved": found.moved,
        "untouched": found.untouched,
    }
    stopped = [STOPPED.format(found.plan.seconds)] if found.plan.was_stopped else []
    plan.offer = {
        "marks": list(asked.marks),
        "notes": [*stopped, *scene.notes, *(str(fault) for fault in found.plan.faults)],
        "travel": list(asked.problem.travel.notes),
        "changes": {change.visit: _kept_change(change) for change in found.changes if change.visit in touched},
        "unplaced": _unplaced(asked, found, touched),
        "looked_at": sorted(int(key) for key in rows) if asked.anew else [],
        "tell": _to_tell(rows, before, after, touched),
        "basis": _basis(days, [int(key) for key in touched]),
        "rounds_before": outlines_of(days),
        "rounds_after": _outlines_after(scene, found, days),
    }
    plan.save()
    return plan


STOPPED = "Stopped after {:.0f} s: this is the best plan found until then."


def _unplaced(asked: Asked, found: Replan, touched: Sequence[str]) -> dict[str, Any]:
    """Why visits are left out: those that lose their place and, where all rounds were laid anew, those without one."""
    return {
        item.visit: {"code": item.code, "why": item.why, "remedy": " ".join(item.freed_by)}
        for item in found.plan.unplaced
        if item.visit in touched or (asked.anew and must_be_placed(asked.scene.rows[item.visit], asked.scene.last_day))
    }


def _after(asked: Asked, found: Replan) -> dict[str, Placement]:
    """Where every visit would stand. Rounds whose order stays keep their times too."""
    scene = asked.scene
    same = {
        (each.crew, each.day)
        for each in found.plan.rounds
        if scene.before.sequences.get((each.crew, each.day)) == each.visits
        and round_key(each.crew, each.day) not in asked.also
    }
    after: dict[str, Placement] = {}
    for each in found.plan.rounds:
        done = len(scene.over.get(round_key(each.crew, each.day), ()))
        for position, stop in enumerate(each.stops, start=done + 1):
            visit = scene.rows.get(stop.visit)
            if visit is None:
                continue
            is_same = (each.crew, each.day) in same
            after[stop.visit] = placement(visit) if is_same else _stands(visit, each, position, stop)
    promised = {each.id for each in asked.problem.visits if each.lock}
    for key, visit in scene.rows.items():
        if key not in after:
            # A promise that cannot be kept is named and left for a person; a plan does not break it.
            stays = visit.is_locked or visit.state == Visit.State.PROPOSED or key in promised
            after[key] = placement(visit) if stays else dict(EVERYWHERE_NONE)
    return after


EVERYWHERE_NONE: Placement = {
    "state": Visit.State.PROPOSED.value,
    "crew": None,
    "on": None,
    "position": None,
    "arrives": None,
    "leaves": None,
    "drive": 0,
}


def _stands(visit: Visit, each: CoreRound, position: int, stop: Stop) -> Placement:
    # An agreement is to a day: on another day the client has to agree anew.
    is_agreed = visit.state == Visit.State.CONFIRMED and visit.on == each.day
    if visit.state == Visit.State.STARTED:
        return placement(visit) | {"position": position}
    return {
        "state": Visit.State.CONFIRMED.value if is_agreed else Visit.State.PLANNED.value,
        "crew": int(each.crew),
        "on": each.day.isoformat(),
        "position": position,
        "arrives": clock_words(time_of(stop.arrives)),
        "leaves": clock_words(time_of(stop.ends)),
        "drive": stop.drive_minutes,
    }


def _kept_change(change: Change) -> dict[str, Any]:
    return {"kind": change.kind, "why": change.why, "was_hit": change.was_hit}


def _to_tell(
    rows: Mapping[str, Visit], before: Mapping[str, Placement], after: Mapping[str, Placement], touched: Sequence[str]
) -> list[str]:
    """Visits whose client knows the old day or hour, by agreement or by a reminder, and would be told again."""
    keys = {key: f"reminder:visit:{key}:{before[key]['on']}" for key in touched}
    reminded = set(Message.objects.filter(key__in=keys.values()).values_list("key", flat=True))
    return [
        key
        for key in touched
        if (rows[key].state == Visit.State.CONFIRMED or keys[key] in reminded)
        and (before[key]["on"] != after[key]["on"] or _minutes_apart(before[key], after[key]) >= RETIMED_MINUTES)
    ]


def _minutes_apart(one: Placement, other: Placement) -> int:
    if not one["arrives"] or not other["arrives"]:
        return 0
    return abs(_minute(one["arrives"]) - _minute(other["arrives"]))


def _minute(words: str) -> int:
    hours, minutes = words.split(":")
    return int(hours) * 60 + int(minutes)


def _outlines_after(scene: Scene, found: Replan, days: Iterable[str]) -> dict[str, Placement | None]:
    rounds = {round_key(each.crew, each.day): each for each in found.plan.rounds}
    kept = outlines_of(days)
    after: dict[str, Placement | None] = {}
    for key in days:
        each, was = rounds.get(key), kept[key]
        if each is None:
            after[key] = was if key in scene.over else None
            continue
        done = scene.over.get(key, ())
        driven = sum(visit.drive_minutes for visit in done)
        drive = driven + each.drive_minutes
        share = driven / was["drive"] if was and was["drive"] else 0.0
        after[key] = {
            "leaves": was["leaves"] if was and done else clock_words(time_of(each.leaves)),
            "back": clock_words(time_of(each.returns)),
            "drive": drive,
            # Kilometres of what is already driven are not kept stop by stop: their part goes by the minutes.
            "km": round((was["km"] * share if was and done else 0.0) + each.drive_km, 1),
        }
    return after


def _basis(days: Iterable[str], visit_ids: Sequence[int]) -> dict[str, Any]:
    """What the offer rests on: the touched visits, and the crew-days they leave and enter."""
    revisions = dict(Visit.objects.filter(pk__in=visit_ids).values_list("pk", "revision"))
    return {
        "visits": {str(key): revision for key, revision in sorted(revisions.items())},
        "days": _days_as_they_are(days),
    }


def _days_as_they_are(keys: Iterable[str]) -> dict[str, dict[str, Any]]:
    """Which visits and hours crew-days have, in two queries however many."""
    wanted = sorted(keys)
    dates = {key.split(" ")[1] for key in wanted}
    shifts = {round_key(shift.crew_id, shift.on): shift for shift in Shift.objects.filter(on__in=dates)}
    visits: dict[str, list[int]] = defaultdict(list)
    # A visit that is started, answered or finished stays where it is: what counts is which visits the day holds.
    rows = Visit.objects.filter(round__on__in=dates).exclude(state=Visit.State.CALLED_OFF)
    for visit, crew, on in rows.values_list("pk", "round__crew_id", "round__on"):
        visits[round_key(crew, on)].append(visit)
    return {key: {"visits": sorted(visits[key]), "shift": _hours(shifts.get(key))} for key in wanted}


def _hours(shift: Shift | None) -> list[Any]:
    return [clock_words(shift.starts), clock_words(shift.ends), shift.is_off, shift.is_wet] if shift else []


@transaction.atomic
def accept_plan(*, plan_id: int) -> Plan:
    """Put every visit where the offer says.

    Raises:
        AlreadyDone: it was accepted, dropped or taken back before.
        Stale: a visit or a crew-day it rests on changed meanwhile; each is named.
    """
    plan = _offered(plan_id)
    visits = {
        str(visit.pk): visit
        for visit in Visit.objects.select_for_update(of=("self",))
        .select_related("site", "round__crew")
        .filter(pk__in=plan.after)
    }
    if faults := _changed_meanwhile(plan, visits):
        raise Stale(faults)
    for key, visit in visits.items():
        put(visit, plan.after[key])
    touch_visits([visit.pk for visit in visits.values()])
    for mark in plan.offer["marks"]:
        Shift.objects.filter(crew_id=mark["crew"], on=mark["on"]).update(**mark["set"])
    put_outlines(plan.offer["rounds_after"])
    drop_empty_rounds()
    _write_unplaced(plan, visits)
    plan.state = Plan.State.ACCEPTED
    plan.save(update_fields=["state"])
    note_moves(f"moved by an accepted plan: {plan.cause}"[:80], plan.before, plan.after)
    return plan


@transaction.atomic
def drop_plan(*, plan_id: int) -> Plan:
    """Leave everything as it is."""
    plan = _offered(plan_id)
    plan.state = Plan.State.DROPPED
    plan.save(update_fields=["state"])
    return plan


def stale_faults(plan: Plan) -> list[Fault]:
    """What changed since an offer was made, without changing anything."""
    rows = Visit.objects.select_related("site", "round__crew").filter(pk__in=plan.after)
    return _changed_meanwhile(plan, {str(visit.pk): visit for visit in rows})


def _offered(plan_id: int) -> Plan:
    plan = Plan.objects.select_for_update().get(pk=plan_id)
    if plan.state != Plan.State.OFFERED:
        state = plan.get_state_display().lower()
        raise AlreadyDone([Fault("plan", f"is {state}", "ask for a new one if something is to change")])
    return plan


AGAIN = "drop this plan and ask for a new one"


def _changed_meanwhile(plan: Plan, visits: Mapping[str, Visit]) -> list[Fault]:
    basis = plan.offer["basis"]
    faults = []
    for key, revision in basis["visits"].items():
        visit = visits.get(key)
        if visit is None:
            faults.append(Fault(f"visit {key}", "is no longer there", AGAIN))
        elif visit.revision != revision or placement(visit) != plan.before[key]:
            faults.append(Fault(f"visit to {visit.site}", _what_changed(visit, plan.before[key]), AGAIN))
    named = {round_key(place["crew"], place["on"]) for place in plan.before.values()} if faults else set()
    now = _days_as_they_are(basis["days"])
    for key, was in basis["days"].items():
        if now[key] != was and key not in named:
            faults.append(Fault(_day_words(key), _day_change(was, now[key]), AGAIN))
    return faults


def _what_changed(visit: Visit, was: Placement) -> str:
    if visit.state != was["state"]:
        return f"is {visit.get_state_display().lower()} now"
    now = placement(visit)
    if (now["crew"], now["on"]) != (was["crew"], was["on"]):
        if visit.on is None or visit.round is None:
            return "has no day any more"
        return f"was moved to {visit.on:%-d %B} with {visit.round.crew}"
    return "was changed by somebody else"


def _day_words(key: str) -> str:
    crew, on = key.split(" ")
    found = RoundRow.objects.filter(crew_id=int(crew), on=on).select_related("crew").first()
    shift = Shift.objects.filter(crew_id=int(crew), on=on).select_related("crew").first()
    holder = found or shift
    name = holder.crew.name if holder else f"crew {crew}"
    return f"{name}, {date.fromisoformat(on):%-d %B}"


def _day_change(was: Mapping[str, Any], now: Mapping[str, Any]) -> str:
    more, fewer = len(set(now["visits"]) - set(was["visits"])), len(set(was["visits"]) - set(now["visits"]))
    if more or fewer:
        parts = [
            f"{count} visit{'s' if count > 1 else ''} {word}"
            for count, word in ((more, "more"), (fewer, "fewer"))
            if count
        ]
        return f"has {' and '.join(parts)} than when the plan was made"
    return "has other working hours than when the plan was made"


def _write_unplaced(plan: Plan, visits: Mapping[str, Visit]) -> None:
    """What the plan leaves out and why, in place of what an earlier plan said of the same visits."""
    looked_at = {*plan.offer.get("looked_at", ()), *(visit.pk for visit in visits.values())}
    Unplaced.objects.filter(visit__in=looked_at).delete()
    unplaced = plan.offer["unplaced"]
    rows = {str(visit.pk): visit for visit in Visit.objects.filter(pk__in=[int(key) for key in unplaced])}
    Unplaced.objects.bulk_create(
        Unplaced(plan=plan, visit=rows[key], **why)
        for key, why in unplaced.items()
        # Somebody may have given it a day meanwhile.
        if key in rows and rows[key].on is None and must_be_placed(rows[key], plan.last_day)
    )
