"""Work that waits to be charged, and the prices it is charged at."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from business import clock
from business.documents.words import day_text, percent_text
from business.errors import Refusal
from business.forms import money as forms
from business.forms.faults import take
from business.queries import access
from business.queries.invoices import charges_by_client, drafts
from business.queries.prices import late_rate_rows, price_history, prices_on, tax_rates
from business.queries.profile import our_profile
from business.services.billing import split_charge, write_off
from business.services.drafts import draft_invoices
from business.services.prices import save_price_list, set_late_rate, set_price, set_tax_rate
from business.views.doors import door

books_only = door(access.keeps_books)
changes_books = door(access.changes_books)


@books_only
def charges(request: HttpRequest) -> HttpResponse:
    return show_charges(request)


def show_charges(request: HttpRequest, *, refusal: Refusal | None = None, **bound: Any) -> HttpResponse:
    today = clock.today(our_profile().time_zone)
    waiting = access.charges_open_to(request.user).filter(invoice_line=None, written_off_at=None)
    context: dict[str, Any] = {
        "groups": charges_by_client(waiting),
        "drafts": drafts(),
        "faults": refusal.faults if refusal else (),
        "gather_form": forms.GatherForm(initial={"until": today}),
        "write_off_form": forms.WriteOffForm(),
        "split_form": forms.SplitForm(),
        "may_change_books": access.changes_books(request.user),
    }
    wrong = refusal is not None or any(form.errors for form in bound.values())
    return render(request, "business/charges.html", context | bound, status=422 if wrong else 200)


@changes_books
@require_POST
def gather(request: HttpRequest) -> HttpResponse:
    form = forms.GatherForm(request.POST)
    if not form.is_valid():
        return show_charges(request, gather_form=form)
    try:
        made = draft_invoices(until=form.cleaned_data["until"])
    except Refusal as refusal:
        return show_charges(request, refusal=refusal)
    if not made:
        messages.info(request, "No work waits to be charged until that day.")
        return redirect("charges")
    messages.success(request, f"{len(made)} draft{'s' if len(made) > 1 else ''} to look at.")
    return redirect(f"{reverse('invoices')}?standing=draft")


@changes_books
@require_POST
def give_up(request: HttpRequest, charge_id: int) -> HttpResponse:
    found = get_object_or_404(access.charges_open_to(request.user), pk=charge_id)
    form = forms.WriteOffForm(request.POST)
    if not form.is_valid():
        return show_charges(request, write_off_form=form)
    try:
        write_off(charge=found, by=request.user, reason=form.cleaned_data["reason"])  # type: ignore[arg-type]  # staff only
    except Refusal as refusal:
        return show_charges(request, refusal=refusal)
    messages.success(request, f"{found.text} is not charged: {form.cleaned_data['reason']}.")
    return redirect("charges")


@changes_books
@require_POST
def split(request: HttpRequest, charge_id: int) -> HttpResponse:
    found = get_object_or_404(access.charges_open_to(request.user), pk=charge_id)
    form = forms.SplitForm(request.POST)
    if not form.is_valid():
        return show_charges(request, split_form=form)
    try:
        split_charge(charge=found, first_amount=form.cleaned_data["first_amount"])
    except Refusal as refusal:
        return show_charges(request, refusal=refusal)
    messages.success(request, f"{found.text} is now two charges.")
    return redirect("charges")


@books_only
def prices(request: HttpRequest) -> HttpResponse:
    """The standard list; where there is none, how to begin."""
    first = access.price_lists_open_to(request.user).first()
    return redirect("price-list", price_list_id=first.pk) if first else show_prices(request, None)


@books_only
def price_list(request: HttpRequest, price_list_id: int) -> HttpResponse:
    return show_prices(request, get_object_or_404(access.price_lists_open_to(request.user), pk=price_list_id))


def show_prices(request: HttpRequest, shown: Any, **bound: Any) -> HttpResponse:
    ours = our_profile()
    today = clock.today(ours.time_zone)
    context: dict[str, Any] = {
        "price_list": shown,
        "price_lists": access.price_lists_open_to(request.user),
        "prices": prices_on(shown, today) if shown else (),
        "history": price_history(shown) if shown else (),
        "tax_rates": tax_rates(),
        "currency": ours.currency,
        "today": today,
        "list_form": forms.PriceListForm(),
        "price_form": forms.PriceForm(initial={"valid_from": today}),
        "tax_form": forms.TaxRateForm(initial={"valid_from": today}),
        "late_rates": late_rate_rows(),
        "late_form": forms.LateRateForm(initial={"regime": "uk" if ours.country == "GB" else "eu"}),
        "may_change_books": access.changes_books(request.user),
    }
    wrong = any(form.errors for form in bound.values())
    return render(request, "business/prices.html", context | bound, status=422 if wrong else 200)


@changes_books
@require_POST
def new_price_list(request: HttpRequest) -> HttpResponse:
    form = forms.PriceListForm(request.POST)
    if form.is_valid():
        try:
            made = save_price_list(**form.cleaned_data)
        except Refusal as refusal:
            take(form, refusal)
        else:
            messages.success(request, f"The list {made.name} is there; give it prices.")
            return redirect("price-list", price_list_id=made.pk)
    return show_prices(request, access.price_lists_open_to(request.user).first(), list_form=form)


@changes_books
@require_POST
def new_price(request: HttpRequest, price_list_id: int) -> HttpResponse:
    shown = get_object_or_404(access.price_lists_open_to(request.user), pk=price_list_id)
    form = forms.PriceForm(request.POST)
    if form.is_valid():
        try:
            made = set_price(price_list=shown, **form.cleaned_data)
        except Refusal as refusal:
            take(form, refusal)
        else:
            messages.success(request, f"{made.text} has its price from {day_text(made.valid_from)}.")
            return redirect("price-list", price_list_id=shown.pk)
    return show_prices(request, shown, price_form=form)


@changes_books
@require_POST
def new_tax_rate(request: HttpRequest) -> HttpResponse:
    form = forms.TaxRateForm(request.POST)
    if form.is_valid():
        try:
            made = set_tax_rate(**form.cleaned_data)
        except Refusal as refusal:
            take(form, refusal)
        else:
            messages.success(
                request,
                f"{made.get_treatment_display()}: {percent_text(made.percent)} from {day_text(made.valid_from)}.",
            )
            return redirect("prices")
    return show_prices(request, access.price_lists_open_to(request.user).first(), tax_form=form)


@changes_books
@require_POST
def new_late_rate(request: HttpRequest) -> HttpResponse:
    form = forms.LateRateForm(request.POST)
    if form.is_valid():
        try:
            made = set_late_rate(**form.cleaned_data)
        except Refusal as refusal:
            take(form, refusal)
        else:
            messages.success(request, f"Late interest: {percent_text(made.percent)} from {day_text(made.valid_from)}.")
            return redirect("prices")
    return show_prices(request, access.price_lists_open_to(request.user).first(), late_form=form)
