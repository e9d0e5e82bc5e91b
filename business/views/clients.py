"""Clients: the list, one client on one page, agreements and contacts."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from business import clock
from business.errors import Refusal
from business.filters import ClientFilter
from business.forms.clients import AgreementForm, ClientForm, ContactForm, ContactForms
from business.forms.faults import take
from business.forms.late import HoldForm
from business.forms.money import PaymentForm, RefundForm
from business.queries import access
from business.queries.clients import (
    agreement_on,
    agreements_of,
    balance_of,
    clients_for_list,
    contacts_of,
    with_contacts,
)
from business.queries.invoices import invoices_for_list, standing
from business.queries.late_money import hold_of_client
from business.queries.messages import messages_for_list
from business.queries.profile import our_profile
from business.services.agreements import save_agreement
from business.services.clients import end_links, save_client, set_contacts, version_of
from business.services.payments import record_payment, refund, use_balance
from business.views.csv_files import csv_address, csv_file, wants_csv
from business.views.doors import door, office_and_books, office_only

CLIENTS_ON_A_PAGE = 50
changes_books = door(access.changes_books)


@office_and_books
def client_list(request: HttpRequest) -> HttpResponse:
    filtered = ClientFilter(request.GET, queryset=clients_for_list(access.clients_open_to(request.user)))
    sees_money = access.keeps_books(request.user)
    if wants_csv(request):
        heads = ["code", "name", "kind", "address", "country", "email", "phone", "units", "notes"]
        rows = ([getattr(client, head) for head in heads] for client in filtered.qs)
        return csv_file("clients.csv", heads, rows)
    page = Paginator(filtered.qs, CLIENTS_ON_A_PAGE).get_page(request.GET.get("page"))
    context = {
        "filter": filtered,
        "page": page,
        "csv": csv_address(request),
        "sees_money": sees_money,
        "may_change": access.is_office(request.user),
    }
    return render(request, "business/clients.html", context)


@office_and_books
def client(request: HttpRequest, client_id: int) -> HttpResponse:
    return show_client(request, client_id)


def show_client(request: HttpRequest, client_id: int, *, garden_link: str = "", **forms: Any) -> HttpResponse:
    """One client; money only for those who may see it."""
    found = get_object_or_404(with_contacts(access.clients_open_to(request.user)), pk=client_id)
    ours = our_profile()
    today = clock.today(ours.time_zone)
    context: dict[str, Any] = {
        "client": found,
        "messages_sent": messages_for_list(access.messages_open_to(request.user).filter(client=found))[:8],
        "sees_money": access.keeps_books(request.user),
        "may_change": access.is_office(request.user),
        "may_change_books": access.changes_books(request.user),
        "garden_link": garden_link,
    }
    if context["sees_money"]:
        invoices = invoices_for_list(access.invoices_open_to(request.user).filter(client=found))
        context |= {
            "agreement": agreement_on(found, today),
            "agreements": agreements_of(found),
            "invoices": [(invoice, standing(invoice, on=today)) for invoice in invoices[:20]],
            "charges": access.charges_open_to(request.user).filter(
                client=found, invoice_line=None, written_off_at=None
            ),
            "payments": access.payments_open_to(request.user).filter(client=found)[:20],
            "balance": balance_of(found, currency=ours.currency),
            "payment_form": PaymentForm(initial={"received_on": today}),
            "refund_form": RefundForm(initial={"paid_on": today}),
            "hold": hold_of_client(found, on=today),
            "hold_form": HoldForm(auto_id="hold_%s", initial={"kind": "opted_out"}),
        }
    wrong = any(form.errors for form in forms.values())
    return render(request, "business/client.html", context | forms, status=422 if wrong else 200)


@office_only
def new_client(request: HttpRequest) -> HttpResponse:
    form = ClientForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            made = save_client(**form.values())
        except Refusal as refusal:
            take(form, refusal)
        else:
            messages.success(request, f"{made.name} is now a client, number {made.code}.")
            return redirect("client", client_id=made.pk)
    return render(request, "business/client_form.html", {"form": form}, status=422 if form.errors else 200)


@office_only
def edit_client(request: HttpRequest, client_id: int) -> HttpResponse:
    found = get_object_or_404(access.clients_open_to(request.user), pk=client_id)
    shown = ClientForm.showing(found, seen=version_of(found))
    form = ClientForm(request.POST) if request.method == "POST" else shown
    if request.method == "POST" and form.is_valid():
        try:
            save_client(client=found, seen=form.cleaned_data["seen"], **form.values())
        except Refusal as refusal:
            take(form, refusal)
        else:
            messages.success(request, "The changes are stored.")
            return redirect("client", client_id=found.pk)
    context = {"form": form, "client": found}
    return render(request, "business/client_form.html", context, status=422 if form.errors else 200)


@office_only
def edit_contacts(request: HttpRequest, client_id: int) -> HttpResponse:
    found = get_object_or_404(access.clients_open_to(request.user), pk=client_id)
    initial = [ContactForm.initial_of(contact) for contact in contacts_of(found)]
    forms = ContactForms(request.POST or None, initial=initial, prefix="contacts")
    faults: tuple[object, ...] = ()
    if request.method == "POST" and forms.is_valid():
        rows = [form.cleaned_data for form in forms if form.cleaned_data.get("name")]
        try:
            set_contacts(client=found, contacts=rows)
        except Refusal as refusal:
            faults = refusal.faults
        else:
            messages.success(request, "The contacts are stored.")
            return redirect("client", client_id=found.pk)
    context = {"forms": forms, "client": found, "faults": faults}
    return render(
        request, "business/contacts.html", context, status=422 if faults or forms.total_error_count() else 200
    )


@changes_books
def new_agreement(request: HttpRequest, client_id: int) -> HttpResponse:
    found = get_object_or_404(access.clients_open_to(request.user), pk=client_id)
    today = clock.today(our_profile().time_zone)
    form = AgreementForm(request.POST or None, initial={"valid_from": today, "basis": "by_hour"})
    if request.method == "POST" and form.is_valid():
        try:
            save_agreement(client=found, **form.values())
        except Refusal as refusal:
            take(form, refusal)
        else:
            messages.success(request, "The agreement is stored.")
            return redirect("client", client_id=found.pk)
    context = {"form": form, "client": found}
    return render(request, "business/agreement_form.html", context, status=422 if form.errors else 200)


@changes_books
def edit_agreement(request: HttpRequest, agreement_id: int) -> HttpResponse:
    found = get_object_or_404(access.agreements_open_to(request.user), pk=agreement_id)
    form = AgreementForm(request.POST) if request.method == "POST" else AgreementForm.showing(found)
    if request.method == "POST" and form.is_valid():
        try:
            save_agreement(client=found.client, agreement=found, **form.values())
        except Refusal as refusal:
            take(form, refusal)
        else:
            messages.success(request, "The agreement is changed. What was charged before stays as it was.")
            return redirect("client", client_id=found.client_id)
    context = {"form": form, "client": found.client, "agreement": found}
    return render(request, "business/agreement_form.html", context, status=422 if form.errors else 200)


@office_only
@require_POST
def end_client_links(request: HttpRequest, client_id: int) -> HttpResponse:
    found = get_object_or_404(access.clients_open_to(request.user), pk=client_id)
    end_links(client=found)
    messages.success(request, f"Every link sent to {found.name} so far has stopped working.")
    return redirect("client", client_id=found.pk)


@changes_books
@require_POST
def take_payment(request: HttpRequest, client_id: int) -> HttpResponse:
    found = get_object_or_404(access.clients_open_to(request.user), pk=client_id)
    form = PaymentForm(request.POST)
    if form.is_valid():
        try:
            record_payment(client=found, by=request.user, **form.cleaned_data)  # type: ignore[arg-type]  # staff only
        except Refusal as refusal:
            take(form, refusal)
        else:
            messages.success(request, "The payment is recorded.")
            return redirect("client", client_id=found.pk)
    return show_client(request, client_id, payment_form=form)


@changes_books
@require_POST
def pay_back(request: HttpRequest, client_id: int) -> HttpResponse:
    found = get_object_or_404(access.clients_open_to(request.user), pk=client_id)
    form = RefundForm(request.POST)
    if form.is_valid():
        try:
            refund(client=found, by=request.user, **form.cleaned_data)  # type: ignore[arg-type]  # staff only
        except Refusal as refusal:
            take(form, refusal)
        else:
            messages.success(request, "What was paid back is recorded.")
            return redirect("client", client_id=found.pk)
    return show_client(request, client_id, refund_form=form)


@changes_books
@require_POST
def put_balance(request: HttpRequest, client_id: int) -> HttpResponse:
    found = get_object_or_404(access.clients_open_to(request.user), pk=client_id)
    used = use_balance(client=found)
    if used:
        messages.success(request, "The balance is put to the open invoices.")
    else:
        messages.info(request, "No open invoice waits for the balance.")
    return redirect("client", client_id=found.pk)
