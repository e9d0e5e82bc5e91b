"""Make, keep and mail season reviews, for one client or for all of a season."""

from __future__ import annotations

import logging

from django.db import transaction

from business import clock
from business.documents.pdf import render
from business.errors import BadInput, Fault, Refusal
from business.jobs import later
from business.models import Client, Message, Staff
from business.queries.profile import our_profile
from business.services.archive import Paper, archive
from business.services.client_links import GARDEN_MARK, STOP_MARK
from business.services.messages import queue_message
from business.services.rows import save_checked
from scheduling.documents.season_review import review_paper
from scheduling.models import SeasonReview
from scheduling.queries.season_reviews import clients_with_visits, reviews_in
from scheduling.services.lost_photos import report_missing

log = logging.getLogger(__name__)

KIND = "season_review"
STOPPED_BY = "season_letter"
"""Clients who want no letters about the season get no mail about its review; it stands on their page all the same."""


@transaction.atomic
def save_words(*, client: Client, year: int, words: str) -> SeasonReview:
    """Our own words to the client; the next paper made carries them."""
    Client.objects.select_for_update().get(pk=client.pk)
    review = SeasonReview.objects.filter(client=client, year=year).first() or SeasonReview(client=client, year=year)
    review.words = words.strip()
    save_checked(review, where="review")
    return review


def preview(*, client: Client, year: int) -> bytes:
    """The review as it would look; kept nowhere."""
    review = SeasonReview.objects.filter(client=client, year=year).first()
    made = review_paper(client, year, review.words if review else "")
    return render(made.html, paper=made.paper)


def make_review(*, client: Client, year: int, by: Staff | None = None) -> SeasonReview:
    """Write the paper and keep it; the same paper again is the same version, another one the next.

    Raises:
        BadInput: there is nothing to tell: no visit was finished in that season.
    """
    if not clients_with_visits(year).filter(pk=client.pk).exists():
        raise BadInput([Fault(client.name, f"had no visit in the season {year}", "choose another season")])
    known = SeasonReview.objects.filter(client=client, year=year).first()
    made = review_paper(client, year, known.words if known else "")
    content = render(made.html, paper=made.paper)
    with transaction.atomic():
        Client.objects.select_for_update().get(pk=client.pk)
        review = SeasonReview.objects.filter(client=client, year=year).first() or SeasonReview(client=client, year=year)
        paper = Paper(
            kind=KIND,
            reference=f"client:{client.pk}:season:{year}",
            file_name=f"season-{year}_{client.code}.pdf",
            content=content,
        )
        review.document = archive(paper, client=client, by=by)
        review.made_at, review.made_by, review.problem = clock.now(), by, ""
        save_checked(review, where="review")
        report_missing(made.missing, reference=paper.reference, about=f"the season review of {client.name}")
    return review


def mail_review(*, client: Client, year: int) -> Message | None:
    """Tell the client where the review is, once for a season; None for who wants no such mail or has no address.

    Raises:
        BadInput: it was not made yet.
    """
    review = SeasonReview.objects.filter(client=client, year=year, document__isnull=False).first()
    if review is None:
        raise BadInput([Fault(f"season {year}", "has no paper yet", "make it first")])
    if not client.email or STOPPED_BY in client.stopped_kinds:
        return None
    profile = our_profile()
    return queue_message(
        key=f"{KIND}:{client.pk}:{year}",
        kind=STOPPED_BY,
        client=client,
        to=client.email,
        subject=f"Your garden in the season {year}",
        body=(
            f"{client.salutation},\n\n"
            f"the season {year} in your garden, in pictures and numbers, with what we propose for the next one, is on "
            f"your garden's page:\n{GARDEN_MARK}\n\n"
            "Its first page is made to be framed.\n\n"
            f"{profile.name}\n{profile.phone}\n\n"
            f"No more letters about the season: {STOP_MARK}\n"
        ),
        may_repeat=True,
    )


def ask_for_all(*, year: int, mails: bool, by: Staff | None = None) -> int:
    """Queue the review of every client with a visit in the season; how many were queued comes back."""
    clients = list(clients_with_visits(year).values_list("pk", flat=True))
    for client_id in clients:
        later(
            "scheduling.tasks.make_season_review",
            client_id=client_id,
            year=year,
            mails=int(mails),
            by_id=by.pk if by else 0,
        )
    return len(clients)


def make_one_of_all(*, client_id: int, year: int, mails: bool, by_id: int = 0) -> None:
    """The job for one client. Made already with the same content, nothing new is kept; mailed already, nothing goes."""
    client = Client.objects.get(pk=client_id)
    try:
        make_review(client=client, year=year, by=Staff.objects.filter(pk=by_id).first())
    except Refusal as refusal:
        log.warning("no season review of client %s: %s", client_id, refusal)
        review = reviews_in(year).get(client_id) or SeasonReview(client=client, year=year)
        review.problem = str(refusal)
        save_checked(review, where="review")
        return
    if mails:
        mail_review(client=client, year=year)
