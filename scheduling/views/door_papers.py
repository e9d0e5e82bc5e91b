"""Papers at the client's door: offers to answer, the account, the review of a season."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from business import clock
from business.documents.statements import statement_paper
from business.errors import Refusal
from business.forms.faults import take
from business.forms.late import PeriodForm
from business.forms.quotes import AnswerForm
from business.queries.profile import our_profile
from business.queries.quotes import whole_quotes
from business.queries.statements import currencies_of, statement_of
from business.services.archive import content_of
from business.services.audit import Actor, acting_as
from business.services.quotes import answer_quote
from business.services.statements import statement_paper_of
from business.views.doors import client_door
from business.views.statements import usual_period
from scheduling.queries import door
from scheduling.views.door import BY_LINK

ASKS = require_http_methods(["GET", "HEAD", "POST"])


@client_door
@ASKS
def offer(request: HttpRequest, client: Any, quote_id: int) -> HttpResponse:
    """GET shows what we offer, POST is the answer."""
    found = get_object_or_404(whole_quotes(door.quotes_of(client)), pk=quote_id)
    form = AnswerForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            with acting_as(lambda: Actor(words=BY_LINK)):
                answered = answer_quote(quote=found, **form.cleaned_data)
        except Refusal as refusal:
            take(form, refusal)
        else:
            said = "Thank you: we do it and tell you the day." if answered.state == "accepted" else "Thank you."
            messages.success(request, said)
            return redirect("garden-door")
    is_over = found.valid_until < clock.today(our_profile().time_zone)
    context = {"client": client, "quote": found, "form": form, "is_over": is_over}
    return render(request, "scheduling/door/offer.html", context, status=422 if form.errors else 200)


@client_door
@require_safe
def offer_paper(request: HttpRequest, client: Any, quote_id: int) -> HttpResponse:
    found = get_object_or_404(door.quotes_of(client), pk=quote_id)
    if found.document is None:
        raise Http404("no such paper")
    return _pdf(content_of(found.document), found.document.file_name)


@client_door
@require_safe
def account(request: HttpRequest, client: Any) -> HttpResponse:
    """What was charged and paid, over a time the client chooses."""
    form, said = _period(request, client)
    context: dict[str, Any] = {"client": client, "form": form}
    if said:
        context["paper"] = statement_paper(statement_of(client, **said), said["currency"])
        context["said"] = said
    return render(request, "scheduling/door/account.html", context, status=422 if form.errors else 200)


@client_door
@require_safe
def account_paper(request: HttpRequest, client: Any) -> HttpResponse:
    _, said = _period(request, client)
    if said is None:
        raise Http404("no such time")
    made = statement_paper_of(client=client, **said)
    return _pdf(made.content, made.file_name)


@client_door
@require_safe
def review(request: HttpRequest, client: Any, year: int) -> HttpResponse:
    found = get_object_or_404(door.reviews_of(client), year=year)
    assert found.document is not None  # noqa: S101 - the query gives kept ones
    return _pdf(content_of(found.document), found.document.file_name)


def _period(request: HttpRequest, client: Any) -> tuple[PeriodForm, dict[str, Any] | None]:
    asked = request.GET if "since" in request.GET else None
    form = PeriodForm(asked, currencies=currencies_of(client), initial=usual_period())
    if asked is None:
        return form, usual_period()
    return form, form.cleaned_data if form.is_valid() else None


def _pdf(content: bytes, name: str) -> HttpResponse:
    answer = HttpResponse(content, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{name}"'
    return answer
