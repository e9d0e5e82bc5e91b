"""One support: drawn with its dimensions, checked, what to buy, what care it is due."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from business import clock
from business.errors import Refusal
from business.queries.profile import our_profile
from business.views.doors import office_only
from gardens.forms.supports import BuildForm, SlackForm, initial_of
from gardens.queries.access import supports_open_to
from gardens.queries.trees import trees_on_support
from gardens.services.support_records import SupportFact, write_support_record
from gardens.services.supports import save_build, support_page
from gardens.units import Units


@office_only
def support(request: HttpRequest, support_id: int) -> HttpResponse:
    return show_support(request, support_id)


def show_support(
    request: HttpRequest, support_id: int, *, build: BuildForm | None = None, slack: SlackForm | None = None
) -> HttpResponse:
    found = get_object_or_404(supports_open_to(request.user), pk=support_id)
    on = clock.today(found.site.zone)
    units: Units = "imperial" if our_profile().units == "imperial" else "metric"
    trees = list(trees_on_support(found.pk))
    is_wrong = any(form is not None and form.errors for form in (build, slack))
    context = {
        "support": found,
        "trees": trees,
        "today": on,
        "page": support_page(found, trees, on, units),
        "build_form": build or BuildForm(initial={"built_on": found.built_on, **initial_of(found.build)}),
        "slack_form": slack or SlackForm(initial={"on": on, "wire": 1}),
    }
    return render(request, "gardens/support.html", context, status=422 if is_wrong else 200)


@office_only
@require_POST
def build(request: HttpRequest, support_id: int) -> HttpResponse:
    found = get_object_or_404(supports_open_to(request.user), pk=support_id)
    form = BuildForm(request.POST)
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
    found = get_object_or_404(supports_open_to(request.user), pk=support_id)
    form = SlackForm(request.POST)
    if form.is_valid():
        said = form.cleaned_data
        fact = SupportFact(
            on=said["on"], kind="measured", what="sag", part=f"wire:{said['wire']}", value=said["sag_mm"]
        )
        try:
            write_support_record(support=found, fact=fact, by=request.user)  # type: ignore[arg-type] # staff only
        except Refusal as refusal:
            for fault in refusal.faults:
                form.add_error(None, str(fault))
        else:
            messages.success(request, "Written down; the care below reckons with it.")
            return redirect("support", support_id=found.pk)
    return show_support(request, support_id, slack=form)
