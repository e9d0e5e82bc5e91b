"""Invoices: the list, one paper on one page, and what may be done with it."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from business import clock
from business.documents.payment_reminders import FORMULA, interest_rows
from business.errors import AlreadyDone, Refusal
from business.filters import InvoiceFilter
from business.forms import money as forms
from business.forms.faults import take
from business.forms.late import HoldForm
from business.queries import access
from business.queries.clients import balance_of
from business.queries.invoices import invoices_for_list, money_today, standing, whole_invoices
from business.queries.late_money import lateness_of
from business.queries.messages import messages_for_list
from business.queries.profile import our_profile, profile_is_stored
from business.services import drafts, payments
from business.services.archive import content_of
from business.services.invoices import credit_invoice, issue_invoice
from business.services.papers import draft_paper, mail_invoice, write_e_invoice, write_invoice_paper
from business.services.payments import record_payment
from business.views.csv_files import csv_address, csv_file, wants_csv
from business.views.doors import door

INVOICES_ON_A_PAGE = 50
books_only = door(access.keeps_books)
changes_books = door(access.changes_books)


@books_only
def invoice_list(request: HttpRequest) -> HttpResponse:
    ours = our_profile()
    today = clock.today(ours.time_zone)
    filtered = InvoiceFilter(
        request.GET, today=today, queryset=invoices_for_list(access.invoices_open_to(request.user))
    )
    if wants_csv(request):
        return _as_csv(filtered.qs)
    page = Paginator(filtered.qs, INVOICES_ON_A_PAGE).get_page(request.GET.get("page"))
    context = {
        "filter": filtered,
        "page": page,
        "csv": csv_address(request),
        "rows": [(invoice, standing(invoice, on=today)) for invoice in page.object_list],
        "money": money_today(on=today, currency=ours.currency),
        "currency": ours.currency,
        "has_profile": profile_is_stored(),
        "may_change_books": access.changes_books(request.user),
        "is_owner": access.is_owner(request.user),
    }
    return render(request, "business/invoices.html", context)


def _as_csv(invoices: Any) -> HttpResponse:
    heads = [
        "number",
        "kind",
        "client",
        "client_name",
        "issued_on",
        "due_on",
        "state",
        "currency",
        "net",
        "tax",
        "gross",
    ]
    rows = (
        [
            i.number,
            i.kind,
            i.client.code,
            i.client.name,
            i.issued_on,
            i.due_on,
            i.state,
            i.currency,
            i.net,
            i.tax,
            i.gross,
        ]
        for i in invoices
    )
    return csv_file("invoices.csv", heads, rows)


@books_only
def invoice(request: HttpRequest, invoice_id: int) -> HttpResponse:
    return show_invoice(request, invoice_id)


def show_invoice(
    request: HttpRequest, invoice_id: int, *, refusal: Refusal | None = None, **bound: Any
) -> HttpResponse:
    found = get_object_or_404(whole_invoices(access.invoices_open_to(request.user)), pk=invoice_id)
    today = clock.today(our_profile().time_zone)
    about = messages_for_list(access.messages_open_to(request.user).filter(key__startswith=f"invoice:{found.pk}:"))
    lateness = lateness_of(found, on=today)
    context: dict[str, Any] = {
        "invoice": found,
        "standing": standing(found, on=today),
        "sums": _sums(found),
        "faults": refusal.faults if refusal else (),
        "balance": balance_of(found.client, currency=found.currency),
        "messages_sent": about,
        "may_change_books": access.changes_books(request.user),
        "issue_form": forms.IssueForm(
            initial={"issued_on": today, "mails": bool(found.client.email), "uses_advance": True}
        ),
        "line_form": forms.LineForm(initial={"done_on": today}),
        "merge_form": forms.MergeForm(draft=found),
        "note_form": forms.NoteForm(initial={"note": found.note}),
        "give_up_form": forms.GiveUpForm(initial={"on": today}),
        "ask_again_form": forms.WriteOffForm(),
        "e_invoice": found.buyer.get("e_invoice", "off"),
        "payment_form": forms.PaymentForm(initial={"received_on": today, "amount": found.open_amount}),
        "credit_form": forms.CreditForm(initial={"credited_on": today}, invoice=found),
        "lateness": lateness,
        "interest_rows": interest_rows(lateness.interest.claim, found.currency) if lateness.interest.claim else (),
        "formula": FORMULA,
        "hold_form": HoldForm(auto_id="hold_%s"),
    }
    wrong = refusal is not None or any(form.errors for form in bound.values())
    return render(request, "business/invoice.html", context | bound, status=422 if wrong else 200)


def _sums(invoice: Any) -> list[tuple[str, Any]]:
    """The foot of the page: what it comes to, and what is settled of it."""
    rows = [("Net", invoice.net), (our_profile().tax_label, invoice.tax), ("Total", invoice.gross)]
    rows += [("Paid", -invoice.paid)] * bool(invoice.paid) + [("Credited", -invoice.credited)] * bool(invoice.credited)
    if invoice.paid or invoice.credited:
        rows.append(("Still open", invoice.open_amount))
    return rows


@books_only
def paper(request: HttpRequest, invoice_id: int) -> HttpResponse:
    """The kept paper; of a draft, how it would look."""
    found = get_object_or_404(whole_invoices(access.invoices_open_to(request.user)), pk=invoice_id)
    try:
        if found.is_draft:
            name, content = f"draft-{found.pk}.pdf", draft_paper(invoice=found)
        else:
            document = write_invoice_paper(invoice_id=found.pk)
            name, content = document.file_name, content_of(document)
    except Refusal as refusal:
        return show_invoice(request, invoice_id, refusal=refusal)
    response = HttpResponse(content, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{name}"'
    return response


@books_only
def e_invoice(request: HttpRequest, invoice_id: int, syntax: str) -> HttpResponse:
    """The kept XML of an issued paper in one syntax; written the first time it is asked for."""
    found = get_object_or_404(access.invoices_open_to(request.user), pk=invoice_id)
    if syntax not in ("cii", "ubl") or found.is_draft:
        raise Http404("no such paper")
    try:
        document = write_e_invoice(invoice_id=found.pk, syntax=syntax)
        content = content_of(document)
    except Refusal as refusal:
        return show_invoice(request, invoice_id, refusal=refusal)
    response = HttpResponse(content, content_type=document.media_type)
    response["Content-Disposition"] = f'attachment; filename="{document.file_name}"'
    return response


@changes_books
@require_POST
def give_up(request: HttpRequest, invoice_id: int) -> HttpResponse:
    """What is open becomes a bad debt."""
    found = get_object_or_404(access.invoices_open_to(request.user), pk=invoice_id)
    form = forms.GiveUpForm(request.POST)
    if form.is_valid():
        try:
            payments.give_up(invoice=found, by=request.user, **form.cleaned_data)  # type: ignore[arg-type]  # staff only
        except Refusal as refusal:
            take(form, refusal)
        else:
            messages.success(request, "The rest is given up; the books show it as a bad debt.")
            return redirect("invoice", invoice_id=found.pk)
    return show_invoice(request, invoice_id, give_up_form=form)


@changes_books
@require_POST
def ask_again(request: HttpRequest, invoice_id: int) -> HttpResponse:
    found = get_object_or_404(access.invoices_open_to(request.user), pk=invoice_id)
    form = forms.WriteOffForm(request.POST)
    if form.is_valid():
        try:
            payments.ask_again(invoice=found, reason=form.cleaned_data["reason"], by=request.user)  # type: ignore[arg-type]  # staff only
        except Refusal as refusal:
            take(form, refusal)
        else:
            messages.success(request, "It is to be paid again.")
            return redirect("invoice", invoice_id=found.pk)
    return show_invoice(request, invoice_id, ask_again_form=form)


@changes_books
@require_POST
def issue(request: HttpRequest, invoice_id: int) -> HttpResponse:
    found = get_object_or_404(access.invoices_open_to(request.user), pk=invoice_id)
    form = forms.IssueForm(request.POST)
    if not form.is_valid():
        return show_invoice(request, invoice_id, issue_form=form)
    try:
        issued = issue_invoice(
            invoice=found,
            by=request.user,  # type: ignore[arg-type]  # staff only
            issued_on=form.cleaned_data["issued_on"],
            uses_advance=form.cleaned_data["uses_advance"],
        )
        messages.success(request, f"Invoice {issued.number} is issued.")
        if form.cleaned_data["mails"]:
            mail_invoice(invoice=issued)
            messages.success(request, f"It goes to {issued.client.email or 'the contacts who get invoices'}.")
    except AlreadyDone:
        # A second press of the same button: the invoice stands, show it.
        pass
    except Refusal as refusal:
        return show_invoice(request, invoice_id, refusal=refusal)
    return redirect("invoice", invoice_id=found.pk)


@changes_books
@require_POST
def mail(request: HttpRequest, invoice_id: int) -> HttpResponse:
    found = get_object_or_404(access.invoices_open_to(request.user), pk=invoice_id)
    try:
        sent = mail_invoice(invoice=found)
    except Refusal as refusal:
        return show_invoice(request, invoice_id, refusal=refusal)
    messages.success(request, f"In the outbox for {', '.join(message.to for message in sent)}.")
    return redirect("invoice", invoice_id=found.pk)


@changes_books
@require_POST
def pay(request: HttpRequest, invoice_id: int) -> HttpResponse:
    found = get_object_or_404(access.invoices_open_to(request.user), pk=invoice_id)
    form = forms.PaymentForm(request.POST)
    if form.is_valid():
        try:
            record_payment(client=found.client, invoice=found, by=request.user, **form.cleaned_data)  # type: ignore[arg-type]  # staff only
        except Refusal as refusal:
            take(form, refusal)
        else:
            messages.success(request, "The payment is recorded.")
            return redirect("invoice", invoice_id=found.pk)
    return show_invoice(request, invoice_id, payment_form=form)


@changes_books
@require_POST
def credit(request: HttpRequest, invoice_id: int) -> HttpResponse:
    found = get_object_or_404(whole_invoices(access.invoices_open_to(request.user)), pk=invoice_id)
    form = forms.CreditForm(request.POST, invoice=found)
    if form.is_valid():
        said = form.cleaned_data
        try:
            note = credit_invoice(
                invoice=found,
                reason=said["reason"],
                by=request.user,  # type: ignore[arg-type]  # staff only
                amounts=form.amounts(),
                charge_again=said["charge_again"],
                credited_on=said["credited_on"],
            )
        except Refusal as refusal:
            take(form, refusal)
        else:
            messages.success(request, f"Credit note {note.number} takes back what you chose.")
            return redirect("invoice", invoice_id=note.pk)
    return show_invoice(request, invoice_id, credit_form=form)


@changes_books
@require_POST
def change_draft(request: HttpRequest, invoice_id: int) -> HttpResponse:
    """One act on a draft, named by the button that was pressed."""
    found = get_object_or_404(whole_invoices(access.invoices_open_to(request.user)), pk=invoice_id)
    act = ACTS.get(request.POST.get("act", ""))
    if act is None:
        raise Http404("no such act")
    try:
        return act(request, found)
    except Refusal as refusal:
        return show_invoice(request, invoice_id, refusal=refusal)


def _drop(request: HttpRequest, draft: Any) -> HttpResponse:
    drafts.drop_draft(draft=draft)
    messages.success(request, "The draft is gone; its work waits to be charged.")
    return redirect("charges")


def _take_off(request: HttpRequest, draft: Any) -> HttpResponse:
    line = request.POST.get("line", "")
    drafts.take_off(draft=draft, line_id=int(line) if line.isdecimal() else 0)
    return redirect("invoice", invoice_id=draft.pk)


def _add(request: HttpRequest, draft: Any) -> HttpResponse:
    form = forms.LineForm(request.POST)
    if not form.is_valid():
        return show_invoice(request, draft.pk, line_form=form)
    drafts.add_line(draft=draft, **form.cleaned_data)
    return redirect("invoice", invoice_id=draft.pk)


def _merge(request: HttpRequest, draft: Any) -> HttpResponse:
    form = forms.MergeForm(request.POST, draft=draft)
    if not form.is_valid():
        return show_invoice(request, draft.pk, merge_form=form)
    ids = [int(pk) for pk in form.cleaned_data["lines"]]
    drafts.merge_lines(draft=draft, line_ids=ids, text=form.cleaned_data["text"])
    return redirect("invoice", invoice_id=draft.pk)


def _note(request: HttpRequest, draft: Any) -> HttpResponse:
    form = forms.NoteForm(request.POST)
    if not form.is_valid():
        return show_invoice(request, draft.pk, note_form=form)
    drafts.annotate(draft=draft, note=form.cleaned_data["note"])
    return redirect("invoice", invoice_id=draft.pk)


ACTS = {"drop": _drop, "take_off": _take_off, "add": _add, "merge": _merge, "note": _note}
