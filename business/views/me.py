"""What everybody sees and changes about their own signing in: devices, password, second factor."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.safestring import mark_safe
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from business import clock
from business.documents.qr_code import qr_code
from business.errors import Refusal
from business.forms.faults import take
from business.forms.sign_in import FirstCodeForm, NewPasswordForm
from business.services import second_factors, sessions
from business.services.sign_in import note_failure, note_success, second_step_name, wait_before
from business.services.staff import change_own_password
from business.views.doors import everybody_here, for_setting_up, proved_lately
from business.views.people import stay_signed_in
from business.views.requests import address_of, sign_in_of
from business.views.sign_in import too_many_tries


@everybody_here
@never_cache
@require_safe
def me(request: HttpRequest) -> HttpResponse:
    staff = sign_in_of(request).staff
    here = request.session.session_key
    context = {
        "staff": staff,
        "sessions": [
            (row, sessions.device_words(row.device), row.session_key == here) for row in sessions.sessions_of(staff)
        ],
        "factor_is_on": second_factors.is_on(staff),
        "codes_left": second_factors.codes_left(staff),
        "due_on": staff.second_factor_due_on,
    }
    return render(request, "business/me.html", context)


@everybody_here
@require_POST
def end_session(request: HttpRequest, session_id: int) -> HttpResponse:
    if not sessions.end_session(staff=sign_in_of(request).staff, number=session_id):
        raise Http404("no such session of theirs")
    messages.success(request, "That device is signed out.")
    return redirect("me")


@everybody_here
@require_POST
def end_others(request: HttpRequest) -> HttpResponse:
    ended = sessions.end_sessions(staff=sign_in_of(request).staff, but=request.session.session_key)
    messages.success(request, f"{ended} other device{' is' if ended == 1 else 's are'} signed out.")
    return redirect("me")


@everybody_here
@never_cache
def password(request: HttpRequest) -> HttpResponse:
    staff = sign_in_of(request).staff
    form = NewPasswordForm(request.POST or None)
    name, address = second_step_name(staff), address_of(request)
    if request.method == "POST":
        if wait := wait_before(username=name, address=address):
            return too_many_tries(request, "business/password.html", wait, {"form": NewPasswordForm()})
        if form.is_valid():
            old, new = form.cleaned_data["present_password"], form.cleaned_data["new_password"]
            try:
                changed = change_own_password(staff=staff, old=old, new=new, session_key=request.session.session_key)
            except Refusal as refusal:
                if not staff.check_password(old):
                    note_failure(username=name, address=address)
                take(form, refusal)
            else:
                stay_signed_in(request, changed)
                messages.success(request, "The new password holds. Every other device is signed out.")
                return redirect("me")
    status = 422 if request.method == "POST" else 200
    return render(request, "business/password.html", {"form": form}, status=status)


@for_setting_up
@proved_lately
@never_cache
def second_factor(request: HttpRequest, staff: Any) -> HttpResponse:
    """Set up, or look after, the second factor. GET shows what stands; POST begins, or confirms with a code."""
    if request.method == "POST" and "begin" in request.POST:
        try:
            second_factors.begin(staff=staff)
        except Refusal as refusal:
            messages.error(request, str(refusal.faults[0]))
        return redirect(request.get_full_path())
    form = FirstCodeForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            codes = second_factors.confirm(staff=staff, code=form.cleaned_data["code"])
        except Refusal as refusal:
            take(form, refusal)
        else:
            return _switched_on(request, staff, codes)
    return render(
        request,
        "business/second_factor.html",
        _set_up(request, staff) | {"form": form},
        status=422 if form.errors else 200,
    )


def _set_up(request: HttpRequest, staff: Any) -> dict[str, Any]:
    factor = second_factors.factor_of(staff)
    context: dict[str, Any] = {
        "staff": staff,
        "is_on": second_factors.is_on(staff),
        "codes_left": second_factors.codes_left(staff),
        "is_locked": bool(sign_in_of(request).waiting_for),
        "due_on": staff.second_factor_due_on,
        "may_switch_off": staff.second_factor_due_on is None,
    }
    if factor is not None and not factor.is_on:
        letters = second_factors.key_letters(factor)
        picture = qr_code(second_factors.app_address(factor), "The key as a square code for the camera of the app")
        context["picture"] = mark_safe(picture)  # noqa: S308 - our own drawing
        context["key_groups"] = [letters[start : start + 4] for start in range(0, len(letters), 4)]
    return context


def _switched_on(request: HttpRequest, staff: Any, codes: list[str]) -> HttpResponse:
    """The codes are in this answer and nowhere else."""
    sessions.renew_key(request.session)
    factor = second_factors.factor_of(staff)
    sessions.mark_proved(request.session, factor_id=factor.pk if factor else None)
    return _show_codes(request, codes)


def _show_codes(request: HttpRequest, codes: list[str]) -> HttpResponse:
    context = {"codes": codes, "made_on": clock.now().date()}
    answer = render(request, "business/recovery_codes.html", context)
    answer["Cache-Control"] = "no-store"
    return answer


@everybody_here
@proved_lately
@require_POST
def new_codes(request: HttpRequest) -> HttpResponse:
    try:
        codes = second_factors.renew_codes(staff=sign_in_of(request).staff)
    except Refusal as refusal:
        messages.error(request, str(refusal.faults[0]))
        return redirect("my-second-factor")
    return _show_codes(request, codes)


@everybody_here
@proved_lately
@require_POST
def switch_off(request: HttpRequest) -> HttpResponse:
    """Asks for a code, so that an open screen alone does not do."""
    staff = sign_in_of(request).staff
    name, address = second_step_name(staff), address_of(request)
    if wait := wait_before(username=name, address=address):
        form = FirstCodeForm()
        return too_many_tries(request, "business/second_factor.html", wait, _set_up(request, staff) | {"form": form})
    if not second_factors.take_code(staff=staff, code=request.POST.get("code", "")):
        note_failure(username=name, address=address)
        messages.error(request, "That code is not right, or was used before. The second factor stays on.")
        return redirect("my-second-factor")
    note_success(username=name, address=address)
    try:
        second_factors.switch_off(staff=staff)
    except Refusal as refusal:
        messages.error(request, str(refusal.faults[0]))
    else:
        messages.success(request, "The second factor is off. The password alone signs you in.")
    return redirect("my-second-factor")
