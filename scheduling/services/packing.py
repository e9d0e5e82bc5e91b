"""Needs laid into visits, site by site."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from django.db import transaction

from business import clock
from business.queries.clients import agreement_on
from business.queries.profile import our_profile
from gardens.models import Site
from scheduling.models import Crew, Need, Season, Task, Unplaced, Visit, WorkOrder
from scheduling.packing import CrewKind, LockedVisit, PackedVisit, Packing, PackNeed, PackRules, pack_site
from scheduling.queries.durations import SETUP_MINUTES, USUAL_PACE, Pace, learned_pace
from scheduling.queries.visits import crews_at_work

MOST_MINUTES_AT_A_SITE = 390
"""A crew-day less its break and a fair drive there and back."""
MIN_GAP_DAYS = 10
"""A client is not visited twice in ten days unless a window forces it."""

MOST_MINUTES_IN_A_BUNDLE = 120

STANDING = (Visit.State.PLANNED, Visit.State.CONFIRMED, Visit.State.STARTED)


@dataclass
class PackingOutcome:
    """What packing a season did."""

    visits: int = 0
    needs_placed: int = 0
    unserved: int = 0


def pack_season(
    season: Season, sites: Sequence[Site], *, on_progress: Callable[[int, int], None] | None = None
) -> PackingOutcome:
    """Pack every site anew: suggested visits are made afresh, visits that stand on a round are kept."""
    outcome = PackingOutcome()
    crews = list(crews_at_work())
    pace = learned_pace(clock.today(our_profile().time_zone))
    for number, site in enumerate(sites, start=1):
        pack_one_site(season, site, crews, outcome, pace)
        if on_progress:
            on_progress(number, len(sites))
    return outcome


@transaction.atomic
def pack_one_site(
    season: Season, site: Site, crews: Sequence[Crew], outcome: PackingOutcome, pace: Pace = USUAL_PACE
) -> Packing:
    """Lay the open needs of one site into visits and write them."""
    suggested = Visit.objects.filter(site=site, season=season, state=Visit.State.PROPOSED)
    Task.objects.filter(work_order__visit__in=suggested).delete()
    suggested.delete()
    Unplaced.objects.filter(need__site=site, need__season=season).delete()
    bundles = bundled(_open_needs(season, site), fewest_hands(crews), pace)
    standing = _standing_visits(season, site)
    packing = pack_site([bundle.asked for bundle in bundles.values()], _rules(season, site, crews, standing))
    days_left = Counter(key for packed in packing.visits for key in packed.need_ids)
    days_of = dict(days_left)
    for packed in packing.visits:
        chosen = [need for key in packed.need_ids if key in bundles for need in bundles[key].needs]
        if not chosen:
            continue
        visit = standing[packed.locked_id] if packed.locked_id else _new_visit(season, site, packed)
        if not packed.locked_id:
            visit.why_here = why_together([bundles[key] for key in packed.need_ids if key in bundles], packed, packing)
            visit.save(update_fields=["why_here"])
        shares = {}
        for key in packed.need_ids:
            if days_of[key] > 1 and key in bundles:
                (need,) = bundles[key].needs  # only a need of its own is ever split
                shares[need.pk] = Share(number=days_of[key] - days_left[key] + 1, days=days_of[key])
            days_left[key] -= 1
        lay_tasks(visit, chosen, shares)
        if packed.locked_id:
            _lengthen(visit, packed.minutes)
        outcome.visits += not packed.locked_id
        outcome.needs_placed += sum(need.pk not in shares or shares[need.pk].is_last for need in chosen)
    lost = [
        Unplaced(need=need, code=item.code, why=item.why, remedy=item.remedy)
        for item in packing.unserved
        for need in bundles[item.need_id].needs
        # An optional need that no visit takes along is no loss; the season page says so beside it.
        if not need.is_optional
    ]
    Unplaced.objects.bulk_create(lost)
    outcome.unserved += len(lost)
    return packing


def fewest_hands(crews: Iterable[Crew]) -> int:
    """People in the smallest crew: what a visit may be sure of."""
    return min((crew.size for crew in crews), default=1)


@dataclass(frozen=True)
class Bundle:
    """Needs of one site that may be done on just the same days, packed as one."""

    asked: PackNeed
    needs: tuple[Need, ...]


def bundled(needs: Iterable[Need], hands: int, pace: Pace = USUAL_PACE) -> dict[str, Bundle]:
    """Needs gathered by window, skill and weather rule.

    A garden's six apples are due on the same days; packing them one by one would ask the same question six times. A
    bundle holds at most two hours of crew work, so that bundling never makes work that fits a day too long for it.
    """
    alike: dict[tuple[object, ...], list[Need]] = defaultdict(list)
    for need in needs:
        window = (need.opens, need.best_from, need.best_until, need.closes)
        alike[(*window, need.skill, need.people, need.weather_rule, need.is_optional)].append(need)
    found = {}
    for group in alike.values():
        for part in _parts(group, hands):
            bundle = Bundle(asked=pack_need(part, hands, pace), needs=tuple(part))
            found[bundle.asked.id] = bundle
    return found


def _parts(group: Sequence[Need], hands: int) -> list[list[Need]]:
    parts: list[list[Need]] = []
    room = 0.0
    for need in group:
        if room < need.minutes or not parts:
            parts.append([])
            room = MOST_MINUTES_IN_A_BUNDLE * hands
        parts[-1].append(need)
        room -= need.minutes
    return parts


def pack_need(needs: Sequence[Need], hands: int, pace: Pace = USUAL_PACE) -> PackNeed:
    """Needs with the same days as the packing core reads them; minutes of a whole crew at the pace learned so far."""
    first = needs[0]
    others = f" and {len(needs) - 1} more" if len(needs) > 1 else ""
    return PackNeed(
        id=str(first.pk),
        opens=first.opens,
        best_from=first.best_from,
        best_until=first.best_until,
        closes=first.closes,
        minutes=max(1, math.ceil(sum(need.minutes * pace.of_kind(need.kind) for need in needs) / hands)),
        label=f"{first.kind.replace('_', ' ')} {first.tree or first.support}{others}",
        skills=frozenset({first.skill} if first.skill else ()),
        crew_size=first.people,
        weather_rule=first.weather_rule,
        is_optional=first.is_optional,
        importance=len(needs),
        may_split=len(needs) == 1,
    )


@dataclass(frozen=True)
class Share:
    """Which day's work of a need that takes several."""

    number: int
    days: int

    @property
    def is_last(self) -> bool:
        return self.number == self.days


