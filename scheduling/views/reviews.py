"""Season reviews: who gets one, how one looks, make it, mail it."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from business.errors import Refusal
from business.queries import access
from business.queries.messages import message_by_key
from business.views.doors import door
from scheduling.forms.reviews import WordsForm
from scheduling.queries.season_reviews import (
    clients_with_visits,
    reviews_in,
    season_of_today,
    season_seen,
    seasons_with_visits,
)
from scheduling.services.season_reviews import KIND, ask_for_all, mail_review, make_review, preview, save_words

YEARS = range(2000, 2201)
# The last page names a price: for office people who may see prices.
changes_books = door(access.changes_books)


@changes_books
def latest(request: HttpRequest) -> HttpResponse:
    return redirect("season-reviews", year=season_of_today())


@changes_books
def review_list(request: HttpRequest, year: int) -> HttpResponse:
    _known(year)
    kept = reviews_in(year)
    rows = [(client, kept.get(client.pk)) for client in clients_with_visits(year)]
    context = {
        "year": year,
        "years": seasons_with_visits(),
        "rows": rows,
        "made": sum(review is not None and review.document_id is not None for _, review in rows),
    }
    return render(request, "scheduling/reviews.html", context)


@changes_books
@require_POST
def make_all(request: HttpRequest, year: int) -> HttpResponse:
    _known(year)
    mails = request.POST.get("mails") == "on"
    count = ask_for_all(year=year, mails=mails, by=request.user)  # type: ignore[arg-type]  # staff only
    if count:
        messages.success(request, f"{count} review{'s are' if count > 1 else ' is'} being made; this page fills up.")
    else:
        messages.info(request, "No visit was finished in this season.")
    return redirect("season-reviews", year=year)


@changes_books
def review(request: HttpRequest, year: int, client_id: int) -> HttpResponse:
    return show_review(request, year, client_id)


def show_review(
    request: HttpRequest, year: int, client_id: int, *, refusal: Refusal | None = None, **bound: Any
) -> HttpResponse:
    found = _client(request, year, client_id)
    kept = reviews_in(year).get(found.pk)
    seen = season_seen(found, year)
    context: dict[str, Any] = {
        "client": found,
        "year": year,
        "review": kept,
        "seen": seen,
        "mail": message_by_key(f"{KIND}:{found.pk}:{year}"),
        "photos": sum(len(photos) for photos in seen.photos.values()),
        "form": WordsForm(initial={"words": kept.words if kept else ""}),
        "faults": refusal.faults if refusal else (),
    }
    wrong = refusal is not None or any(form.errors for form in bound.values())
    return render(request, "scheduling/review.html", context | bound, status=422 if wrong else 200)


@changes_books
@require_POST
def act(request: HttpRequest, year: int, client_id: int) -> HttpResponse:
    """Store the words, then do what the pressed button says."""
    found = _client(request, year, client_id)
    form = WordsForm(request.POST)
    if not form.is_valid():
        return show_review(request, year, client_id, form=form)
    wanted = request.POST.get("act", "")
    try:
        if wanted in ("store", "make"):
            save_words(client=found, year=year, words=form.cleaned_data["words"])
        if wanted == "make":
            make_review(client=found, year=year, by=request.user)  # type: ignore[arg-type]  # staff only
            messages.success(request, "The review is made and kept; the client finds it on their page.")
        elif wanted == "store":
            messages.success(request, "Your words are stored.")
        elif wanted == "mail":
            sent = mail_review(client=found, year=year)
            words = f"In the outbox for {sent.to}." if sent else "No mail: no address, or they want no such letters."
            messages.success(request, words)
        else:
            raise Http404("no such act")
    except Refusal as refusal:
        return show_review(request, year, client_id, refusal=refusal)
    return redirect("season-review", year=year, client_id=found.pk)


@changes_books
def paper(request: HttpRequest, year: int, client_id: int) -> HttpResponse:
    """How it would look now."""
    found = _client(request, year, client_id)
    response = HttpResponse(preview(client=found, year=year), content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="season-{year}_{found.code}.pdf"'
    return response


def _client(request: HttpRequest, year: int, client_id: int) -> Any:
    _known(year)
    return get_object_or_404(access.clients_open_to(request.user), pk=client_id)


def _known(year: int) -> None:
    if year not in YEARS:
        raise Http404("no such season")
