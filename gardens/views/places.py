"""Add and change gardens, supports and trees."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from business import clock
from business.errors import Refusal
from business.forms.faults import take
from business.queries.access import clients_open_to
from business.queries.profile import our_profile
from business.views.doors import office_only
from gardens.forms.places import PlaceForm, SiteForm, SupportForm, TakenOutForm, TreeForm
from gardens.queries.access import sites_open_to, supports_open_to, trees_open_to
from gardens.queries.our_units import our_units
from gardens.services.places import Change, save_site, save_support, save_tree, take_out, version_of


def _change(form: PlaceForm) -> Change:
    return Change(values=form.values(), seen=form.cleaned_data["seen"])


def _page(request: HttpRequest, form: PlaceForm, **more: Any) -> HttpResponse:
    return render(request, "gardens/place_form.html", {"form": form, **more}, status=422 if form.errors else 200)


@office_only
def new_site(request: HttpRequest, client_id: int) -> HttpResponse:
    client = get_object_or_404(clients_open_to(request.user), pk=client_id)
    ours = our_profile()
    usual = {
        "name": client.name,
        "address": client.address,
        "phone": client.phone,
        "time_zone": ours.zone,
        "days": list("01234"),
    }
    form = SiteForm(request.POST) if request.method == "POST" else SiteForm(initial=usual)
    if request.method == "POST" and form.is_valid():
        try:
            made = save_site(client=client, change=_change(form))
        except Refusal as refusal:
            take(form, refusal)
        else:
            messages.success(request, f"{made.name} is one of our gardens now. Put up its walls and wires next.")
            return redirect("site", site_id=made.pk)
    trail = [(reverse("clients"), "Clients"), (reverse("client", args=[client.pk]), client.name)]
    return _page(request, form, heading=f"New garden of {client.name}", trail=trail)


@office_only
def edit_site(request: HttpRequest, site_id: int) -> HttpResponse:
    site = get_object_or_404(sites_open_to(request.user), pk=site_id)
    shown = SiteForm(initial=SiteForm.initial_of(site, version_of(site)))
    form = SiteForm(request.POST) if request.method == "POST" else shown
    if request.method == "POST" and form.is_valid():
        try:
            save_site(client=site.client, change=_change(form), site=site)
        except Refusal as refusal:
            take(form, refusal)
        else:
            messages.success(request, "The garden is stored.")
            return redirect("site", site_id=site.pk)
    trail = [(reverse("sites"), "Sites"), (reverse("site", args=[site.pk]), site.name)]
    return _page(request, form, heading=f"Change {site.name}", trail=trail)


@office_only
def new_support(request: HttpRequest, site_id: int) -> HttpResponse:
    site = get_object_or_404(sites_open_to(request.user), pk=site_id)
    form = SupportForm(request.POST or None, units=our_units())
    if request.method == "POST" and form.is_valid():
        try:
            made = save_support(site=site, change=_change(form))
        except Refusal as refusal:
            take(form, refusal)
        else:
            messages.success(request, f"{made.name} stands in {site.name}. Now plant it, or design a planting.")
            return redirect("support", support_id=made.pk)
    trail = [(reverse("site", args=[site.pk]), site.name)]
    return _page(request, form, heading=f"New wall, fence or row in {site.name}", trail=trail)


@office_only
def edit_support(request: HttpRequest, support_id: int) -> HttpResponse:
    support = get_object_or_404(supports_open_to(request.user), pk=support_id)
    shown = SupportForm(initial=SupportForm.initial_of(support, version_of(support)), units=our_units())
    form = SupportForm(request.POST, units=our_units()) if request.method == "POST" else shown
    if request.method == "POST" and form.is_valid():
        try:
            save_support(site=support.site, change=_change(form), support=support)
        except Refusal as refusal:
            take(form, refusal)
        else:
            messages.success(request, "The support is stored.")
            return redirect("support", support_id=support.pk)
    trail = [
        (reverse("site", args=[support.site_id]), support.site.name),
        (reverse("support", args=[support.pk]), support.name),
    ]
    return _page(request, form, heading=f"Change {support.name}", trail=trail)


@office_only
def new_tree(request: HttpRequest, support_id: int) -> HttpResponse:
    support = get_object_or_404(supports_open_to(request.user), pk=support_id)
    usual = {"planted_on": clock.today(support.site.zone), "start": "whip"}
    form = TreeForm(request.POST, units=our_units()) if request.method == "POST" else TreeForm(initial=usual)
    if request.method == "POST" and form.is_valid():
        try:
            made = save_tree(support=support, change=_change(form))
        except Refusal as refusal:
            take(form, refusal)
        else:
            messages.success(request, f"{made.label} stands on {support.name}.")
            return redirect("tree", tree_id=made.pk)
    trail = [
        (reverse("site", args=[support.site_id]), support.site.name),
        (reverse("support", args=[support.pk]), support.name),
    ]
    return _page(request, form, heading=f"New tree on {support.name}", trail=trail)


@office_only
def edit_tree(request: HttpRequest, tree_id: int) -> HttpResponse:
    return show_tree_form(request, tree_id)


def show_tree_form(request: HttpRequest, tree_id: int, *, taken_out: TakenOutForm | None = None) -> HttpResponse:
    tree = get_object_or_404(trees_open_to(request.user), pk=tree_id)
    shown = TreeForm(initial=TreeForm.initial_of(tree, version_of(tree)), units=our_units())
    is_sent = request.method == "POST" and taken_out is None
    form = TreeForm(request.POST, units=our_units()) if is_sent else shown
    if is_sent and form.is_valid():
        try:
            save_tree(support=tree.support, change=_change(form), tree=tree)
        except Refusal as refusal:
            take(form, refusal)
        else:
            messages.success(request, "The tree is stored; what is due is reckoned anew from it.")
            return redirect("tree", tree_id=tree.pk)
    trail = [
        (reverse("site", args=[tree.site_id]), tree.site.name),
        (reverse("support", args=[tree.support_id]), tree.support.name),
        (reverse("tree", args=[tree.pk]), tree.label),
    ]
    today = clock.today(tree.site.zone)
    context = {
        "form": form,
        "heading": f"Change {tree.label}",
        "trail": trail,
        "tree": tree,
        "taken_out": taken_out or TakenOutForm(initial={"removed_on": today}),
    }
    is_wrong = form.errors or (taken_out is not None and taken_out.errors)
    return render(request, "gardens/place_form.html", context, status=422 if is_wrong else 200)


@office_only
@require_POST
def take_tree_out(request: HttpRequest, tree_id: int) -> HttpResponse:
    tree = get_object_or_404(trees_open_to(request.user), pk=tree_id)
    form = TakenOutForm(request.POST)
    if form.is_valid():
        try:
            take_out(tree=tree, on=form.cleaned_data["removed_on"], why=form.cleaned_data["why"])
        except Refusal as refusal:
            take(form, refusal)
        else:
            messages.success(request, f"{tree.label} is taken out; its records are kept.")
            return redirect("support", support_id=tree.support_id)
    return show_tree_form(request, tree_id, taken_out=form)