WHOLE = Share(1, 1)


def lay_tasks(visit: Visit, needs: Sequence[Need], shares: Mapping[int, Share] | None = None) -> WorkOrder:
    """Put needs on a visit's work order, numbered tree by tree in walking order.

    Of a need that takes several days each visit gets its share; only the last one's task answers the need.
    """
    order, is_new = WorkOrder.objects.get_or_create(visit=visit)
    if not is_new:
        order.version += 1
        order.save(update_fields=["version"])
    numbers: dict[object, int] = defaultdict(int)
    for task in order.tasks.all():
        place = task.tree_id or f"support {task.support_id}"
        numbers[place] = max(numbers[place], task.number)
    fresh = []
    for need in sorted(needs, key=_walking_order):
        place = need.tree_id or f"support {need.support_id}"
        numbers[place] += 1
        share = (shares or {}).get(need.pk, WHOLE)
        fresh.append(
            Task(
                work_order=order,
                need=need if share.is_last else None,
                is_part=not share.is_last,
                tree_id=need.tree_id,
                support_id=need.support_id,
                number=numbers[place],
                kind=need.kind,
                limb=need.limb,
                instruction=_told(need, share),
                why=need.why,
                minutes=need.minutes / share.days,
                at_mm=need.at_mm,
                to_angle_deg=need.to_angle_deg,
            )
        )
    Task.objects.bulk_create(fresh)
    return order


def _told(need: Need, share: Share) -> str:
    if share.days == 1:
        return need.instruction
    return f"Day {share.number} of {share.days}: go on where the work was left.\n{need.instruction}"


def _lengthen(visit: Visit, minutes: int) -> None:
    """Work that rides along makes a standing visit longer; whoever looks at it is told that it changed."""
    visit.minutes += minutes
    visit.revision += 1
    visit.save(update_fields=["minutes", "revision"])


