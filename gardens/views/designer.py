"""The planting designer, and a tree over the years."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from business import clock
from business.errors import Refusal
from business.queries.access import changes_books, may_see_prices
from business.views.doors import door, office_only
from gardens.forms.designer import DesignForm
from gardens.queries.access import supports_open_to, trees_open_to
from gardens.queries.our_units import our_units
from gardens.services.cautions import cautions_for_support
from gardens.services.designer import Design, design, keep_design
from gardens.services.estimates import design_costed, quote_design
from gardens.services.years import tree_years

offers = door(changes_books)


@office_only
def years(request: HttpRequest, tree_id: int) -> HttpResponse:
    tree = get_object_or_404(trees_open_to(request.user), pk=tree_id)
    on = clock.today(tree.site.zone)
    return render(request, "gardens/years.html", {"tree": tree, "page": tree_years(tree, on, our_units()), "today": on})


@office_only
def designer(request: HttpRequest, support_id: int) -> HttpResponse:
    """GET asks and shows a design, POST keeps it as planned trees."""
    support = get_object_or_404(supports_open_to(request.user), pk=support_id)
    sent = request.POST if request.method == "POST" else request.GET
    form = DesignForm(sent) if sent else DesignForm(initial=_usual(support))
    found: Design | None = None
    if sent and form.is_valid():
        try:
            found = design(support, form.wish(), units=our_units())
            if request.method == "POST":
                kept = keep_design(support=support, wish=form.wish())
                messages.success(request, f"{len(kept)} planned trees are kept on {support.name}.")
                return redirect("support", support_id=support.pk)
        except Refusal as refusal:
            form.take(refusal)
    return _show(request, support, form, found)


@offers
@require_POST
def quote(request: HttpRequest, support_id: int) -> HttpResponse:
    """The planting as a draft offer, opened to be changed."""
    support = get_object_or_404(supports_open_to(request.user), pk=support_id)
    form = DesignForm(request.POST)
    found: Design | None = None
    if form.is_valid():
        on, builds = clock.today(support.site.zone), form.cleaned_data["with_support"]
        try:
            found = design(support, form.wish(), units=our_units())
            made = quote_design(support=support, wish=form.wish(), on=on, with_support=builds, units=our_units())
        except Refusal as refusal:
            form.take(refusal)
        else:
            return redirect("quote-edit" if made.state == "draft" else "quote", quote_id=made.pk)
    return _show(request, support, form, found)


def _usual(support: Any) -> dict[str, Any]:
    """A support that nobody said is built is to be built with the planting."""
    return {"planted_on": clock.today(support.site.zone), "with_support": support.built_on is None}


def _show(request: HttpRequest, support: Any, form: DesignForm, found: Design | None) -> HttpResponse:
    costed = None
    if found is not None and may_see_prices(request.user):
        on, builds = clock.today(support.site.zone), form.cleaned_data["with_support"]
        try:
            costed = design_costed(support, found, on, with_support=builds)
        except Refusal as refusal:
            form.take(refusal)
    context = {
        "support": support,
        "form": form,
        "design": found,
        "costed": costed,
        "cautions": cautions_for_support(support, ("erect_support",)) if found is not None else (),
        "may_offer": changes_books(request.user),
        "query": request.GET.urlencode(),
    }
    return render(request, "gardens/designer.html", context, status=422 if form.errors else 200)
