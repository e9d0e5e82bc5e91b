"""Trees: the list, one tree, and writing down facts about it."""

from __future__ import annotations

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from business import clock
from business.errors import Refusal
from business.views.doors import office_only
from gardens.filters import TreeFilter
from gardens.forms.records import RecordForm
from gardens.queries.access import records_open_to, trees_open_to
from gardens.queries.photos import photos_of_tree
from gardens.services.pictures import tree_page
from gardens.services.records import withdraw_record, write_record
from gardens.services.side_wood import recordable_limbs
from gardens.services.standing import tree_state

TREES_ON_A_PAGE = 30
PHOTOS_ON_A_PAGE = 24


@office_only
def tree_list(request: HttpRequest) -> HttpResponse:
    trees = trees_open_to(request.user).filter(removed_on=None).order_by("site__name", "support", "position_mm")
    filtered = TreeFilter(request.GET, queryset=trees)
    page = Paginator(filtered.qs, TREES_ON_A_PAGE).get_page(request.GET.get("page"))
    return render(request, "gardens/trees.html", {"filter": filtered, "page": page})


@office_only
def tree(request: HttpRequest, tree_id: int) -> HttpResponse:
    return show_tree(request, tree_id)


def show_tree(request: HttpRequest, tree_id: int, *, form: RecordForm | None = None) -> HttpResponse:
    found = get_object_or_404(trees_open_to(request.user), pk=tree_id)
    on = clock.today(found.site.zone)
    page = tree_page(found, on)
    context = {
        "tree": found,
        "today": on,
        "page": page,
        "records": records_open_to(request.user).filter(tree=found).order_by("-on", "-pk")[:60],
        "photos": photos_of_tree(request.user, found.pk)[:PHOTOS_ON_A_PAGE],
        "form": form
        or RecordForm(initial={"on": on, "limb": "whole"}, limbs=recordable_limbs(found, page.outlook.state, on)),
    }
    return render(request, "gardens/tree.html", context, status=422 if form is not None and form.errors else 200)


@office_only
@require_POST
def record(request: HttpRequest, tree_id: int) -> HttpResponse:
    found = get_object_or_404(trees_open_to(request.user), pk=tree_id)
    on = clock.today(found.site.zone)
    form = RecordForm(request.POST, limbs=recordable_limbs(found, tree_state(found, on), on))
    if form.is_valid():
        try:
            write_record(tree=found, fact=form.fact(), by=request.user)  # type: ignore[arg-type] # staff only
        except Refusal as refusal:
            form.take(refusal)
        else:
            messages.success(request, "Written down.")
            return redirect("tree", tree_id=found.pk)
    return show_tree(request, tree_id, form=form)


@office_only
@require_POST
def withdraw(request: HttpRequest, record_id: int) -> HttpResponse:
    found = get_object_or_404(records_open_to(request.user).filter(tree__isnull=False), pk=record_id)
    try:
        withdraw_record(record=found)
    except Refusal as refusal:
        messages.error(request, str(refusal.faults[0]))
    return redirect(f"/trees/{found.tree_id}/#records")
