"""An accepted offer becomes work: needs, a visit, and in the end its charges at the prices offered.

accepted ──► needs ("quote:17") ──► suggested visit ──► … ──► every job done ──► the offer's lines are charged, once

The offer's reference says what it is about: "support:4", or "planting:4:apple_spur:fan:6:built". Offers about nothing in
a garden stay with the office, which charges them by hand.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from math import ceil
from typing import Any

from django.db import transaction

from business import clock
from business.models import Quote
from business.queries.profile import our_profile
from business.queries.quotes import accepted_quotes, quote_by_id
from business.services.quotes import charge_quote
from gardens.climate import season_year
from gardens.models import Support
from gardens.queries.supports import support_by_id
from gardens.queries.trees import designed_trees, trees_on_support
from gardens.services.designer import plant
from gardens.services.estimates import planting_minutes
from gardens.services.site_season import SeasonBook
from gardens.services.supports import Planting, bill_of, planted_bill
from gardens.services.words import FORM_WORDS, species_name
from gardens.supports import Bill
from scheduling.models import Need, Season, Task, Visit
from scheduling.queries.durations import SETUP_MINUTES, Pace, learned_pace
from scheduling.queries.visits import crews_at_work
from scheduling.services.packing import (
    MOST_MINUTES_AT_A_SITE,
    fewest_hands,
    lay_tasks,
    pack_need,
)

RULE = "quote:"
BUILD_SOON_DAYS, BUILD_BY_DAYS, BUILD_LATEST_DAYS = 7, 42, 120
"""A support is built when it suits: not before the posts can be ordered, and well before the client asks again."""

PLANT_AFTER_LEAF_FALL_DAYS, PLANT_BEFORE_SWELL_DAYS = 14, 21
PLANT_LATE_DAYS = 14


@dataclass(frozen=True, kw_only=True)
class About:
    """What an offer is about, read from its reference."""

    support: Support
    species: str = ""
    form: str = ""
    trees: int = 0
    builds: bool = True


def rule_of(quote: Quote) -> str:
    """The mark by which the needs of an offer are known."""
    return f"{RULE}{quote.pk}"


def take_up_quotes() -> int:
    """Make work of every accepted offer that has none yet; how many were taken up. Safe to repeat."""
    return sum(take_up_quote(quote_id=quote.pk) for quote in accepted_quotes())


@transaction.atomic
def take_up_quote(*, quote_id: int) -> bool:
    """Make work of an accepted offer, once. False: it has its work already, or is about nothing in a garden."""
    quote = Quote.objects.select_for_update(of=("self",)).get(pk=quote_id)
    about = about_of(quote)
    if quote.state != Quote.State.ACCEPTED or about is None or Need.objects.filter(rule=rule_of(quote)).exists():
        return False
    crews = list(crews_at_work())
    hands, pace = fewest_hands(crews), learned_pace(clock.today(our_profile().time_zone))
    wanted = [part for job in (*_building(about), *_planting(about)) for part in _in_days(job, hands, pace)]
    for number, values in enumerate(wanted, start=1):
        need = Need(
            site=about.support.site,
            support=about.support,
            key=f"{values['kind']}:whole:{rule_of(quote)}:{number}",
            rule=rule_of(quote),
            source=f"offer {quote}",
            why=f"the client accepted our offer {quote}, {quote.title}"[:500],
            basis="normals",
            **values,
        )
        need.full_clean(validate_constraints=False)
        need.save()
        _suggest_visit(need, SETUP_MINUTES + pack_need([need], hands, pace).minutes)
    return True


def _in_days(job: dict[str, Any], hands: int, pace: Pace) -> list[dict[str, Any]]:
    """A job longer than a crew's day at a site in parts that fit; what it is built of comes with the first."""
    parts = ceil(job["minutes"] * pace.of_kind(job["kind"]) / hands / (MOST_MINUTES_AT_A_SITE - SETUP_MINUTES))
    if parts <= 1:
        return [job]
    return [
        job
        | {
            "minutes": job["minutes"] / parts,
            "instruction": f"Day {number} of {parts}. {job['instruction']}",
            "materials": job["materials"] if number == 1 else [],
        }
        for number in range(1, parts + 1)
    ]


def _suggest_visit(need: Need, minutes: int) -> None:
    """A visit of its own: hours of building do not fit in beside the care of a visit that is planned."""
    visit = Visit.objects.create(
        site=need.site,
        season=need.season,
        opens=need.opens,
        best_from=need.best_from,
        best_until=need.best_until,
        closes=need.closes,
        minutes=minutes,
        why_here=f"Ordered: {need.why}.",
    )
    lay_tasks(visit, [need])


def about_of(quote: Quote) -> About | None:
    """What the offer is about, or None where it names no support of this client."""
    kind, *rest = quote.reference.split(":")
    if kind not in ("support", "planting") or not rest or not rest[0].isdigit():
        return None
    support = support_by_id(int(rest[0]), client_id=quote.client_id)
    if support is None:
        return None
    if kind == "support":
        return About(support=support)
    if len(rest) != 5 or not rest[3].isdigit():
        return None
    _, species, form, trees, how = rest
    return About(support=support, species=species, form=form, trees=int(trees), builds=how == "built")