def _walking_order(need: Need) -> tuple[int, int, int]:
    if need.tree is None:
        return (need.support.walk_order if need.support else 0, -1, need.pk)
    return (need.tree.support.walk_order, need.tree.position_mm, need.pk)


def _open_needs(season: Season, site: Site) -> list[Need]:
    """Needs to be done that are not on the sheet of a visit that stands."""
    return list(
        Need.objects.filter(season=season, site=site, state=Need.State.OPEN)
        .exclude(tasks__state=Task.State.OPEN, tasks__work_order__visit__state__in=STANDING)
        .select_related("tree__support", "support")
    )


def _standing_visits(season: Season, site: Site) -> dict[str, Visit]:
    return {
        str(visit.pk): visit
        for visit in Visit.objects.filter(site=site, season=season, state__in=STANDING, on__isnull=False)
    }


def _rules(season: Season, site: Site, crews: Sequence[Crew], standing: dict[str, Visit]) -> PackRules:
    today = clock.today(site.zone)
    agreement = agreement_on(site.client, today)
    most = agreement.visits_a_year if agreement else None
    finished = Visit.objects.filter(site=site, season=season, state=Visit.State.FINISHED).count()
    return PackRules(
        visit_minutes=MOST_MINUTES_AT_A_SITE,
        setup_minutes=SETUP_MINUTES,
        min_gap_days=MIN_GAP_DAYS,
        may_run_on=True,
        weekdays=frozenset(day for day in range(7) if site.access_week[day] == "1"),
        not_before=today,
        max_visits=None if most is None else max(0, most - finished),
        locked=tuple(_locked_visit(visit, today) for visit in standing.values() if visit.on),
        crews=tuple(CrewKind(skills=frozenset(crew.skills), size=crew.size) for crew in crews),
    )


def _locked_visit(visit: Visit, today: date) -> LockedVisit:
    assert visit.on is not None  # noqa: S101 - a visit that stands has a day (database constraint)
    is_open = visit.state != Visit.State.STARTED and visit.on > today
    return LockedVisit(
        id=str(visit.pk),
        on=visit.on,
        spare_minutes=max(0, MOST_MINUTES_AT_A_SITE - visit.minutes) if is_open else 0,
        skills=frozenset(visit.skills),
        crew_size=visit.crew_size,
    )


def _new_visit(season: Season, site: Site, packed: PackedVisit) -> Visit:
    visit = Visit(
        site=site,
        season=season,
        state=Visit.State.PROPOSED,
        opens=packed.opens,
        best_from=packed.best_from,
        best_until=packed.best_until,
        closes=packed.closes,
        minutes=packed.minutes,
        crew_size=packed.crew_size,
        skills=sorted(packed.skills),
        weather_rules=sorted(packed.weather_rules),
        preferred_crew=_crew_they_know(site),
    )
    # The table holds the laws between columns; asking them once more here would cost a query each.
    visit.full_clean(validate_constraints=False)
    visit.save()
    return visit


def why_together(bundles: Sequence[Bundle], packed: PackedVisit, packing: Packing) -> str:
    """Why this work shares a visit, one line for each kind and window, the tightest window first."""
    off = {account.need_id: account.days_off_best for account in packing.account if account.visit_key == packed.key}
    lines: dict[str, int] = {}
    for bundle in sorted(bundles, key=lambda bundle: (bundle.asked.closes, bundle.asked.opens)):
        asked, days = bundle.asked, off.get(bundle.asked.id, 0)
        kind = bundle.needs[0].kind.replace("_", " ").capitalize()
        place = "in its best part" if not days else f"{days} day{'s' if days > 1 else ''} from its best part"
        line = f"{kind}, {asked.opens:%-d %b} to {asked.closes:%-d %b %Y}: {place}."
        lines[line] = lines.get(line, 0) + len(bundle.needs)
    counted = [f"{count} × {line}" if count > 1 else line for line, count in lines.items()]
    span = f"All of it may be done {packed.opens:%-d %b} to {packed.closes:%-d %b %Y}."
    return "\n".join([span, *counted])


def _crew_they_know(site: Site) -> Crew | None:
    """The crew that came last."""
    last = (
        Visit.objects.filter(site=site, state=Visit.State.FINISHED, round__isnull=False)
        .select_related("round__crew")
        .order_by("-on")
        .first()
    )
    return last.round.crew if last and last.round else None
