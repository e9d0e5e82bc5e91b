"""For the accountant: journal, open items, tax summary, and the accounts they book on."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.http import urlencode
from django.views.decorators.http import require_POST

from business import clock
from business.documents.books import journal_table, open_items_table, tax_table
from business.documents.tables import Table
from business.errors import Refusal
from business.forms.books import AccountForm, PeriodForm
from business.forms.faults import take
from business.queries import access
from business.queries.ledger import accounts_for_list, open_items, tax_summary
from business.queries.profile import our_profile
from business.services.ledger import add_account, drop_account
from business.views.csv_files import csv_file
from business.views.doors import door

books_only = door(access.keeps_books)
changes_books = door(access.changes_books)


@books_only
def books(request: HttpRequest) -> HttpResponse:
    return show_books(request)


def show_books(request: HttpRequest, **bound: Any) -> HttpResponse:
    form = _period(request)
    first, last = _days(form)
    taxes = tax_summary(first=first, last=last)
    items = open_items(on=last)
    context: dict[str, Any] = {
        "period": form,
        "first": first,
        "last": last,
        "chosen": urlencode({"first": first.isoformat(), "last": last.isoformat()}),
        "taxes": taxes,
        "tax_sums": _sums_by_currency(taxes),
        "owed": _open_by_currency(items),
        "accounts": accounts_for_list(),
        "account_form": AccountForm(),
        "may_change_books": access.changes_books(request.user),
    }
    wrong = bool(form.errors) or any(one.errors for one in bound.values())
    return render(request, "business/books.html", context | bound, status=422 if wrong else 200)


@books_only
def table(request: HttpRequest, name: str) -> HttpResponse:
    """One table as a file."""
    form = _period(request)
    if name not in TABLES:
        raise Http404("no such table")
    if form.errors:
        return show_books(request)
    made = TABLES[name](*_days(form))
    return csv_file(f"{made.name}.csv", made.heads, made.rows)


def _journal(first: date, last: date) -> Table:
    return journal_table(first=first, last=last)


def _open_items(first: date, last: date) -> Table:
    return open_items_table(on=last)


def _tax(first: date, last: date) -> Table:
    return tax_table(first=first, last=last)


TABLES = {"journal": _journal, "open-items": _open_items, "tax": _tax}


@changes_books
@require_POST
def new_account(request: HttpRequest) -> HttpResponse:
    form = AccountForm(request.POST)
    if form.is_valid():
        try:
            made = add_account(**form.cleaned_data)
        except Refusal as refusal:
            take(form, refusal)
        else:
            messages.success(request, f"The journal books on {made} from now on.")
            return redirect("books")
    return show_books(request, account_form=form)


@changes_books
@require_POST
def end_account(request: HttpRequest, account_id: int) -> HttpResponse:
    found = get_object_or_404(accounts_for_list(), pk=account_id)
    drop_account(account=found)
    messages.success(request, f"{found} is no longer used.")
    return redirect("books")


def _period(request: HttpRequest) -> PeriodForm:
    """The days asked for; this year so far if none are."""
    today = clock.today(our_profile().time_zone)
    asked = {name: request.GET[name] for name in ("first", "last") if name in request.GET}
    form = PeriodForm({"first": today.replace(month=1, day=1).isoformat(), "last": today.isoformat(), **asked})
    form.is_valid()
    return form


def _days(form: PeriodForm) -> tuple[date, date]:
    if form.errors:
        today = clock.today(our_profile().time_zone)
        return today.replace(month=1, day=1), today
    return form.cleaned_data["first"], form.cleaned_data["last"]


def _sums_by_currency(taxes: Any) -> list[dict[str, Any]]:
    sums: dict[str, dict[str, Any]] = {}
    for row in taxes:
        one = sums.setdefault(row.currency, {"currency": row.currency, "net": 0, "tax": 0, "gross": 0})
        one["net"] += row.net
        one["tax"] += row.tax
        one["gross"] += row.net + row.tax
    return list(sums.values())


def _open_by_currency(items: Any) -> list[dict[str, Any]]:
    sums: dict[str, dict[str, Any]] = {}
    for item in items:
        one = sums.setdefault(item.currency, {"currency": item.currency, "owed": 0, "credit": 0})
        one["owed" if item.kind == "invoice" else "credit"] += item.open
    return list(sums.values())
