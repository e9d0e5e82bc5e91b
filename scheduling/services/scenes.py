"""The rounds of some weeks as they stand, ready to be mended: what is over is taken out, the rest of today starts now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Q, QuerySet

from business import clock
from business.errors import BadInput, Fault
from business.queries.profile import our_profile
from scheduling.models import Crew, Visit
from scheduling.queries.durations import learned_pace
from scheduling.queries.visits import crews_at_work
from scheduling.rounds import CrewDay, RoundPlan, RoundsProblem, wall_minute
from scheduling.services.crews import lay_shifts
from scheduling.services.placements import minute_of, round_key
from scheduling.services.round_problem import MOVABLE, STANDS, build_problem, plan_as_it_stands

LONGEST_HORIZON_DAYS = 400
REPLAN_DAYS = 21
"""Days looked at after a change: long enough for a fortnight's window, short enough to be mended in seconds."""
LATEST_BREAK = 840


@dataclass
class Scene:
    """Visits that stand in a span, the problem they make, the rounds as written, and what is over of today."""

    first_day: date
    last_day: date
    today: date
    crews: list[Crew]
    visits: list[Visit]
    problem: RoundsProblem
    before: RoundPlan
    over: dict[str, list[Visit]] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)

    @property
    def rows(self) -> dict[str, Visit]:
        """Visits by the name the core knows them by."""
        return {str(visit.pk): visit for visit in self.visits}

    def leave_alone(self, chosen: Sequence[Visit], note: str = "") -> None:
        """Take visits out of what may change, and say so; ``{}`` in the note stands for the garden."""
        gone = {str(visit.pk) for visit in chosen}
        self.problem = replace(self.problem, visits=tuple(each for each in self.problem.visits if each.id not in gone))
        self.visits = [visit for visit in self.visits if str(visit.pk) not in gone]
        self.before = plan_as_it_stands(self.problem, self.visits)
        self.notes += [note.format(visit.site.name) for visit in chosen if note]

    def let_move(self, chosen: Sequence[Visit], *, on_its_day: bool = False) -> None:
        """Free visits of their promise: wholly, or of the hour alone."""
        free = {str(visit.pk) for visit in chosen}
        self.problem = replace(
            self.problem,
            visits=tuple(
                replace(each, lock=replace(each.lock, start=None) if each.lock and on_its_day else None)
                if each.id in free
                else each
                for each in self.problem.visits
            ),
        )


def our_today() -> date:
    """The day it is where the business is."""
    return clock.today(our_profile().time_zone)


def scene_of(
    first_day: date, last_day: date | None = None, *, also: Sequence[Visit] = (), running: Crew | None = None
) -> Scene:
    """The rounds from a day on.

    Args:
        also: visits without a day that are to be looked at as well.
        running: a crew whose day is told by the caller; the others go on from where they are now.

    Raises:
        BadInput: the day is over, or there is no crew.
    """
    today = our_today()
    if first_day < today:
        raise BadInput([Fault("day", f"{first_day} is over", "name today or a day to come")])
    crews = scene_crews()
    last_day = max(last_day or first_day, first_day + timedelta(days=REPLAN_DAYS - 1))
    for crew in crews:
        lay_shifts(crew=crew, first_day=first_day, last_day=last_day)
    visits = list(_standing(first_day, last_day, crews, today))
    extra = [visit for visit in also if visit.pk not in {each.pk for each in visits}]
    problem = build_problem(first_day, last_day, crews, [*visits, *extra], learned_pace(today))
    finished = [visit for visit in visits if visit.state == Visit.State.FINISHED]
    scene = Scene(
        first_day=first_day,
        last_day=last_day,
        today=today,
        crews=crews,
        visits=[*visits, *extra],
        problem=problem,
        before=plan_as_it_stands(problem, []),
    )
    if first_day == today:
        for crew in crews:
            if running is None or crew.pk != running.pk:
                _go_on_from_now(scene, crew)
    for visit in finished:
        if running is not None and visit.round and visit.round.crew_id == running.pk:
            scene.over.setdefault(round_key(running.pk, visit.on), []).append(visit)
    scene.leave_alone([visit for visits in scene.over.values() for visit in visits])
    return scene


def check_span(first_day: date, last_day: date) -> None:
    """Whether rounds can be laid on these days at all.

    Raises:
        BadInput: the days are in the wrong order or too many.
    """
    if last_day < first_day:
        raise BadInput([Fault("until", f"{last_day} is before {first_day}", "give the later day last")])
    if (last_day - first_day).days > LONGEST_HORIZON_DAYS:
        raise BadInput([Fault("until", "is more than 400 days after the first day", "plan a season at a time")])


