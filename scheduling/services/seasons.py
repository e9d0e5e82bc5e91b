"""Plan a season: find every tree's work, keep it as needs, pack the needs into visits."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any, TypeVar

from django.db import models, transaction

from business import clock
from business.errors import BadInput, Fault
from business.queries.profile import our_profile
from gardens.models import Site, Support, Tree
from gardens.pruning.needs import SeasonWork
from gardens.pruning.values import Need as DueNeed
from gardens.queries.trees import living_trees, sites_with_trees
from gardens.services.due import DueBook
from gardens.services.due_together import in_climates, reckoned_together
from gardens.services.supports import needs_of_support
from scheduling.models import Need, Season, Task
from scheduling.services.accepted import RULE as OFFER_RULE
from scheduling.services.packing import pack_season
from scheduling.services.season_changes import Days, NeedMove, StageMove
from scheduling.services.season_story import keep_account, stage_moves

SITES_AT_ONCE = 100
KEPT_FIELDS = (
    "kind", "limb", "instruction", "opens", "best_from", "best_until", "closes", "basis", "minutes", "materials",
    "skill", "people", "weather_rule", "why", "source", "rule", "at_mm", "to_angle_deg", "is_optional",
)  # fmt: skip

Progress = Callable[[str, int, int], None]
Row = TypeVar("Row", bound=models.Model)


@dataclass
class SeasonOutcome:
    """What planning a season did."""

    year: int
    trees: int = 0
    needs: int = 0
    added: int = 0
    changed: int = 0
    withdrawn: int = 0
    blocked: int = 0
    visits: int = 0
    unserved: int = 0
    moved: str = ""
    """What moved against the plan before, in one line; empty where nothing did."""


@dataclass
class Moves:
    """Stages and windows that are others than in the plan before."""

    stages: list[StageMove] = field(default_factory=list)
    needs: list[NeedMove] = field(default_factory=list)


def plan_season(year: int, *, on_progress: Progress | None = None) -> SeasonOutcome:
    """Work out a season for every garden and pack it. Safe to repeat: what was answered or agreed stays.

    Raises:
        BadInput: there is no garden with a tree.
    """
    sites = in_climates(sites_with_trees())
    if not any(living_trees(site) for site in sites):
        raise BadInput([Fault("client book", "holds no living tree", "import a client book or add trees first")])
    season, _ = Season.objects.get_or_create(year=year)
    outcome = SeasonOutcome(year=year)
    due = DueBook(clock.today(our_profile().time_zone))
    blocked: list[dict[str, Any]] = []
    moves = Moves()
    with reckoned_together(due, sites, year) as work_at:
        for start in range(0, len(sites), SITES_AT_ONCE):
            with transaction.atomic():
                for site in sites[start : start + SITES_AT_ONCE]:
                    found = list(_due_on_trees(work_at(site), outcome, blocked))
                    _find_needs(season, site, [*found, *_due_on_supports(site, due)], outcome, moves)
                moves.stages += stage_moves(season, sites[start : start + SITES_AT_ONCE], due)
            if on_progress:
                on_progress("needs", min(start + SITES_AT_ONCE, len(sites)), len(sites))
    packed = pack_season(
        season, sites, on_progress=(lambda done, of: on_progress("visits", done, of)) if on_progress else None
    )
    outcome.visits, outcome.unserved = packed.visits, packed.unserved
    outcome.blocked = len(blocked)
    outcome.needs = Need.objects.filter(season=season).exclude(state=Need.State.WITHDRAWN).count()
    account = keep_account(season, moves.stages, moves.needs, due.as_of)
    outcome.moved = account.headline if account else ""
    season.blocked = blocked
    season.planned_at = clock.now()
    season.save()
    return outcome


@dataclass(frozen=True)
class Due:
    """One piece of work due at a site: on a tree or on a support, under its lasting key."""

    tree: Tree | None
    support: Support | None
    key: str
    need: DueNeed

    @property
    def place(self) -> tuple[int | None, int | None, str]:
        return (self.tree.pk if self.tree else None, self.support.pk if self.support else None, self.key)


def _find_needs(season: Season, site: Site, due: Sequence[Due], outcome: SeasonOutcome, moves: Moves) -> None:
    kept = {(row.tree_id, row.support_id, row.key): row for row in Need.objects.filter(season=season, site=site)}
    today = clock.today(site.zone)
    fresh: list[Need] = []
    changed: list[Need] = []
    wanted: set[tuple[int | None, int | None, str]] = set()
    for item in due:
        wanted.add(item.place)
        row = kept.get(item.place)
        if row is None:
            if item.need.window.closes >= today:
                fresh.append(
                    Need(
                        season=season,
                        site=site,
                        tree=item.tree,
                        support=item.support,
                        key=item.key,
                        **_values(item.need),
                    )
                )
        elif row.state in (Need.State.OPEN, Need.State.WITHDRAWN):
            was = _window(row) if row.state == Need.State.OPEN else None
            if _update(row, item.need):
                changed.append(row)
                moves.needs += _moved(row, item.tree, site, was)
    # Work that a client ordered stays, whatever the season says.
    gone = [
        row
        for place, row in kept.items()
        if place not in wanted and row.state == Need.State.OPEN and not row.rule.startswith(OFFER_RULE)
    ]
    for row in gone:
        row.state = Need.State.WITHDRAWN
    Need.objects.bulk_create(fresh)
    overwrite(Need, [*changed, *gone], [*KEPT_FIELDS, "state"])
    _retell_open_tasks(changed)
    Task.objects.filter(need__in=gone, state=Task.State.OPEN).delete()
    outcome.added += len(fresh)
    outcome.changed += len(changed)
    outcome.withdrawn += len(gone)


def _window(row: Need) -> Days:
    return (row.opens, row.best_from, row.best_until, row.closes)


def _moved(row: Need, tree: Tree | None, site: Site, was: Days | None) -> Iterator[NeedMove]:
    """A tree's need whose window moved. The care of supports is left out: what is overdue moves every day."""
    if tree is not None and was is not None and was != _window(row):
        yield NeedMove(
            need=row.pk,
            tree=tree.pk,
            label=tree.label,
            site=site.name,
            kind=row.kind,
            before=was,
            after=_window(row),
        )


