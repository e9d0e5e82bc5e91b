"""The season review: a client's year in pictures and numbers, each tree over its years, and the year ahead.

The first page is made to be framed: the garden drawn to scale, and what the year was in a few large numbers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from django.template.loader import render_to_string

from business import clock
from business.documents.pdf import render
from business.models import Client
from business.queries.profile import our_profile
from gardens.drawing import Options, TreeInRow, draw_support, draw_tree
from gardens.models import Tree
from gardens.services.practice import our_practice
from gardens.services.standing import Outlook, outlook, picture_of_tree, support_picture
from gardens.services.words import full_words, tree_fact
from gardens.services.work_words import WORK_WORDS
from gardens.services.years import years_on_paper
from gardens.units import Units
from scheduling.documents.photos import PhotoOnPaper, as_image, on_paper, pair_of
from scheduling.documents.review_proposal import Proposal, YearAhead, proposal_for
from scheduling.models import Need
from scheduling.queries.season_reviews import SeasonSeen, season_seen

MOST_PHOTOS = 8
MOST_KINDS = 9
MOST_HEROES = 3
HERO_PX = 640
"""A free scale, as on a screen: the picture fills the frame whatever the length of the row."""
KG_A_POUND = 0.45359237
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@dataclass(frozen=True, kw_only=True)
class Bar:
    """Jobs of one kind; ``percent`` of the longest bar. [%]"""

    words: str
    count: int
    percent: int


@dataclass(frozen=True, kw_only=True)
class TreeOfYear:
    """One tree of the review."""

    title: str
    fact: str
    full: str
    years: str
    done: Sequence[tuple[str, int]]
    coming: Sequence[Need]
    photos: Sequence[PhotoOnPaper]


@dataclass(frozen=True, kw_only=True)
class Ahead:
    """Work of one kind in the season to come: on how many trees, and when."""

    words: str
    trees: int
    first: date
    last: date


@dataclass(frozen=True, kw_only=True)
class ReviewPaper:
    """A review as text, and the photos that could not be shown on it."""

    html: str
    paper: str
    missing: Sequence[PhotoOnPaper] = field(default_factory=tuple)


def review_pdf(client: Client, year: int, words: str = "") -> bytes:
    """The review as tagged PDF bytes on the client's paper."""
    made = review_paper(client, year, words)
    return render(made.html, paper=made.paper)


def review_paper(client: Client, year: int, words: str = "") -> ReviewPaper:
    """The whole review in words and pictures."""
    profile = our_profile()
    units: Units = "imperial" if (client.units or profile.units) == "imperial" else "metric"
    seen = season_seen(client, year)
    today = clock.today(profile.time_zone)
    # The garden as it stood when the season ended, or stands now while it lasts.
    on = min(seen.last, today)
    practice = our_practice()
    found = {tree.pk: outlook(tree, on, practice) for tree in seen.trees}
    photos = _photos(seen)
    trees = [_tree(tree, found[tree.pk], seen, photos.get(tree.pk, ()), units) for tree in seen.trees]
    html = render_to_string(
        "scheduling/documents/season_review.html",
        {
            "client": client,
            "business": profile,
            "year": year,
            "seen": seen,
            "words": words,
            "heroes": _heroes(seen, found, units),
            "numbers": _numbers(seen, units, shows_minutes=profile.reports_show_minutes),
            "bars": _bars(seen),
            "calendar": as_image(_calendar(seen)),
            "calendar_words": _visit_days(seen),
            "garden_photos": photos.get(0, ()),
            "trees": trees,
            "ahead": _ahead(seen),
            "proposal": _proposal(client, seen, found, today),
            "next_year": year + 1,
        },
    )
    missing = tuple(photo for shown in photos.values() for photo in shown if photo.is_missing)
    return ReviewPaper(html=html, paper=client.paper or profile.paper, missing=missing)


def _photos(seen: SeasonSeen) -> dict[int, list[PhotoOnPaper]]:
    """Up to eight: trees with a before and an after first."""
    order = sorted(seen.photos, key=lambda key: -len({photo.pair for photo in seen.photos[key] if photo.pair}))
    chosen: dict[int, list[PhotoOnPaper]] = {}
    left = MOST_PHOTOS
    for key in order:
        if left <= 0:
            break
        chosen[key] = [on_paper(photo) for photo in pair_of(seen.photos[key], most=min(2, left))]
        left -= len(chosen[key])
    return chosen


def _tree(tree: Tree, found: Outlook, seen: SeasonSeen, photos: Sequence[PhotoOnPaper], units: Units) -> TreeOfYear:
    options = Options(width_mm=170, max_height_mm=42, units=units, id_prefix=f"years{tree.pk}")
    done = [(WORK_WORDS.get(kind, kind), count) for kind, count in seen.kinds_of(tree)]
    return TreeOfYear(
        title=tree.label,
        fact=tree_fact(tree, found.state),
        full=full_words(found),
        years=as_image(years_on_paper(tree, found.state.on, found, options)),
        done=done,
        coming=seen.coming_of(tree)[:3],
        photos=photos,
    )


