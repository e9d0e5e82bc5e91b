"""The way in: the password, the code of the second factor, and the password once more before grave acts."""

from __future__ import annotations

import logging
from collections.abc import Callable
from datetime import timedelta
from math import ceil
from typing import Any
from urllib.parse import urlencode

from django.conf import settings
from django.contrib.auth.views import LoginView, redirect_to_login
from django.forms import Form
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render, resolve_url
from django.urls import reverse
from django.views.decorators.cache import never_cache

from business.forms.sign_in import CodeForm, ProofForm, SignInForm
from business.services import second_factors, sessions
from business.services.sign_in import note_failure, note_success, second_step_name, wait_before
from business.templatetags.face import door_of
from business.views.doors import for_setting_up
from business.views.requests import address_of, next_of, sign_in_of

log = logging.getLogger(__name__)


class SignIn(LoginView):
    template_name = "business/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """Whoever came half the way goes on from there."""
        if missing := sign_in_of(request).waiting_for:
            return redirect(_further(missing, next_of(request)))
        return super().dispatch(request, *args, **kwargs)

    def get_default_redirect_url(self) -> str:
        return home_of(self.request.user)

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        """Ask whether this name may try again before the slow look at the password."""
        wait = wait_before(username=request.POST.get("username", ""), address=address_of(request))
        if wait:
            context = {"form": SignInForm(request), "next": next_of(request)}
            return too_many_tries(request, self.template_name, wait, context)
        return super().post(request, *args, **kwargs)

    def form_valid(self, form: SignInForm) -> HttpResponse:  # type: ignore[override]
        staff: Any = form.get_user()
        note_success(username=self.request.POST["username"], address=address_of(self.request))
        log.info("sign-in of %s: the password is right", staff.pk)
        answer = super().form_valid(form)
        if second_factors.is_on(staff):
            return redirect(_further("code", next_of(self.request)))
        return answer

    def form_invalid(self, form: SignInForm) -> HttpResponse:  # type: ignore[override]
        note_failure(username=self.request.POST.get("username", ""), address=address_of(self.request))
        log.warning("sign-in refused")
        return self.render_to_response(self.get_context_data(form=form), status=422)


def home_of(user: Any) -> str:
    """Where somebody's day begins: the accountant's with the invoices."""
    return reverse("invoices") if door_of(user) == "books" else resolve_url(settings.LOGIN_REDIRECT_URL)


def _further(missing: str, wanted: str) -> str:
    address = reverse("second-step" if missing == "code" else "my-second-factor")
    return f"{address}?{urlencode({'next': wanted})}" if wanted else address


def too_many_tries(request: HttpRequest, template: str, wait: timedelta, context: dict[str, Any]) -> HttpResponse:
    """429, with the time to wait in words and for machines (RFC 6585, section 4)."""
    seconds = ceil(wait.total_seconds())
    answer = render(request, template, {**context, "wait_minutes": ceil(seconds / 60)}, status=429)
    answer["Retry-After"] = str(seconds)
    return answer


@never_cache
def second_step(request: HttpRequest) -> HttpResponse:
    """The code, after the password. Until it is right nothing else opens."""
    found = sign_in_of(request)
    if found.staff is None:
        return redirect_to_login(next_of(request))
    if found.waiting_for != "code":
        return redirect(next_of(request) or home_of(found.staff))

    def check(form: Form) -> bool:
        return second_factors.take_code(staff=found.staff, code=form.cleaned_data["code"])

    form = CodeForm(request.POST or None)
    answer = _proof(request, "business/second_step.html", form, check)
    if answer is not None:
        return answer
    sessions.renew_key(request.session)
    factor = second_factors.factor_of(found.staff)
    sessions.mark_proved(request.session, factor_id=factor.pk if factor else None)
    return redirect(next_of(request) or home_of(found.staff))


@for_setting_up
@never_cache
def prove(request: HttpRequest, staff: Any) -> HttpResponse:
    """The password once more."""

    def check(form: Form) -> bool:
        return bool(staff.check_password(form.cleaned_data["password"]))

    form = ProofForm(request.POST or None)
    answer = _proof(request, "business/prove.html", form, check)
    if answer is not None:
        return answer
    sessions.mark_proved(request.session)
    return redirect(next_of(request) or reverse("me"))


def _proof(request: HttpRequest, template: str, form: Form, check: Callable[[Form], bool]) -> HttpResponse | None:
    """The page that asks; None once the answer is right. Wrong answers make the next one wait."""
    staff = sign_in_of(request).staff
    name, address = second_step_name(staff), address_of(request)
    context: dict[str, Any] = {"form": form, "next": next_of(request), "staff": staff}
    if request.method != "POST":
        return render(request, template, context)
    if wait := wait_before(username=name, address=address):
        return too_many_tries(request, template, wait, context | {"form": type(form)()})
    if form.is_valid():
        if check(form):
            note_success(username=name, address=address)
            return None
        note_failure(username=name, address=address)
        log.warning("proof refused for %s", staff.pk)
        form.add_error(next(iter(form.fields)), "Is not right, or was used before. Try again.")
    return render(request, template, context, status=422)