def _due_on_trees(
    works: Iterable[tuple[Tree, SeasonWork]], outcome: SeasonOutcome, blocked: list[dict[str, Any]]
) -> Iterator[Due]:
    for tree, work in works:
        outcome.trees += 1
        blocked += [
            {"tree": tree.pk, "kind": item.kind, "limb": item.limb, "why": item.why, "source": item.source}
            for item in work.blocked
        ]
        for key, need in keyed(work.needs):
            yield Due(tree, None, key, need)


def _due_on_supports(site: Site, due: DueBook) -> Iterator[Due]:
    """Wires to tighten, posts to set straight, inspections: as far ahead as the records let see."""
    trees = living_trees(site)
    for support in site.supports.all():
        own = [tree for tree in trees if tree.support_id == support.pk]
        if own:
            for key, need in keyed(needs_of_support(support, own, due.as_of)):
                yield Due(None, support, key, need)


def keyed(needs: Iterable[DueNeed]) -> list[tuple[str, DueNeed]]:
    """Needs with a key that stays the same from one planning to the next."""
    seen: Counter[str] = Counter()
    named = []
    for need in needs:
        base = f"{need.kind}:{need.limb}:{need.rule}"
        seen[base] += 1
        named.append((f"{base}:{seen[base]}"[:160], need))
    return named


def _values(need: DueNeed) -> dict[str, Any]:
    return {
        "kind": need.kind,
        "limb": need.limb,
        "instruction": need.instruction,
        "opens": need.window.opens,
        "best_from": need.window.best_from,
        "best_until": need.window.best_until,
        "closes": need.window.closes,
        "basis": need.window.basis,
        "minutes": max(need.minutes, 0.5),
        "materials": [list(item) for item in need.materials],
        "skill": need.skill,
        "people": need.people,
        "weather_rule": need.weather_rule,
        "why": need.why,
        "source": need.source,
        "rule": need.rule,
        "at_mm": need.at_mm,
        "to_angle_deg": need.to_angle_deg,
        "is_optional": need.is_optional,
    }


def _update(row: Need, need: DueNeed) -> bool:
    """Bring a row up to date; say whether anything changed."""
    values = _values(need)
    is_changed = row.state == Need.State.WITHDRAWN
    for name, value in values.items():
        if getattr(row, name) != value:
            setattr(row, name, value)
            is_changed = True
    row.state = Need.State.OPEN
    return is_changed


def _retell_open_tasks(changed: list[Need]) -> None:
    """Sheets that are not answered yet get the new words."""
    by_need = {need.pk: need for need in changed}
    tasks = list(Task.objects.filter(need__in=by_need, state=Task.State.OPEN))
    for task in tasks:
        need = by_need[task.need_id or 0]
        task.instruction, task.why, task.minutes = need.instruction, need.why, need.minutes
        task.at_mm, task.to_angle_deg = need.at_mm, need.to_angle_deg
    overwrite(Task, tasks, ["instruction", "why", "minutes", "at_mm", "to_angle_deg"])


def overwrite(model: type[Row], rows: Sequence[Row], fields: Sequence[str]) -> None:
    """Write many changed rows in one statement.

    ``bulk_update`` builds a CASE for every row and field, which took most of a re-planning; an upsert on the key that
    is there already takes a twentieth of it.
    """
    model._default_manager.bulk_create(
        rows, update_conflicts=True, unique_fields=["id"], update_fields=list(fields), batch_size=500
    )
