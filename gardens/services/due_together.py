"""What is due in a whole book of gardens: winters reckoned together, trees shared out over the machine's processors."""

from __future__ import annotations

import gc
import multiprocessing
import os
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager

from django.db import connections

from gardens.models import Site, Tree
from gardens.pruning.needs import SeasonWork
from gardens.queries.trees import living_trees
from gardens.services.due import DueBook

TREES_A_PROCESS = 1_500
"""Below this many trees for each, starting processes costs more than it saves."""
MOST_PROCESSES = 4
SITES_AT_ONCE = 25

Answer = Callable[[Site], list[tuple[Tree, SeasonWork]]]

_begun: list[tuple[DueBook, Sequence[Site], int]] = []
"""What a forked process finds in its memory, so that no row travels to it."""


@contextmanager
def reckoned_together(
    book: DueBook, sites: Sequence[Site], year: int, processes: int | None = None
) -> Iterator[Answer]:
    """Gives a function that answers what the trees of a site are due in a season; ask for the sites in their order.

    Args:
        book: its memory of seasons serves all processes.
        sites: as `sites_with_trees` gives them, those of one station and height best side by side (`in_climates`).
        year: the season.
        processes: how many; by the number of trees and processors where None.
    """
    book.prepare(sites, year)
    count = processes or _processes_for(sum(len(living_trees(site)) for site in sites))
    if count == 1:
        yield lambda site: [(found.tree, found.work) for found in book.work_at(site, living_trees(site), year)]
        return
    _begun.append((book, sites, year))
    gc.freeze()  # what is shared is not looked through again by each process
    try:
        with multiprocessing.get_context("fork").Pool(count, initializer=_leave_connections) as pool:
            spans = [(start, start + SITES_AT_ONCE) for start in range(0, len(sites), SITES_AT_ONCE)]
            coming = pool.imap(_work_of_span, spans)
            ready: dict[int, list[SeasonWork]] = {}

            def answer(site: Site) -> list[tuple[Tree, SeasonWork]]:
                while site.pk not in ready:
                    ready.update(next(coming))
                return list(zip(living_trees(site), ready.pop(site.pk), strict=True))

            yield answer
    finally:
        gc.unfreeze()
        _begun.pop()


def in_climates(sites: Sequence[Site]) -> list[Site]:
    """The sites with those of one station and height side by side: neighbours share most of the reckoning."""
    return sorted(sites, key=lambda site: (site.station_id or 0, site.elevation_m, site.pk))


def _processes_for(trees: int) -> int:
    """One where the book is small, or where this process may have no children (a worker of a job queue)."""
    if multiprocessing.current_process().daemon or "fork" not in multiprocessing.get_all_start_methods():
        return 1
    return max(1, min(trees // TREES_A_PROCESS, len(os.sched_getaffinity(0)), MOST_PROCESSES))


def _leave_connections() -> None:
    """The parent's database connections stay the parent's: a forked process would talk into its sentences."""
    for connection in connections.all(initialized_only=True):
        connection.connection = None


def _work_of_span(span: tuple[int, int]) -> dict[int, list[SeasonWork]]:
    book, sites, year = _begun[-1]
    return {
        site.pk: [found.work for found in book.work_at(site, living_trees(site), year)]
        for site in sites[span[0] : span[1]]
    }
