"""Offers: the office writes and sends them; the client answers by a link."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from business import clock
from business.errors import Refusal
from business.forms.faults import take
from business.forms.quotes import AnswerForm, DoneForm, OfferForm, OfferLines
from business.queries import access
from business.queries.profile import our_profile
from business.queries.quotes import changes_since_last_version, newest_sent, versions_of, whole_quotes
from business.services.archive import content_of
from business.services.quote_links import quote_of, quote_token
from business.services.quotes import (
    answer_quote,
    change_quote,
    charge_quote,
    draft_quote,
    draft_quote_paper,
    send_quote,
)
from business.views.doors import door

QUOTES_ON_A_PAGE = 50
books_only = door(access.keeps_books)
changes_books = door(access.changes_books)


@books_only
def quote_list(request: HttpRequest) -> HttpResponse:
    rows = access.quotes_open_to(request.user).exclude(state="replaced")
    page = Paginator(rows, QUOTES_ON_A_PAGE).get_page(request.GET.get("page"))
    return render(request, "business/quotes.html", {"page": page})


@books_only
def quote(request: HttpRequest, quote_id: int) -> HttpResponse:
    return show_quote(request, quote_id)


def show_quote(request: HttpRequest, quote_id: int, *, refusal: Refusal | None = None, **bound: Any) -> HttpResponse:
    found = get_object_or_404(whole_quotes(access.quotes_open_to(request.user)), pk=quote_id)
    context: dict[str, Any] = {
        "quote": found,
        "versions": versions_of(found.number),
        "changes": changes_since_last_version(found),
        "faults": refusal.faults if refusal else (),
        "done_form": DoneForm(initial={"done_on": clock.today(our_profile().time_zone)}),
        "answer_form": AnswerForm(),
        "may_change_books": access.changes_books(request.user),
    }
    wrong = refusal is not None or any(form.errors for form in bound.values())
    return render(request, "business/quote.html", context | bound, status=422 if wrong else 200)


@changes_books
def new_quote(request: HttpRequest, client_id: int) -> HttpResponse:
    found = get_object_or_404(access.clients_open_to(request.user), pk=client_id)
    form = OfferForm(request.POST or None, initial=OfferForm.beginning(clock.today(our_profile().time_zone)))
    lines = OfferLines(request.POST or None, prefix="lines")
    if request.method == "POST" and form.is_valid() and lines.is_valid():
        try:
            made = draft_quote(client=found, lines=lines.offered(), **form.cleaned_data)
        except Refusal as refusal:
            take(form, refusal)
        else:
            return redirect("quote", quote_id=made.pk)
    context = {"form": form, "lines": lines, "client": found}
    return render(request, "business/quote_form.html", context, status=422 if _is_wrong(form, lines) else 200)


@changes_books
def edit_quote(request: HttpRequest, quote_id: int) -> HttpResponse:
    found = get_object_or_404(whole_quotes(access.quotes_open_to(request.user)), pk=quote_id)
    if request.method == "POST":
        form, lines = OfferForm(request.POST), OfferLines(request.POST, prefix="lines")
    else:
        form, lines = OfferForm.showing(found), OfferLines.showing(found)
    if request.method == "POST" and form.is_valid() and lines.is_valid():
        try:
            changed = change_quote(quote=found, lines=lines.offered(), **form.cleaned_data)
        except Refusal as refusal:
            take(form, refusal)
        else:
            return redirect("quote", quote_id=changed.pk)
    context = {"form": form, "lines": lines, "client": found.client, "quote": found}
    return render(request, "business/quote_form.html", context, status=422 if _is_wrong(form, lines) else 200)


def _is_wrong(form: OfferForm, lines: OfferLines) -> bool:
    return bool(form.errors) or bool(lines.is_bound and lines.total_error_count())


@changes_books
@require_POST
def send(request: HttpRequest, quote_id: int) -> HttpResponse:
    found = get_object_or_404(access.quotes_open_to(request.user), pk=quote_id)
    try:
        sent = send_quote(quote=found)
    except Refusal as refusal:
        return show_quote(request, quote_id, refusal=refusal)
    messages.success(request, f"The offer goes to {sent.client.email}.")
    return redirect("quote", quote_id=sent.pk)


@changes_books
@require_POST
def note_answer(request: HttpRequest, quote_id: int) -> HttpResponse:
    """The client answered by phone or on paper."""
    found = get_object_or_404(access.quotes_open_to(request.user), pk=quote_id)
    form = AnswerForm(request.POST)
    if form.is_valid():
        try:
            answer_quote(quote=found, **form.cleaned_data)
        except Refusal as refusal:
            take(form, refusal)
        else:
            return redirect("quote", quote_id=found.pk)
    return show_quote(request, quote_id, answer_form=form)


@changes_books
@require_POST
def charge_work(request: HttpRequest, quote_id: int) -> HttpResponse:
    found = get_object_or_404(access.quotes_open_to(request.user), pk=quote_id)
    form = DoneForm(request.POST)
    if not form.is_valid():
        return show_quote(request, quote_id, done_form=form)
    try:
        charge_quote(quote=found, done_on=form.cleaned_data["done_on"])
    except Refusal as refusal:
        return show_quote(request, quote_id, refusal=refusal)
    messages.success(request, "The work of the offer waits to be invoiced.")
    return redirect("charges")


@books_only
def paper(request: HttpRequest, quote_id: int) -> HttpResponse:
    found = get_object_or_404(whole_quotes(access.quotes_open_to(request.user)), pk=quote_id)
    content = content_of(found.document) if found.document else draft_quote_paper(quote=found)
    return _pdf(content, f"quote-{found.number}.pdf")


@never_cache
def answer(request: HttpRequest, token: str) -> HttpResponse:
    """The client's page: what we offer, and two buttons. The link is the key; no account is asked for."""
    found = quote_of(token)
    if found is None:
        raise Http404("no such offer")
    form = AnswerForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            answer_quote(quote=found, **form.cleaned_data)
        except Refusal as refusal:
            take(form, refusal)
        else:
            return redirect("quote-answer", token=token)
    is_over = found.valid_until < clock.today(our_profile().time_zone)
    newer = newest_sent(found) if found.state == "replaced" else None
    context = {
        "quote": found,
        "form": form,
        "token": token,
        "is_over": is_over,
        # Whoever may open the old version may open the one that took its place: it is the same client's.
        "newer_token": quote_token(newer) if newer else "",
    }
    return render(request, "business/quote_answer.html", context, status=422 if form.errors else 200)


@never_cache
def answer_paper(request: HttpRequest, token: str) -> HttpResponse:
    found = quote_of(token)
    if found is None or found.document is None:
        raise Http404("no such offer")
    return _pdf(content_of(found.document), found.document.file_name)


def _pdf(content: bytes, name: str) -> HttpResponse:
    response = HttpResponse(content, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{name}"'
    return response
