"""Pictures and facts for the pages of sites and trees."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.utils.safestring import SafeString, mark_safe

from gardens.climate.values import StageDate
from gardens.drawing import Options, TreeInRow, draw_support, draw_tree, marks_from_needs
from gardens.models import Site, Support, Tree
from gardens.pruning import planting_doubts
from gardens.pruning.gates import Situation
from gardens.pruning.needs import Blocked
from gardens.pruning.values import Need, Verdict
from gardens.pruning.verdicts import verdicts_on
from gardens.queries.trees import trees_on_site
from gardens.services.due import DueBook
from gardens.services.practice import our_practice
from gardens.services.standing import Outlook, compass, picture_of_tree, support_picture, tree_state
from gardens.services.words import full_words, tree_fact
from gardens.training import Doubt, TrainingPractice, forecast

DUE_DAYS = 120
PHONE_PX = 340
MARKED = 9
"""More numbers on one picture than this cannot be told apart."""


@dataclass(frozen=True, kw_only=True)
class SupportRow:
    """One support of a site with its trees drawn in a row."""

    support: Support
    drawing: SafeString
    trees: Sequence[tuple[Tree, str]]
    faces: str


def rows_of_site(site: Site, on: date) -> list[SupportRow]:
    """Every support with its trees, in walking order."""
    by_support: dict[int, list[Tree]] = defaultdict(list)
    for tree in trees_on_site(site.pk):
        by_support[tree.support_id].append(tree)
    practice = our_practice()
    supports = site.supports.prefetch_related("wires")
    return [_row(support, by_support[support.pk], on, practice) for support in supports]


def _row(support: Support, trees: Sequence[Tree], on: date, practice: TrainingPractice) -> SupportRow:
    states = [tree_state(tree, on, practice) for tree in trees]
    in_row = [
        TreeInRow(state=state, x_mm=tree.position_mm, label=tree.label)
        for tree, state in zip(trees, states, strict=True)
    ]
    options = Options(width_px=1080, max_height_mm=70, id_prefix=f"support{support.pk}")
    return SupportRow(
        support=support,
        drawing=mark_safe(draw_support(support_picture(support), in_row, options)),  # noqa: S308 - our own core
        trees=[(tree, tree_fact(tree, state)) for tree, state in zip(trees, states, strict=True)],
        faces=compass(support.faces_deg),
    )


@dataclass(frozen=True, kw_only=True)
class TreePage:
    """Everything the page of a tree shows."""

    drawing: SafeString
    narrow: SafeString
    """The same for a phone: as wide as its screen, so that words and marks keep their size."""
    fact: str
    full: str
    outlook: Outlook
    due: Sequence[Need]
    later: Sequence[Need]
    blocked: Sequence[Blocked]
    verdicts: Sequence[Verdict]
    stages: Sequence[StageDate]
    profile: str
    doubts: Sequence[Doubt]
    """What speaks against the tree as it is planted."""


def tree_page(tree: Tree, on: date) -> TreePage:
    """The tree as it stands, what is due and why, what may be done today."""
    book = DueBook(on)
    year = book.year_of(tree.site)
    found = book.work_of(tree.site, tree, year)
    species_year = book.species_year(tree.site, tree, year)
    must = [need for need in found.work.needs if not need.is_optional and need.window.closes >= on]
    due = [need for need in must if (need.window.opens - on).days <= DUE_DAYS]
    later = [need for need in must if need not in due]
    marks, support = marks_from_needs(due[:MARKED]), picture_of_tree(tree)
    options = Options(width_px=900, id_prefix=f"tree{tree.pk}", tappable=True)
    on_phone = Options(width_px=PHONE_PX, max_height_mm=90, id_prefix=f"phone{tree.pk}", tappable=True)
    drawing, narrow = (draw_tree(found.state, marks, support, size) for size in (options, on_phone))
    outlook = Outlook(state=found.state, forecast=forecast(found.state, practice=book.practice))
    return TreePage(
        drawing=mark_safe(drawing),  # noqa: S308 - our own core, which escapes every text
        narrow=mark_safe(narrow),  # noqa: S308 - our own core
        fact=tree_fact(tree, found.state),
        full=full_words(outlook),
        outlook=outlook,
        due=due,
        later=later,
        blocked=found.work.blocked,
        verdicts=verdicts_on(on, species_year, Situation(diseases=book.diseases(tree.site, found.wood, year))),
        stages=sorted(book.seasons.stages(tree.site, tree.species, year).values(), key=lambda stage: stage.on),
        profile=species_year.season.profile,
        doubts=planting_doubts(found.state.facts, species_year.species),
    )
