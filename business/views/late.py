"""Late invoices: what comes next for each, and what a person may do about it."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from business import clock
from business.errors import Refusal
from business.forms.faults import take
from business.forms.late import HoldForm, LadderForm, StepForms
from business.queries import access
from business.queries.late_money import late_invoices, late_rows, our_ladder, our_steps, standing_holds
from business.queries.profile import our_profile
from business.services.payment_reminders import charge_late_claim, take_step
from business.services.reminder_ladder import hold, lift, save_ladder
from business.views.doors import door

books_only = door(access.keeps_books)
changes_books = door(access.changes_books)


@books_only
def late_list(request: HttpRequest) -> HttpResponse:
    return show_late(request)


def show_late(request: HttpRequest, *, refusal: Refusal | None = None, **bound: Any) -> HttpResponse:
    today = clock.today(our_profile().time_zone)
    mine = access.invoices_open_to(request.user)
    rows = late_rows(late_invoices(on=today).filter(pk__in=mine.values("pk")), on=today)
    context: dict[str, Any] = {
        "rows": rows,
        "due": sum(row.is_due and row.may_be_sent for row in rows),
        "decide": sum(row.is_due and not row.may_be_sent for row in rows),
        "sums": _sums(rows),
        "holds": standing_holds(on=today).filter(invoice=None).select_related("client"),
        "ladder": our_ladder(),
        "steps": our_steps(),
        "today": today,
        "hold_form": HoldForm(auto_id=False),
        "faults": refusal.faults if refusal else (),
        "may_change_books": access.changes_books(request.user),
    }
    wrong = refusal is not None or any(form.errors for form in bound.values())
    return render(request, "business/late.html", context | bound, status=422 if wrong else 200)


def _sums(rows: list[Any]) -> list[tuple[Any, str]]:
    """What is late in each currency."""
    sums: dict[str, Any] = {}
    for row in rows:
        sums[row.invoice.currency] = sums.get(row.invoice.currency, 0) + row.invoice.open_amount
    return [(amount, currency) for currency, amount in sorted(sums.items())]


@changes_books
def ladder(request: HttpRequest) -> HttpResponse:
    is_sent = request.method == "POST"
    form = LadderForm(request.POST) if is_sent else LadderForm.showing(our_ladder())
    steps = StepForms(request.POST, prefix="steps") if is_sent else StepForms.showing(our_steps())
    if is_sent and form.is_valid() and steps.is_valid():
        try:
            save_ladder(steps=steps.steps(), **form.cleaned_data)
        except Refusal as refusal:
            take(form, refusal)
        else:
            messages.success(request, "The steps are stored. Invoices go on from the step they have reached.")
            return redirect("late-invoices")
    wrong = bool(form.errors or (is_sent and steps.total_error_count()))
    return render(
        request, "business/reminder_ladder.html", {"form": form, "steps": steps}, status=422 if wrong else 200
    )


@changes_books
@require_POST
def remind(request: HttpRequest, invoice_id: int) -> HttpResponse:
    found = get_object_or_404(access.invoices_open_to(request.user), pk=invoice_id)
    try:
        made = take_step(invoice=found, by=request.user)  # type: ignore[arg-type]  # staff only
    except Refusal as refusal:
        return show_late(request, refusal=refusal)
    how = "goes by mail" if made.channel == "mail" else "waits to be printed and posted"
    messages.success(request, f"{made.name} of invoice {found.number} {how}.")
    return _back(request, "invoice", found.pk)


@changes_books
@require_POST
def hold_invoice(request: HttpRequest, invoice_id: int) -> HttpResponse:
    found = get_object_or_404(access.invoices_open_to(request.user), pk=invoice_id)
    return _hold(request, client=found.client, invoice=found)


@changes_books
@require_POST
def hold_client(request: HttpRequest, client_id: int) -> HttpResponse:
    found = get_object_or_404(access.clients_open_to(request.user), pk=client_id)
    return _hold(request, client=found, invoice=None)


def _hold(request: HttpRequest, *, client: Any, invoice: Any) -> HttpResponse:
    form = HoldForm(request.POST, auto_id=False)
    if not form.is_valid():
        return show_late(request, hold_form=form)
    try:
        made = hold(client=client, invoice=invoice, by=request.user, **form.cleaned_data)  # type: ignore[arg-type]  # staff only
    except Refusal as refusal:
        return show_late(request, refusal=refusal)
    about = f"invoice {invoice.number}" if invoice else client.name
    messages.success(request, f"No reminder goes out for {about}: {made.reason}.")
    return _back(request, "late-invoices")


@changes_books
@require_POST
def lift_hold(request: HttpRequest, hold_id: int) -> HttpResponse:
    today = clock.today(our_profile().time_zone)
    found = standing_holds(on=today).filter(pk=hold_id).first()
    if found is None:
        raise Http404("no such hold")
    lift(hold=found, by=request.user)  # type: ignore[arg-type]  # staff only
    messages.success(request, "Reminders go on.")
    return _back(request, "late-invoices")


@changes_books
@require_POST
def claim(request: HttpRequest, invoice_id: int) -> HttpResponse:
    """What lateness costs becomes charges, now that somebody says so."""
    found = get_object_or_404(access.invoices_open_to(request.user), pk=invoice_id)
    try:
        made = charge_late_claim(invoice=found, by=request.user)  # type: ignore[arg-type]  # staff only
    except Refusal as refusal:
        return show_late(request, refusal=refusal)
    messages.success(request, f"{len(made)} charge{'s' if len(made) > 1 else ''} wait for the next invoice.")
    return redirect("charges")


def _back(request: HttpRequest, otherwise: str, *places: int) -> HttpResponse:
    """To the page the button stood on, if it is one of ours."""
    back = request.POST.get("back", "")
    if back and url_has_allowed_host_and_scheme(back, allowed_hosts=None):
        return redirect(back)
    return redirect(otherwise, *places)
