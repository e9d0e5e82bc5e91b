"""The rules of the trade: browse and search them, see where they apply, lay our own over them, go back."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.paginator import Page, Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from business import clock
from business.errors import Refusal
from business.queries.profile import our_profile
from business.views.doors import office_and_field, office_only
from gardens.forms.rules import RuleChangeForm
from gardens.knowledge import search_rules
from gardens.queries.access import keeps_gardens
from gardens.queries.rules import living_trees_in_form, living_trees_of, standing_overrides, tree_counts
from gardens.services.rule_pages import (
    changes_of,
    form_record,
    lines_of,
    rule_counts,
    rule_page,
    species_page,
    trees_of_rule,
)
from gardens.services.rules import end_overrides, house_rules, override_rule
from gardens.services.words import FORM_WORDS

RULES_ON_A_PAGE = 25
TREES_ON_A_PAGE = 40
LONGEST_SEARCH = 200


@office_only
def index(request: HttpRequest) -> HttpResponse:
    house = house_rules()
    today = clock.today(our_profile().time_zone)
    words = request.GET.get("words", "")[:LONGEST_SEARCH].strip()
    context: dict[str, object] = {"words": words, "unfit": house.unfit}
    if words:
        page = Paginator(search_rules(house.knowledge, words), RULES_ON_A_PAGE).get_page(request.GET.get("page"))
        context |= {"page": page, "lines": lines_of(page.object_list, house.knowledge, today)}
        return render(request, "gardens/rules.html", context)
    trees, in_form = tree_counts()
    rules = rule_counts(house.knowledge)
    species = sorted(house.knowledge.species.values(), key=lambda one: (-trees[one.id], one.name))
    context |= {
        "species": [(one, rules[one.id], trees[one.id]) for one in species],
        "forms": sorted(
            ((key, words, in_form[key]) for key, words in FORM_WORDS.items()), key=lambda row: (-row[2], row[1])
        ),
        "overrides": standing_overrides(),
    }
    return render(request, "gardens/rules.html", context)


def _trees_for(request: HttpRequest, trees: Any) -> Page[Any]:
    """A page of trees for the office; a crew reads the rules, not whose gardens they hold in."""
    shown = trees if keeps_gardens(request.user) else []
    return Paginator(shown, TREES_ON_A_PAGE).get_page(request.GET.get("page"))


@office_and_field
def species(request: HttpRequest, species_id: str) -> HttpResponse:
    knowledge = house_rules().knowledge
    if species_id not in knowledge.species:
        raise Http404("no such species")
    context = {
        "page": species_page(knowledge, species_id, clock.today(our_profile().time_zone)),
        "trees": _trees_for(request, living_trees_of([species_id])),
    }
    return render(request, "gardens/rules_species.html", context)


@office_and_field
def form(request: HttpRequest, form_id: str) -> HttpResponse:
    if form_id not in FORM_WORDS:
        raise Http404("no such form")
    context = {
        "form": form_record(form_id),
        "trees": _trees_for(request, living_trees_in_form(form_id)),
    }
    return render(request, "gardens/rules_form.html", context)


@office_and_field
def rule(request: HttpRequest, origin: str, rule_id: str) -> HttpResponse:
    return show_rule(request, f"{origin}/{rule_id}")


def show_rule(request: HttpRequest, name: str, *, form: RuleChangeForm | None = None) -> HttpResponse:
    house = house_rules()
    try:
        page = rule_page(house, name, clock.today(our_profile().time_zone))
    except KeyError:
        raise Http404("no such rule") from None
    trees = trees_of_rule(house, name) if keeps_gardens(request.user) else []
    context = {"rule": page, "trees": _trees_for(request, trees), "form": form or RuleChangeForm(page)}
    return render(request, "gardens/rule.html", context, status=422 if form is not None and form.errors else 200)


@office_only
@require_POST
def change(request: HttpRequest, origin: str, rule_id: str) -> HttpResponse:
    name = f"{origin}/{rule_id}"
    try:
        page = rule_page(house_rules(), name, clock.today(our_profile().time_zone))
    except KeyError:
        raise Http404("no such rule") from None
    form = RuleChangeForm(page, request.POST)
    if form.is_valid():
        changes, faults = changes_of(page, form.written())
        for key, fault in faults.items():
            form.add_error(key, f"{fault[:1].upper()}{fault[1:]}.")
        if not faults:
            try:
                override_rule(
                    rule=name,
                    changes=changes,
                    reason=form.cleaned_data["reason"],
                    by=request.user,  # type: ignore[arg-type] # staff only
                    seen=form.seen_rows(),
                )
            except Refusal as refusal:
                form.take(refusal)
            else:
                messages.success(
                    request, "Our own rule holds from now on. Work the season out again to see what moves."
                )
                return redirect("rule", origin=origin, rule_id=rule_id)
    return show_rule(request, name, form=form)


@office_only
@require_POST
def go_back(request: HttpRequest, origin: str, rule_id: str) -> HttpResponse:
    key = request.POST.get("key", "")
    try:
        end_overrides(
            rule=f"{origin}/{rule_id}",
            by=request.user,  # type: ignore[arg-type] # staff only
            keys=[key] if key else None,
        )
    except Refusal as refusal:
        for fault in refusal.faults:
            messages.error(request, str(fault))
    else:
        messages.success(request, "The rule of the book holds again.")
    return redirect("rule", origin=origin, rule_id=rule_id)
