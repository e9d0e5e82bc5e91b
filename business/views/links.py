"""Links for clients: in by a link, out again, and "no more of these mails"."""

from __future__ import annotations

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from business.errors import Refusal
from business.forms.clients import NewLinkForm
from business.jobs import later
from business.queries import access
from business.services.audit import Actor, acting_as
from business.services.client_links import (
    STOPPABLE,
    client_of_session,
    enter,
    garden_address,
    leave,
    stop_of_token,
)
from business.services.client_mail import send_garden_link
from business.services.clients import stop_kind
from business.services.sign_in import link_ask_name, note_failure, wait_before
from business.views.clients import show_client
from business.views.doors import link_ended, office_only, unlisted
from business.views.requests import address_of
from business.views.sign_in import too_many_tries


@unlisted
@require_safe
def open_link(request: HttpRequest, token: str) -> HttpResponse:
    """Swap the link for a key in the session and go on to an address without it. Opening changes nothing else,
    however often the robots of a mail server do it first.
    """
    if enter(request.session, token) is None:
        return link_ended(request)
    answer = redirect(settings.CLIENT_DOOR_URL)
    # The address that holds the link must not travel on.
    answer["Referrer-Policy"] = "no-referrer"
    return answer


@unlisted
@require_POST
def close_link(request: HttpRequest) -> HttpResponse:
    """Leave the client's pages on this device; the link itself goes on working."""
    if client_of_session(request.session) is None:
        return link_ended(request)
    leave(request.session)
    return render(request, "business/link_ended.html", {"left": True})


@unlisted
@require_http_methods(["GET", "HEAD", "POST"])
def new_link(request: HttpRequest) -> HttpResponse:
    """Ask for a fresh link by mail. The answer is the same for every address, and so is what this page does for it:
    it counts the ask and queues a job; the job looks whether a client has that address on file.
    """
    form = NewLinkForm(request.POST if request.method == "POST" else None)
    template = "business/new_link.html"
    if request.method != "POST" or not form.is_valid():
        return render(request, template, {"form": form}, status=422 if request.method == "POST" else 200)
    email, address = form.cleaned_data["email"], address_of(request)
    name = link_ask_name(email)
    if wait := wait_before(username=name, address=address):
        return too_many_tries(request, template, wait, {"form": NewLinkForm()})
    note_failure(username=name, address=address)
    later("business.tasks.send_asked_links", email=email)
    return render(request, template, {"was_asked": True})


@csrf_exempt  # the only one: RFC 8058 wants the POST of a mail program to work without cookies; the token is signed
@unlisted
@require_http_methods(["GET", "HEAD", "POST"])
def stop_mail(request: HttpRequest, token: str) -> HttpResponse:
    """GET only asks; POST stops one kind of mail for one client, or lets it come again."""
    found = stop_of_token(token)
    if found is None:
        return link_ended(request)
    client, kind = found
    is_stopped = kind in client.stopped_kinds
    if request.method == "POST":
        is_stopped = request.POST.get("act") != "again"
        with acting_as(lambda: Actor(words="the client, by the stop link of a mail")):
            stop_kind(client=client, kind=kind, is_stopped=is_stopped)
    context = {"kind": STOPPABLE[kind], "is_stopped": is_stopped, "was_asked": request.method == "POST"}
    answer = render(request, "business/stop_mail.html", context)
    answer["Referrer-Policy"] = "no-referrer"
    return answer


@office_only
@unlisted
@require_POST
def make_link(request: HttpRequest, client_id: int) -> HttpResponse:
    """Show a fresh link once, to be handed over by other ways than our mail."""
    found = get_object_or_404(access.clients_open_to(request.user), pk=client_id)
    return show_client(request, client_id, garden_link=garden_address(found))


@office_only
@require_POST
def send_link(request: HttpRequest, client_id: int) -> HttpResponse:
    found = get_object_or_404(access.clients_open_to(request.user), pk=client_id)
    try:
        send_garden_link(client=found)
    except Refusal as refusal:
        for fault in refusal.faults:
            messages.error(request, f"{fault.where} {fault.wrong}: {fault.remedy}.")
    else:
        messages.success(request, f"A link to their garden's page goes to {found.email}, once a day at most.")
    return redirect("client", client_id=found.pk)