def _heroes(seen: SeasonSeen, found: dict[int, Outlook], units: Units) -> list[str]:
    """The supports with most trees, all of them in leaf, to scale; a tree that stands alone is drawn alone."""
    by_support: dict[int, list[Tree]] = {}
    for tree in seen.trees:
        by_support.setdefault(tree.support_id, []).append(tree)
    fullest = sorted(by_support.values(), key=len, reverse=True)[:MOST_HEROES]
    return [_hero(trees, found, units) for trees in fullest]


def _hero(trees: Sequence[Tree], found: dict[int, Outlook], units: Units) -> str:
    support = trees[0].support
    options = Options(
        width_px=HERO_PX, max_height_mm=95, units=units, season="in_leaf", with_fruit=True, with_ghost=False,
        with_ties=False, id_prefix=f"garden{support.pk}",
    )  # fmt: skip
    if len(trees) == 1:
        return as_image(draw_tree(found[trees[0].pk].state, (), picture_of_tree(trees[0]), options))
    row = [TreeInRow(state=found[tree.pk].state, x_mm=tree.position_mm, label=tree.label) for tree in trees]
    return as_image(draw_support(support_picture(support), row, options))


def _numbers(seen: SeasonSeen, units: Units, *, shows_minutes: bool) -> list[tuple[str, str]]:
    """The year in a few large numbers; what was not counted is left out."""
    trees = len(seen.trees)
    numbers = [
        (str(len(seen.visits)), "visit" if len(seen.visits) == 1 else "visits"),
        (str(trees), "tree in our care" if trees == 1 else "trees in our care"),
        (str(len(seen.done)), "jobs done"),
    ]
    if shows_minutes and seen.minutes:
        numbers.append((str(round(seen.minutes / 60)), "hours in your garden"))
    if seen.fruit_counted:
        numbers.append((f"{seen.fruit_counted:,}", "fruits counted"))
    if seen.picked_kg:
        weight = seen.picked_kg if units == "metric" else seen.picked_kg / KG_A_POUND
        numbers.append((f"{weight:.0f} {'kg' if units == 'metric' else 'lb'}", "picked"))
    return numbers[:5]


def _bars(seen: SeasonSeen) -> list[Bar]:
    kinds = seen.kinds[:MOST_KINDS]
    most = max((count for _, count in kinds), default=1)
    return [
        Bar(words=WORK_WORDS.get(kind, kind), count=count, percent=max(2, round(100 * count / most)))
        for kind, count in kinds
    ]


def _calendar(seen: SeasonSeen) -> str:
    """The months of the season as a ribbon, a leaf for each visit."""
    wide, step, days = 680.0, 680.0 / 12, (seen.last - seen.first).days + 1
    months = [(seen.first.month - 1 + number) % 12 for number in range(12)]
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:.0f} 62" width="170mm" height="15.5mm">',
        f'<path d="M0 34H{wide:.0f}" stroke="#171c19" stroke-width="1.4"/>',
    ]
    for number, month in enumerate(months):
        x = number * step
        parts.append(f'<path d="M{x:.1f} 34v7" stroke="#171c19" stroke-width="1"/>')
        parts.append(
            f'<text x="{x + step / 2:.1f}" y="54" font-family="Paper Text" font-size="13" text-anchor="middle" '
            f'fill="#464d49">{MONTHS[month]}</text>'
        )
    for visit in seen.visits:
        if visit.on is not None:
            x = (visit.on - seen.first).days / days * wide
            parts.append(
                f'<path d="M{x:.1f} 34C{x - 10:.1f} 24 {x - 7:.1f} 10 {x:.1f} 4C{x + 7:.1f} 10 {x + 10:.1f} 24 {x:.1f} 34Z" '
                'fill="#1a5235"/>'
            )
    return "".join([*parts, "</svg>"])


def _visit_days(seen: SeasonSeen) -> str:
    days = [f"{visit.on:%-d %B}" for visit in seen.visits if visit.on]
    return f"We came on {', '.join(days[:-1])} and {days[-1]}." if len(days) > 1 else f"We came on {''.join(days)}."


def _ahead(seen: SeasonSeen) -> list[Ahead]:
    """The season to come by kind of work, in order of time."""
    kinds: dict[str, list[Need]] = {}
    for need in seen.coming:
        kinds.setdefault(need.kind, []).append(need)
    return [
        Ahead(
            words=WORK_WORDS.get(kind, kind),
            trees=len({need.tree_id or -(need.support_id or 0) for need in needs}),
            first=min(need.best_from for need in needs),
            last=max(need.best_until for need in needs),
        )
        for kind, needs in kinds.items()
    ]


def _proposal(client: Client, seen: SeasonSeen, found: dict[int, Outlook], today: date) -> Proposal | None:
    # A season that is not planned yet holds little; the forecast knows what a year of these trees takes.
    expected = [dict(one.forecast.minutes_per_year) for one in found.values()]
    minutes = max(sum(need.minutes for need in seen.coming), sum(years.get(seen.year + 1, 0.0) for years in expected))
    ahead = YearAhead(
        on=max(today, seen.last + timedelta(days=1)),
        visits=seen.coming_visits or len(seen.visits),
        minutes=round(minutes),
        trees=len(seen.trees),
    )
    return proposal_for(client, ahead, today=today)
