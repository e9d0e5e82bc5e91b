"""Mail that went, waits, or needs somebody; and papers of the archive."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from business.errors import Refusal
from business.filters import MessageFilter
from business.forms.faults import take
from business.forms.office import ReasonForm, SendAgainForm
from business.queries import access
from business.queries.messages import NEEDS_SOMEBODY, messages_for_list
from business.services.archive import content_of
from business.services.messages import send_again, stop_message
from business.views.doors import office_and_books, office_only

MESSAGES_ON_A_PAGE = 50


@office_and_books
def message_list(request: HttpRequest) -> HttpResponse:
    rows = access.messages_open_to(request.user)
    filtered = MessageFilter(request.GET, queryset=messages_for_list(rows))
    page = Paginator(filtered.qs, MESSAGES_ON_A_PAGE).get_page(request.GET.get("page"))
    needing = rows.filter(state__in=NEEDS_SOMEBODY).count()
    return render(request, "business/messages.html", {"filter": filtered, "page": page, "needing": needing})


@office_and_books
def message(request: HttpRequest, message_id: int) -> HttpResponse:
    return show_message(request, message_id)


def show_message(request: HttpRequest, message_id: int, **bound: Any) -> HttpResponse:
    found = get_object_or_404(messages_for_list(access.messages_open_to(request.user)), pk=message_id)
    context = {
        "mail": found,
        "stop_form": ReasonForm(),
        "again_form": SendAgainForm(),
        "may_change": access.is_office(request.user),
    }
    wrong = any(form.errors for form in bound.values())
    return render(request, "business/message.html", context | bound, status=422 if wrong else 200)


@office_only
@require_POST
def stop(request: HttpRequest, message_id: int) -> HttpResponse:
    found = get_object_or_404(access.messages_open_to(request.user), pk=message_id)
    form = ReasonForm(request.POST)
    if form.is_valid():
        try:
            stop_message(message=found, reason=form.cleaned_data["reason"])
        except Refusal as refusal:
            take(form, refusal)
        else:
            messages.success(request, "The message stays at home.")
            return redirect("message", message_id=found.pk)
    return show_message(request, message_id, stop_form=form)


@office_only
@require_POST
def again(request: HttpRequest, message_id: int) -> HttpResponse:
    found = get_object_or_404(access.messages_open_to(request.user), pk=message_id)
    form = SendAgainForm(request.POST)
    if form.is_valid():
        try:
            sent = send_again(message=found, **form.cleaned_data)
        except Refusal as refusal:
            take(form, refusal)
        else:
            messages.success(request, f"Once more in the outbox, for {sent.to}.")
            return redirect("message", message_id=sent.pk)
    return show_message(request, message_id, again_form=form)


@office_and_books
def document(request: HttpRequest, document_id: int) -> HttpResponse:
    """A kept paper, byte for byte."""
    found = get_object_or_404(access.documents_open_to(request.user), pk=document_id)
    response = HttpResponse(content_of(found), content_type=found.media_type)
    response["Content-Disposition"] = f'inline; filename="{found.file_name}"'
    return response
