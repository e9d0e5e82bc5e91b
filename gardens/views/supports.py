"""One support: drawn with its dimensions, checked, priced, and the care it is due."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from business import clock
from business.errors import Refusal
from business.queries.access import changes_books, keeps_books, may_see_prices
from business.queries.quotes import quotes_about
from business.views.doors import door, office_only
from gardens.forms.support_care import CareForm, RowsForm, SlackForm
from gardens.forms.supports import BuildForm, initial_of
from gardens.queries.access import records_open_to, supports_open_to
from gardens.queries.our_units import our_units
from gardens.queries.trees import trees_on_support
from gardens.services.estimates import quote_support, support_costed
from gardens.services.records import withdraw_record
from gardens.services.support_records import write_support_record
from gardens.services.support_rows import RowsPage, rows_page, usual_runs
from gardens.services.supports import (
    core_support,
    history_of,
    parts_of,
    reading_of,
    save_build,
    support_page,
    weak_parts,
)
from gardens.units import Units

offers = door(changes_books)


@office_only
def support(request: HttpRequest, support_id: int) -> HttpResponse:
    return show_support(request, support_id)


def show_support(request: HttpRequest, support_id: int, **bound: forms.Form) -> HttpResponse:
    """The page; ``bound`` brings the form (build, slack, care) that was sent and is wrong."""
    found = get_object_or_404(supports_open_to(request.user), pk=support_id)
    on, units = clock.today(found.site.zone), our_units()
    trees = list(trees_on_support(found.pk))
    page = support_page(found, trees, on, units)
    rows_form, rows = _rows(request, found, units)
    is_wrong = any(form.errors for form in (*bound.values(), rows_form))
    sees_prices = may_see_prices(request.user) and page.bill is not None
    context = {
        "support": found,
        "trees": trees,
        "today": on,
        "page": page,
        "costed": support_costed(found, page.bill, on) if sees_prices and page.bill else None,
        "may_offer": changes_books(request.user),
        "offers": quotes_about(found.site.client_id, f"support:{found.pk}", f"planting:{found.pk}")
        if keeps_books(request.user)
        else (),
        "history": history_of(found),
        "rows_form": rows_form,
        "rows": rows,
        "build_form": _build_form(found),
        "slack_form": SlackForm(initial={"on": on, "wire": 1}),
        "care_form": CareForm(initial={"on": on, "part": "whole"}, parts=parts_of(found, page.core), prefix="care"),
        **{f"{name}_form": form for name, form in bound.items()},
    }
    return render(request, "gardens/support.html", context, status=422 if is_wrong else 200)


def _build_form(found: Any, data: QueryDict | None = None) -> BuildForm:
    initial = {"built_on": found.built_on, **initial_of(found.build)}
    return BuildForm(data, initial=initial, kind=found.kind, name=found.name)


def _rows(request: HttpRequest, found: Any, units: Units) -> tuple[RowsForm, RowsPage | None]:
    """Several rows are looked at, never stored: the question stands in the address."""
    if "count" not in request.GET:
        return RowsForm(initial={"count": 3, "runs": usual_runs(found), "rises_percent": 0}), None
    form = RowsForm(request.GET)
    if not form.is_valid():
        return form, None
    try:
        return form, rows_page(found, list(trees_on_support(found.pk)), form.wanted(), units)
    except Refusal as refusal:
        form.take(refusal)
        return form, None


@office_only
@require_POST
def build(request: HttpRequest, support_id: int) -> HttpResponse:
    found = get_object_or_404(supports_open_to(request.user), pk=support_id)
    form = _build_form(found, request.POST)
    if form.is_valid():
        try:
            save_build(
                support=found,
                build=form.build(found.build),
                built_on=form.cleaned_data["built_on"],
                trees=list(trees_on_support(found.pk)),
            )
        except Refusal as refusal:
            form.take(refusal)
        else:
            messages.success(request, "The build is kept; the check below reckons with it.")
            return redirect("support", support_id=found.pk)
    return show_support(request, support_id, build=form)


@office_only
@require_POST
def slack(request: HttpRequest, support_id: int) -> HttpResponse:
    """A sag becomes a tension and a verdict at once, and stays as a record."""
    found = get_object_or_404(supports_open_to(request.user), pk=support_id)
    form = SlackForm(request.POST)
    if form.is_valid():
        fact = form.fact()
        try:
            write_support_record(support=found, fact=fact, by=request.user)  # type: ignore[arg-type] # staff only
            read = reading_of(found, list(trees_on_support(found.pk)), fact)
        except Refusal as refusal:
            form.take(refusal)
        else:
            messages.success(request, f"Written down. Wire {form.cleaned_data['wire']}: {read.text}")
            return redirect(f"/supports/{found.pk}/#wires")
    return show_support(request, support_id, slack=form)


@office_only
@require_POST
def record(request: HttpRequest, support_id: int) -> HttpResponse:
    """Something done, seen or measured; the care that is due follows from it."""
    found = get_object_or_404(supports_open_to(request.user), pk=support_id)
    try:
        core = core_support(found, list(trees_on_support(found.pk)))
    except Refusal:
        core = None
    form = CareForm(request.POST, parts=parts_of(found, core), prefix="care")
    if form.is_valid():
        try:
            write_support_record(support=found, fact=form.fact(), by=request.user)  # type: ignore[arg-type] # staff only
        except Refusal as refusal:
            form.take(refusal)
        else:
            messages.success(request, "Written down; the care due below follows from it.")
            return redirect(f"/supports/{found.pk}/#care")
    return show_support(request, support_id, care=form)


@office_only
@require_POST
def withdraw(request: HttpRequest, record_id: int) -> HttpResponse:
    found = get_object_or_404(records_open_to(request.user).filter(support__isnull=False), pk=record_id)
    try:
        withdraw_record(record=found)
    except Refusal as refusal:
        messages.error(request, str(refusal.faults[0]))
    return redirect(f"/supports/{found.support_id}/#records")


@offers
@require_POST
def quote(request: HttpRequest, support_id: int) -> HttpResponse:
    """The bill as a draft offer, opened to be changed."""
    found = get_object_or_404(supports_open_to(request.user), pk=support_id)
    on, trees = clock.today(found.site.zone), list(trees_on_support(found.pk))
    try:
        made = quote_support(support=found, trees=trees, on=on, units=our_units())
        if weak := weak_parts(found, trees):
            messages.warning(request, f"The check finds not enough: {', '.join(weak)}. Cure it before you send this.")
    except Refusal as refusal:
        for fault in refusal.faults:
            messages.error(request, str(fault))
        return redirect("support", support_id=found.pk)
    return redirect("quote-edit" if made.state == "draft" else "quote", quote_id=made.pk)
