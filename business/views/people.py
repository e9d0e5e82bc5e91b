"""The business itself, and the people who work here."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from business.errors import Refusal
from business.forms.faults import take
from business.forms.office import ProfileForm, StaffForm
from business.queries.access import is_owner, staff_open_to
from business.queries.profile import our_profile, profile_is_stored
from business.services import second_factors, sessions
from business.services.profile import save_profile
from business.services.staff import add_staff, change_staff
from business.views.doors import door, office_only, proved_lately

owner_only = door(is_owner)


@owner_only
@proved_lately
def profile(request: HttpRequest) -> HttpResponse:
    """Who we are: printed on every paper."""
    form = ProfileForm(request.POST or None, instance=our_profile())
    if request.method == "POST" and form.is_valid():
        try:
            save_profile(**form.values())
        except Refusal as refusal:
            take(form, refusal)
        else:
            messages.success(request, "Your business is stored.")
            return redirect("business-profile")
    context = {"form": form, "is_stored": profile_is_stored()}
    return render(request, "business/profile.html", context, status=422 if form.errors else 200)


@office_only
def people(request: HttpRequest) -> HttpResponse:
    rows = staff_open_to(request.user).select_related("second_factor").order_by("-is_active", "name")
    return render(request, "business/people.html", {"people": rows, "may_change": is_owner(request.user)})


@owner_only
@proved_lately
def new_person(request: HttpRequest) -> HttpResponse:
    form = StaffForm(request.POST or None, initial={"role": "crew"})
    if request.method == "POST" and form.is_valid():
        try:
            person = add_staff(**form.values())
        except Refusal as refusal:
            take(form, refusal)
        else:
            messages.success(request, f"{person.name} is added.")
            return redirect("people")
    return render(request, "business/person.html", {"form": form}, status=422 if form.errors else 200)


@owner_only
@proved_lately
def person(request: HttpRequest, person_id: int) -> HttpResponse:
    found = get_object_or_404(staff_open_to(request.user).select_related("second_factor"), pk=person_id)
    form = StaffForm(request.POST) if request.method == "POST" else StaffForm.showing(found)
    if request.method == "POST" and form.is_valid():
        by: Any = request.user
        own = request.session.session_key if found == by else None
        try:
            changed = change_staff(staff=found, by=by, own_session=own, **form.values())
        except Refusal as refusal:
            take(form, refusal)
        else:
            if own and form.cleaned_data["password"]:
                stay_signed_in(request, changed)
            messages.success(request, f"{changed.name} is changed.")
            return redirect("people")
    context = {
        "form": form,
        "person": found,
        "sessions": [(row, sessions.device_words(row.device)) for row in sessions.sessions_of(found)],
        "factor_is_on": second_factors.is_on(found),
        "is_me": found == request.user,
    }
    return render(request, "business/person.html", context, status=422 if form.errors else 200)


def stay_signed_in(request: HttpRequest, staff: Any) -> None:
    """A new password makes sessions of the old one worthless; the one it was typed in goes on under a new name."""
    old = request.session.session_key
    update_session_auth_hash(request, staff)
    sessions.follow_key(old=old, new=request.session.session_key)


@owner_only
@proved_lately
@require_POST
def end_sessions_of(request: HttpRequest, person_id: int) -> HttpResponse:
    """Sign somebody out everywhere: a phone is lost."""
    found = get_object_or_404(staff_open_to(request.user), pk=person_id)
    ended = sessions.end_sessions(staff=found, but=request.session.session_key)
    words = f"{found.name} is signed out on {ended} device{'' if ended == 1 else 's'}."
    messages.success(request, words if ended else f"{found.name} was not signed in elsewhere.")
    return redirect("person", person_id=found.pk)


@owner_only
@proved_lately
@require_POST
def reset_factor_of(request: HttpRequest, person_id: int) -> HttpResponse:
    found = get_object_or_404(staff_open_to(request.user), pk=person_id)
    try:
        second_factors.reset(staff=found, by=request.user)  # type: ignore[arg-type]  # owners are staff
    except Refusal as refusal:
        messages.error(request, str(refusal.faults[0]))
    else:
        sessions.end_sessions(staff=found)
        messages.success(request, f"{found.name} signs in with the password alone until a new factor is set up.")
    return redirect("person", person_id=found.pk)
