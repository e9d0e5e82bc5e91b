"""Sign-in, the business itself, and the people who work here."""

from __future__ import annotations

from math import ceil
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.views import LoginView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from business.errors import Refusal
from business.forms.faults import take
from business.forms.office import ProfileForm, SignInForm, StaffForm
from business.queries.access import is_owner, staff_open_to
from business.queries.profile import our_profile, profile_is_stored
from business.services.profile import save_profile
from business.services.sign_in import note_failure, note_success, wait_before
from business.services.staff import add_staff, change_staff
from business.views.doors import door, office_only

owner_only = door(is_owner)


class SignIn(LoginView):
    template_name = "business/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        """Ask whether this name may try again before the slow look at the password."""
        wait = wait_before(username=request.POST.get("username", ""), address=address_of(request))
        if wait:
            context = {"form": SignInForm(request), "wait_minutes": ceil(wait.total_seconds() / 60), "next": ""}
            answer = render(request, self.template_name, context, status=429)
            answer["Retry-After"] = str(ceil(wait.total_seconds()))
            return answer
        return super().post(request, *args, **kwargs)

    def form_valid(self, form: SignInForm) -> HttpResponse:  # type: ignore[override]
        note_success(username=self.request.POST["username"], address=address_of(self.request))
        return super().form_valid(form)

    def form_invalid(self, form: SignInForm) -> HttpResponse:  # type: ignore[override]
        note_failure(username=self.request.POST.get("username", ""), address=address_of(self.request))
        return self.render_to_response(self.get_context_data(form=form), status=422)


def address_of(request: HttpRequest) -> str:
    """Where a request comes from. Behind our proxy it is the last entry, the one the proxy itself wrote."""
    if settings.BEHIND_PROXY and (forwarded := request.headers.get("X-Forwarded-For")):
        return forwarded.rsplit(",", 1)[-1].strip()[:45]
    return str(request.META.get("REMOTE_ADDR", ""))[:45]


@owner_only
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
    rows = staff_open_to(request.user).order_by("-is_active", "name")
    return render(request, "business/people.html", {"people": rows, "may_change": is_owner(request.user)})


@owner_only
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
def person(request: HttpRequest, person_id: int) -> HttpResponse:
    found = get_object_or_404(staff_open_to(request.user), pk=person_id)
    form = StaffForm(request.POST) if request.method == "POST" else StaffForm.showing(found)
    if request.method == "POST" and form.is_valid():
        try:
            change_staff(staff=found, by=request.user, **form.values())  # type: ignore[arg-type]  # owners are staff
        except Refusal as refusal:
            take(form, refusal)
        else:
            messages.success(request, f"{found.name} is changed.")
            return redirect("people")
    return render(request, "business/person.html", {"form": form, "person": found}, status=422 if form.errors else 200)
