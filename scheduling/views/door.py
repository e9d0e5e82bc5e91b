"""The client's door: their gardens, visits, reports and invoices, opened by a link and never by a password.

A GET changes nothing, so that robots which follow the links of a mail do no harm; what changes something is a POST from
a page that asks first.
"""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseNotModified
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import quote_etag
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from business import clock
from business.errors import Refusal
from business.queries.clients import contacts_of
from business.queries.invoices import standing
from business.queries.profile import our_profile
from business.services.archive import content_of
from business.services.audit import Actor, acting_as
from business.services.client_links import CALENDAR, STOPPABLE, client_of_token, link_token
from business.services.papers import write_invoice_paper
from business.views.doors import client_door, link_ended, office_only, unlisted
from gardens.services.years import tree_years
from scheduling.documents.client_calendar import calendar_of, version_of_calendar
from scheduling.documents.client_pages import trees_shown, units_of
from scheduling.forms.door import ContactForm, MoveForm
from scheduling.queries import door
from scheduling.services.asks import MOVABLE, ask_us, settle_ask
from scheduling.services.visit_words import part_of_day
from scheduling.services.visits import confirm_visit

BY_LINK = "the client, by their link"
ASKS = require_http_methods(["GET", "HEAD", "POST"])


@client_door
@require_safe
def garden(request: HttpRequest, client: Any) -> HttpResponse:
    """Is my tree all right, and when do you come?"""
    today = clock.today(our_profile().time_zone)
    asked = set(door.open_asks(client).values_list("visit_id", flat=True))
    context = {
        "client": client,
        "visits": [(visit, part_of_day(visit), visit.pk in asked) for visit in door.coming_visits(client)],
        "trees": trees_shown(door.trees_of(client), units_of(client)),
        "reports": door.reported_visits(client)[:12],
        "quotes": [
            (quote, quote.state == "sent" and quote.valid_until >= today) for quote in door.quotes_of(client)[:8]
        ],
        "reviews": door.reviews_of(client),
        "invoices": [(invoice, standing(invoice, on=today)) for invoice in door.invoices_of(client)[:12]],
    }
    return render(request, "scheduling/door/garden.html", context)


@client_door
@require_safe
def tree(request: HttpRequest, client: Any, tree_id: int) -> HttpResponse:
    found = get_object_or_404(door.trees_of(client), pk=tree_id)
    page = tree_years(found, clock.today(found.site.zone), units_of(client))
    return render(request, "scheduling/door/tree.html", {"client": client, "tree": found, "page": page})


@client_door
@ASKS
def confirm(request: HttpRequest, client: Any, visit_id: int) -> HttpResponse:
    """GET asks, POST agrees to the very day that was shown."""
    visit = get_object_or_404(door.visits_of(client), pk=visit_id)
    faults: tuple[object, ...] = ()
    if request.method == "POST":
        shown = request.POST.get("revision", "")
        try:
            with acting_as(lambda: Actor(words=BY_LINK)):
                confirm_visit(visit_id=visit.pk, revision=int(shown) if shown.isdecimal() else -1)
        except Refusal as refusal:
            faults = refusal.faults
            visit.refresh_from_db()
        else:
            messages.success(request, "Thank you: the day is agreed.")
            return redirect("garden-door")
    context = {
        "client": client,
        "visit": visit,
        "part": part_of_day(visit),
        "faults": faults,
        "may_agree": visit.state == "planned",
    }
    return render(request, "scheduling/door/confirm.html", context, status=422 if faults else 200)


@client_door
@ASKS
def move(request: HttpRequest, client: Any, visit_id: int) -> HttpResponse:
    """Ask for another day. Nothing moves until the office has answered."""
    visit = get_object_or_404(door.visits_of(client), pk=visit_id)
    form = MoveForm(request.POST if request.method == "POST" else None)
    faults: tuple[object, ...] = ()
    if request.method == "POST" and form.is_valid():
        try:
            ask_us(client=client, kind="move", words=form.cleaned_data["words"], visit=visit)
        except Refusal as refusal:
            faults = refusal.faults
        else:
            messages.success(request, "We have your wish and will answer. Until then the day stands.")
            return redirect("garden-door")
    context = {
        "client": client,
        "visit": visit,
        "part": part_of_day(visit),
        "form": form,
        "faults": faults,
        "may_ask": visit.state in MOVABLE,
    }
    return render(request, "scheduling/door/move.html", context, status=422 if faults or form.errors else 200)


@client_door
@ASKS
def contact(request: HttpRequest, client: Any) -> HttpResponse:
    """What we hold about a client. Nothing is changed by link: a note goes to the office."""
    form = ContactForm(request.POST if request.method == "POST" else None)
    faults: tuple[object, ...] = ()
    if request.method == "POST" and form.is_valid():
        try:
            ask_us(client=client, kind="contact", words=form.cleaned_data["words"])
        except Refusal as refusal:
            faults = refusal.faults
        else:
            messages.success(request, "Thank you. The office puts it right and tells you.")
            return redirect("garden-contact")
    context = {
        "client": client,
        "contacts": contacts_of(client),
        "stopped": [STOPPABLE[kind] for kind in client.stopped_kinds if kind in STOPPABLE],
        "form": form,
        "faults": faults,
        "calendar": settings.SITE_ADDRESS + reverse("garden-calendar", args=[link_token(client, CALENDAR)]),
    }
    return render(request, "scheduling/door/contact.html", context, status=422 if faults or form.errors else 200)


@client_door
@require_safe
def report(request: HttpRequest, client: Any, visit_id: int) -> HttpResponse:
    visit = get_object_or_404(door.reported_visits(client), pk=visit_id)
    return _pdf(content_of(visit.report.document), visit.report.document.file_name)


@client_door
@require_safe
def invoice(request: HttpRequest, client: Any, invoice_id: int) -> HttpResponse:
    found = get_object_or_404(door.invoices_of(client), pk=invoice_id)
    document = write_invoice_paper(invoice_id=found.pk)
    return _pdf(content_of(document), document.file_name)


@unlisted
@require_safe
def calendar(request: HttpRequest, token: str) -> HttpResponse:
    """The feed; calendar programs bring no cookies, so the address itself is the key, to this page alone."""
    client = client_of_token(token, CALENDAR)
    if client is None:
        return link_ended(request)
    visits = list(door.calendar_visits(client))
    version = quote_etag(version_of_calendar(client, visits))
    if request.headers.get("If-None-Match") == version:
        return HttpResponseNotModified()
    answer = HttpResponse(
        calendar_of(client, visits, clock.now()),
        content_type="text/calendar; charset=utf-8",
        headers={"ETag": version, "Referrer-Policy": "no-referrer"},
    )
    answer["Content-Disposition"] = 'inline; filename="garden-visits.ics"'
    return answer


@office_only
@require_POST
def settle(request: HttpRequest, ask_id: int) -> HttpResponse:
    ask = get_object_or_404(door.asks_to_settle(), pk=ask_id)
    try:
        settle_ask(ask=ask, by=request.user)  # type: ignore[arg-type] # office_only lets staff in only
    except Refusal as refusal:
        messages.error(request, "; ".join(str(fault) for fault in refusal.faults))
    return redirect("today")


def _pdf(content: bytes, name: str) -> HttpResponse:
    answer = HttpResponse(content, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{name}"'
    return answer