def charge_finished_offers(*, tasks: Iterable[Task], done_on: date) -> None:
    """Charge the offers of which these were the last jobs. An offer half done is charged when the rest is done."""
    for rule in {task.need.rule for task in tasks if is_offered(task) and task.need}:
        if Need.objects.filter(rule=rule).exclude(state=Need.State.DONE).exists():
            continue
        quote = quote_by_id(int(rule.removeprefix(RULE)))
        if quote.state == Quote.State.ACCEPTED:
            charge_quote(quote=quote, done_on=done_on)


def plant_what_was_ordered(*, tasks: Iterable[Task], done_on: date) -> int:
    """Trees that were designed on a support stand there once the job of planting them is done; how many came so."""
    planted = 0
    for task in tasks:
        if task.kind != "plant" or not is_offered(task) or task.need is None:
            continue
        about = about_of(quote_by_id(int(task.need.rule.removeprefix(RULE))))
        if about is not None:
            for tree in designed_trees(about.support.pk, species=about.species, form=about.form)[: about.trees]:
                plant(tree=tree, on=done_on)
                planted += 1
    return planted


def is_offered(task: Task) -> bool:
    """Whether a job was sold in an offer, so that its hours are paid by the offer's price."""
    return task.need is not None and task.need.rule.startswith(RULE)


def share_by_agreement(tasks: Sequence[Task]) -> Fraction:
    """The part of a visit's time that its client pays under the agreement: the rest was sold in an offer."""
    whole = sum((Fraction(task.minutes) for task in tasks), Fraction(0))
    sold = sum((Fraction(task.minutes) for task in tasks if is_offered(task)), Fraction(0))
    return Fraction(1) if not sold else (whole - sold) / whole


def _building(about: About) -> Iterable[dict[str, Any]]:
    if not about.builds:
        return
    support, today = about.support, clock.today(about.support.site.zone)
    bill = _bill(about)
    heights = len(support.wire_heights_mm)
    yield {
        "season": _season(support, today),
        "kind": "erect_support",
        "instruction": f"Put up {support.name}: {heights or 'the'} wires as drawn on its page; tension them last.",
        "opens": today,
        "best_from": today + timedelta(days=BUILD_SOON_DAYS),
        "best_until": today + timedelta(days=BUILD_BY_DAYS),
        "closes": today + timedelta(days=BUILD_LATEST_DAYS),
        "minutes": max(1.0, bill.minutes),
        "materials": [[line.good, line.quantity] for line in bill.lines],
    }


def _planting(about: About) -> Iterable[dict[str, Any]]:
    if not about.trees:
        return
    season, opens, swell = _dormancy(about)
    best_from = max(opens, opens + timedelta(days=PLANT_AFTER_LEAF_FALL_DAYS))
    best_until = max(best_from, swell - timedelta(days=PLANT_BEFORE_SWELL_DAYS))
    what = f"{about.trees} × {species_name(about.species)}, {FORM_WORDS.get(about.form, about.form)}"
    materials = [] if about.builds else [[line.good, line.quantity] for line in _bill(about).lines]
    yield {
        "season": season,
        "kind": "plant",
        "instruction": f"Plant {what}, at the places drawn for {about.support.name}.",
        "opens": opens,
        "best_from": best_from,
        "best_until": best_until,
        "closes": max(best_until, swell + timedelta(days=PLANT_LATE_DAYS)),
        "minutes": float(planting_minutes(about.trees)),
        "materials": [*materials, ["label", about.trees]],
        "weather_rule": "",
    }


def _bill(about: About) -> Bill:
    if about.trees:
        planting = Planting(species=about.species, form=about.form, trees=about.trees)
        return planted_bill(about.support, planting, builds=about.builds)
    return bill_of(about.support, list(trees_on_support(about.support.pk)))


def _dormancy(about: About) -> tuple[Season, date, date]:
    """The next days without leaf that leave time to plant: season, first day, the day the buds swell."""
    site = about.support.site
    today = clock.today(site.zone)
    book = SeasonBook(today)
    year = season_year(today, is_southern=site.place.is_southern)
    # Evergreens come in pots and have no season without leaf; neither has a species whose stages nobody knows.
    season, opens, swell = year, today, today + timedelta(days=BUILD_LATEST_DAYS)
    for season in (year, year + 1):
        stages = book.stages(site, about.species, season)
        if "leaf_fall" not in stages or "bud_swell" not in stages:
            break
        opens, swell = max(today, stages["leaf_fall"].on), stages["bud_swell"].on
        if swell - timedelta(days=PLANT_BEFORE_SWELL_DAYS) >= opens + timedelta(days=PLANT_AFTER_LEAF_FALL_DAYS):
            break
    return Season.objects.get_or_create(year=season)[0], opens, swell


def _season(support: Support, on: date) -> Season:
    return Season.objects.get_or_create(year=season_year(on, is_southern=support.site.place.is_southern))[0]
