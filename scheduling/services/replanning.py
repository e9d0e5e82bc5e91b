"""What happens to planned rounds, answered at once: rain, a crew away, a visit called off, an urgent one, an overrun.

Each looks for the plan that changes least and offers it; `offers.accept_plan` writes it. Pages ask through
`plan_runs`, where a job does the same with its progress shown.
"""

from __future__ import annotations

from datetime import date, time

from django.db import transaction

from business.errors import BadInput, Fault, Refusal
from business.models import Staff
from scheduling.models import Need, Plan, Task, Visit
from scheduling.queries.durations import SETUP_MINUTES, learned_pace
from scheduling.queries.visits import crews_at_work
from scheduling.rounds import Effort
from scheduling.services.offers import offer_plan
from scheduling.services.packing import fewest_hands, lay_tasks, pack_need
from scheduling.services.questions import (
    Asked,
    ask_about_gap,
    ask_about_rain,
    ask_after_overrun,
    ask_for_urgent,
    ask_without_crew,
    find_answer,
)
from scheduling.services.scenes import our_today
from scheduling.services.visits import call_off_visit

USUAL_EFFORT = Effort(seconds=6.0)


def rain_day(*, day: date, by: Staff | None = None, effort: Effort | None = None) -> Plan:
    """Offer a plan for a day on which outdoor work is off."""
    return _offer(ask_about_rain(day=day), by, effort)


def crew_away(
    *,
    crew_id: int,
    first_day: date,
    last_day: date,
    reason: str = "",
    by: Staff | None = None,
    effort: Effort | None = None,
) -> Plan:
    """Offer a plan without a crew on some days."""
    return _offer(ask_without_crew(crew_id=crew_id, first_day=first_day, last_day=last_day, reason=reason), by, effort)


def visit_called_off(
    *, visit_id: int, reason: str, revision: int | None = None, by: Staff | None = None, effort: Effort | None = None
) -> Plan | None:
    """Call a visit off, then offer what the gap would do for the others. None if nobody gains.

    The calling off is a fact and stands whatever becomes of the offer.
    """
    visit = Visit.objects.select_related("round").get(pk=visit_id)
    on, crew_id = visit.on, visit.round.crew_id if visit.round else None
    called_off = call_off_visit(visit_id=visit_id, reason=reason, revision=revision)
    if on is None or crew_id is None or on < our_today():
        return None
    plan = _offer(ask_about_gap(crew_id=crew_id, on=on, site_name=called_off.site.name), by, effort)
    if plan.after:
        return plan
    plan.delete()
    return None


def urgent_visit(
    *, visit_id: int, until: date | None = None, by: Staff | None = None, effort: Effort | None = None
) -> Plan:
    """Offer a place soon for a suggested visit, others stepping aside only if they must."""
    return _offer(ask_for_urgent(visit_id=visit_id, until=until), by, effort)


def urgent_need(*, need_id: int, by: Staff | None = None, effort: Effort | None = None) -> Plan:
    """Offer a place soon for work that no visit serves: it gets a visit of its own."""
    visit = visit_for_need(need_id=need_id)
    try:
        return urgent_visit(visit_id=visit.pk, by=by, effort=effort)
    except Refusal:
        visit.delete()
        raise


@transaction.atomic
def visit_for_need(*, need_id: int) -> Visit:
    """A visit made for one need alone.

    Raises:
        BadInput: the work is settled, or is on a visit already.
    """
    need = Need.objects.select_related("site", "season", "tree__support", "support").get(pk=need_id)
    where = f"{need.kind.replace('_', ' ')} at {need.site}"
    if need.state != Need.State.OPEN:
        raise BadInput([Fault(where, f"is {need.get_state_display()}", "only open work needs a visit")])
    if Task.objects.filter(need=need, state=Task.State.OPEN).exists():
        raise BadInput([Fault(where, "is on a visit already", "look a place for that visit instead")])
    asked = pack_need([need], fewest_hands(crews_at_work()), learned_pace(our_today()))
    visit = Visit.objects.create(
        site=need.site,
        season=need.season,
        opens=need.opens,
        best_from=need.best_from,
        best_until=need.best_until,
        closes=need.closes,
        minutes=SETUP_MINUTES + asked.minutes,
        skills=sorted(asked.skills),
        weather_rules=[need.weather_rule] if need.weather_rule else [],
        why_here="Asked for at once, by itself.",
    )
    lay_tasks(visit, [need])
    return visit


def visit_ran_over(*, visit_id: int, until: time, by: Staff | None = None, effort: Effort | None = None) -> Plan:
    """Offer a plan for the rest of today when a crew leaves a site later than planned."""
    return _offer(ask_after_overrun(visit_id=visit_id, until=until), by, effort)


def _offer(asked: Asked, by: Staff | None, effort: Effort | None) -> Plan:
    return offer_plan(asked, find_answer(asked, effort or USUAL_EFFORT), by=by)
