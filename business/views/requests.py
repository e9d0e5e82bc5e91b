"""What a request says about where it comes from and who is behind it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from django.conf import settings
from django.contrib.auth.middleware import get_user
from django.contrib.auth.models import AnonymousUser
from django.contrib.auth.signals import user_logged_in, user_logged_out
from django.http import HttpRequest
from django.utils.http import url_has_allowed_host_and_scheme

from business import clock
from business.queries.access import Anyone, staff_behind
from business.services import second_factors, sessions


def address_of(request: HttpRequest) -> str:
    """Where a request comes from. Behind our proxy it is the last entry, the one the proxy itself wrote."""
    if settings.BEHIND_PROXY and (forwarded := request.headers.get("X-Forwarded-For")):
        return forwarded.rsplit(",", 1)[-1].strip()[:45]
    return str(request.META.get("REMOTE_ADDR", ""))[:45]


def next_of(request: HttpRequest) -> str:
    """Where they wanted to go, if that is a page of ours; empty otherwise."""
    wanted = request.POST.get("next", request.GET.get("next", ""))
    ours = url_has_allowed_host_and_scheme(
        wanted, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return wanted if ours else ""


@dataclass(frozen=True)
class SignIn:
    """How far somebody has come: ``user`` is who they are to every page; ``waiting_for`` what is still missing."""

    user: Anyone
    staff: Any = None
    waiting_for: Literal["", "code", "factor"] = ""


def sign_in_of(request: HttpRequest) -> SignIn:
    """Looked up once for each request, and only if somebody asks.

    Whoever has not given their code, or needs a second factor and has none, is a stranger to every page: what a page
    does not know of, it cannot forget to check.
    """
    known: SignIn | None = getattr(request, "_sign_in", None)
    if known is None:
        known = _look_up(request)
        request._sign_in = known  # type: ignore[attr-defined]
    return known


def _look_up(request: HttpRequest) -> SignIn:
    staff = staff_behind(get_user(request))
    if staff is None:
        return SignIn(AnonymousUser())
    if sessions.is_over(request.session, staff):
        sessions.forget_session(request.session.session_key)
        request.session.flush()
        return SignIn(AnonymousUser())
    sessions.note_use(session=request.session, address=address_of(request))
    factor = second_factors.factor_of(staff)
    if factor is not None and factor.is_on and request.session.get(sessions.FACTOR) != factor.pk:
        return SignIn(AnonymousUser(), staff, "code")
    if second_factors.must_have_one_now(staff, clock.now().date()):
        return SignIn(AnonymousUser(), staff, "factor")
    return SignIn(staff, staff)


def remember_sign_in(sender: object, request: HttpRequest, user: Any, **_: object) -> None:
    """A right password opens a session, whatever page it was typed on."""
    device = request.headers.get("User-Agent", "")
    sessions.open_session(session=request.session, staff=user, device=device, address=address_of(request))


def forget_sign_in(sender: object, request: HttpRequest, user: Any, **_: object) -> None:
    sessions.forget_session(request.session.session_key)


def listen() -> None:
    """Called once the program is loaded."""
    user_logged_in.connect(remember_sign_in, dispatch_uid="remember sign-in")
    user_logged_out.connect(forget_sign_in, dispatch_uid="forget sign-in")