def scene_to_lay(first_day: date, last_day: date) -> Scene:
    """The rounds of a span as they stand, to be laid anew; days that are over and what is over of today stay.

    Raises:
        BadInput: the days are in the wrong order, too many or over, or there is no crew.
    """
    check_span(first_day, last_day)
    today = our_today()
    if last_day < today:
        raise BadInput([Fault("until", f"{last_day} is over", "name today or a day to come")])
    first_day = max(first_day, today)
    crews = scene_crews()
    for crew in crews:
        lay_shifts(crew=crew, first_day=first_day, last_day=last_day)
    visits = list(visits_to_lay(first_day, last_day))
    if first_day == today:
        known = {visit.pk for visit in visits}
        visits += [visit for visit in _standing(today, today, crews, today) if visit.pk not in known]
    problem = build_problem(first_day, last_day, crews, visits, learned_pace(today))
    scene = Scene(
        first_day=first_day,
        last_day=last_day,
        today=today,
        crews=crews,
        visits=visits,
        problem=problem,
        before=plan_as_it_stands(problem, visits),
    )
    if first_day == today:
        for crew in crews:
            _go_on_from_now(scene, crew)
        scene.leave_alone([visit for over in scene.over.values() for visit in over])
    return scene


def visits_to_lay(first_day: date, last_day: date) -> QuerySet[Visit]:
    """Visits that may be laid into the span, and those that stand in it."""
    movable = (
        Visit.objects.filter(state__in=MOVABLE, is_locked=False, opens__lte=last_day, closes__gte=first_day)
        .exclude(on__lt=first_day)
        .exclude(on__gt=last_day)
    )
    standing = Visit.objects.filter(on__range=(first_day, last_day)).filter(state__in=(*STANDS, Visit.State.PLANNED))
    both = (movable | standing.filter(state__in=STANDS) | standing.filter(is_locked=True)).distinct()
    return both.select_related("site__client", "round__crew", "preferred_crew").order_by("pk")


def scene_crews() -> list[Crew]:
    """The crews at work.

    Raises:
        BadInput: there is none.
    """
    crews = list(crews_at_work())
    if not crews:
        raise BadInput([Fault("crews", "there is none", "add a crew with its people and its yard first")])
    return crews


def _standing(first_day: date, last_day: date, crews: Sequence[Crew], today: date) -> Sequence[Visit]:
    states = (Visit.State.PLANNED, Visit.State.CONFIRMED, Visit.State.STARTED)
    return list(
        Visit.objects.filter(Q(state__in=states) | Q(state=Visit.State.FINISHED, on=today))
        .filter(on__range=(first_day, last_day), round__crew__in=crews)
        .select_related("site__client", "round__crew", "preferred_crew")
        .order_by("on", "round__crew", "position", "pk")
    )


def _go_on_from_now(scene: Scene, crew: Crew) -> None:
    """The crew's day from now: what is finished or under way is over, the next drive starts there."""
    mine = [
        visit for visit in scene.visits if visit.on == scene.today and visit.round and visit.round.crew_id == crew.pk
    ]
    over = [visit for visit in mine if visit.state in (Visit.State.FINISHED, Visit.State.STARTED)]
    now = wall_minute(clock.now(), scene.today, ZoneInfo(crew.time_zone))
    starts, place = now, ""
    if over:
        last = max(over, key=lambda visit: (visit.state == Visit.State.STARTED, visit.position or 0))
        place = f"site {last.site_id}"
        if last.state == Visit.State.STARTED and last.leaves_at:
            starts = max(now, minute_of(last.leaves_at))
        scene.over[round_key(crew.pk, scene.today)] = over
    scene.problem = replace(
        scene.problem,
        crew_days=tuple(
            carried
            for each in scene.problem.crew_days
            if (carried := _from(each, starts, place) if each.key == (str(crew.pk), scene.today) else each)
        ),
    )
    late = [
        visit
        for visit in mine
        if visit not in over and visit.state == Visit.State.CONFIRMED and visit.arrives_at
        if minute_of(visit.arrives_at) < starts
    ]
    scene.let_move(late, on_its_day=True)


def _from(day: CrewDay, starts: int, place: str) -> CrewDay | None:
    """What is left of a shift; None when it is over."""
    if starts <= day.starts:
        return replace(day, start=place)
    if starts >= day.ends:
        return None
    return replace(
        day,
        starts=starts,
        start=place,
        break_minutes=0 if starts > LATEST_BREAK - day.break_minutes else day.break_minutes,
    )
