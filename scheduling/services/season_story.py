"""Rows for the account of a re-planning: which stages and visits it is about, and where it is kept."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date

from business import clock
from gardens.models import Site
from gardens.queries.trees import living_trees
from gardens.services.due import DueBook
from scheduling.models import Season, SiteStages, Task, Visit
from scheduling.services.season_changes import DatedTask, NeedMove, SeasonAccount, StageMove, account_of

TOLD_STAGES = ("leaf_fall", "bud_swell", "bud_burst", "full_bloom", "shoot_ripe", "harvest_start", "next_leaf_fall")
"""The stages most windows hang on."""
KEPT_ACCOUNTS = 12


def stage_moves(season: Season, sites: Sequence[Site], due: DueBook) -> list[StageMove]:
    """Stages whose day differs from that of the plan before; the new days are kept for the next one."""
    kept = {row.site_id: row for row in SiteStages.objects.filter(season=season, site__in=sites)}
    moves: list[StageMove] = []
    fresh: list[SiteStages] = []
    for site in sites:
        days = _days_of(site, season.year, due)
        row = kept.get(site.pk)
        if row is not None and row.days == days:
            continue
        moves += _compared(site, row.days if row else {}, days)
        fresh.append(SiteStages(season=season, site=site, days=days))
    SiteStages.objects.bulk_create(
        fresh, update_conflicts=True, unique_fields=["season", "site"], update_fields=["days"]
    )
    return moves


def _days_of(site: Site, year: int, due: DueBook) -> dict[str, dict[str, str]]:
    """Species → stage → day, of the stages an account tells."""
    found = {}
    for species in sorted({tree.species for tree in living_trees(site)}):
        stages = due.seasons.stages(site, species, year)
        found[species] = {name: stages[name].on.isoformat() for name in TOLD_STAGES if name in stages}
    return found


def _compared(site: Site, before: dict[str, dict[str, str]], after: dict[str, dict[str, str]]) -> Iterator[StageMove]:
    for species, stages in after.items():
        for stage, on in stages.items():
            was = before.get(species, {}).get(stage)
            if was is not None and was != on:
                yield StageMove(
                    site=site.name,
                    species=species,
                    stage=stage,
                    before=date.fromisoformat(was),
                    after=date.fromisoformat(on),
                )


def dated_tasks(season: Season, today: date) -> Iterator[DatedTask]:
    """What is still to be done on visits that stand on a day to come."""
    rows = Task.objects.filter(
        state=Task.State.OPEN,
        need__isnull=False,
        need__season=season,
        work_order__visit__state__in=(Visit.State.PLANNED, Visit.State.CONFIRMED),
        work_order__visit__on__gte=today,
    ).values_list(
        "work_order__visit_id",
        "work_order__visit__on",
        "work_order__visit__site__name",
        "need_id",
        "kind",
        "need__opens",
        "need__closes",
    )
    for visit, on, site, need, kind, opens, closes in rows:
        if on is not None:  # a visit that stands has a day
            yield DatedTask(visit=visit, on=on, site=site, need=need, kind=kind, opens=opens, closes=closes)


def keep_account(
    season: Season, stages: Iterable[StageMove], needs: Iterable[NeedMove], today: date
) -> SeasonAccount | None:
    """Put the account of this re-planning before the earlier ones; the season is not saved here."""
    account = account_of(stages, needs, dated_tasks(season, today))
    if account is not None:
        season.changes = [account.kept(clock.now()), *season.changes][:KEPT_ACCOUNTS]
    return account
