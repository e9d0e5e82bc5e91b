"""A second proof beside the password: codes from an app (TOTP, RFC 6238), and codes on paper for the day it is lost.

    begin ──► a key nobody has proved yet ──► confirm (a right code) ──► on ──► switch_off, or reset by the owner
                                                     └── ten recovery codes, shown once, kept as hashes

A code counts once: the time step it belongs to is written down, and no code of that step or an earlier one is taken
again (RFC 6238, section 5.2). The step before and the one after the present are taken too, for clocks that differ and
people who type slowly.
"""

from __future__ import annotations

import base64
import secrets
from datetime import date, timedelta
from urllib.parse import quote, urlencode

from django.contrib.auth.hashers import check_password, make_password
from django.db import transaction
from django.utils.crypto import constant_time_compare
from django_otp.oath import hotp

from business import clock
from business.errors import AlreadyDone, BadInput, Fault, NotAllowed
from business.models import BusinessProfile, RecoveryCode, SecondFactor, Staff
from business.queries.profile import our_profile
from business.services.audit import note

STEP_SECONDS, DIGITS, KEY_BYTES = 30, 6, 20
"""What every app understands (RFC 6238, section 4; RFC 4226, section 4, for the length of the key)."""
STEPS_AROUND = 1

RECOVERY_CODES = 10
LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"
"""Nothing that is read as something else: no I, no O, no 1, no 0."""
GROUP = 4


def factor_of(staff: Staff) -> SecondFactor | None:
    """Their factor, on or only begun; a query unless it was fetched with the person."""
    return getattr(staff, "second_factor", None)


def is_on(staff: Staff) -> bool:
    factor = factor_of(staff)
    return factor is not None and factor.is_on


def must_have_one_now(staff: Staff, today: date) -> bool:
    """Whether the business wants one of them and the days to set it up are over."""
    return staff.second_factor_due_on is not None and staff.second_factor_due_on <= today and not is_on(staff)


@transaction.atomic
def begin(*, staff: Staff) -> SecondFactor:
    """A fresh key in place of one that was never proved.

    Raises:
        AlreadyDone: theirs is on.
    """
    factor = SecondFactor.objects.select_for_update().filter(staff=staff).first()
    if factor is not None and factor.is_on:
        raise AlreadyDone([Fault("second factor", "is on", "switch it off first")])
    if factor is not None:
        factor.delete()
    return SecondFactor.objects.create(staff=staff, key=secrets.token_hex(KEY_BYTES), made_at=clock.now())


@transaction.atomic
def confirm(*, staff: Staff, code: str) -> list[str]:
    """The app shows the right code, so the factor is on; the recovery codes come back, this once.

    Raises:
        AlreadyDone: it is on.
        BadInput: nothing was begun, or the code is not the one of now.
    """
    factor = SecondFactor.objects.select_for_update().filter(staff=staff).first()
    if factor is None:
        raise BadInput([Fault("code", "belongs to no key", "begin again")])
    if factor.is_on:
        raise AlreadyDone([Fault("second factor", "is on", "switch it off first")])
    if not _take_app_code(factor, code):
        raise BadInput([Fault("code", "is not the one of now", "type the six digits the app shows at this moment")])
    factor.confirmed_at = clock.now()
    factor.save(update_fields=["confirmed_at"])
    note("second factor on", f"person:{staff.pk}", after={"second_factor": "on"}, by=staff)
    return _write_codes(factor)


@transaction.atomic
def take_code(*, staff: Staff, code: str) -> bool:
    """Whether this is a code of theirs that was not used before; now it is used."""
    factor = SecondFactor.objects.select_for_update().filter(staff=staff, confirmed_at__isnull=False).first()
    if factor is None:
        return False
    typed = "".join(code.split()).replace("-", "").upper()
    if typed.isdecimal() and len(typed) == DIGITS:
        return _take_app_code(factor, typed)
    return _take_recovery_code(factor, typed)


@transaction.atomic
def renew_codes(*, staff: Staff) -> list[str]:
    """Ten new codes; the old ones stop working.

    Raises:
        BadInput: there is no factor that is on.
    """
    factor = SecondFactor.objects.select_for_update().filter(staff=staff, confirmed_at__isnull=False).first()
    if factor is None:
        raise BadInput([Fault("second factor", "is not on", "switch it on first")])
    factor.recovery_codes.all().delete()
    note("recovery codes renewed", f"person:{staff.pk}", after={"codes": RECOVERY_CODES}, by=staff)
    return _write_codes(factor)


def codes_left(staff: Staff) -> int:
    return RecoveryCode.objects.filter(factor__staff=staff, used_at=None).count()


@transaction.atomic
def switch_off(*, staff: Staff) -> None:
    """By themselves; the page has asked for the password and a code before.

    Raises:
        NotAllowed: the business wants them to have one.
    """
    if _is_wanted(staff.role, our_profile()):
        raise NotAllowed([Fault("second factor", "is wanted by the business", "keep it, or ask the owner")])
    if SecondFactor.objects.filter(staff=staff).delete()[0]:
        note("second factor off", f"person:{staff.pk}", before={"second_factor": "on"}, by=staff)


@transaction.atomic
def reset(*, staff: Staff, by: Staff) -> None:
    """The owner takes somebody's factor away whose app and codes are lost; the days to set one up begin anew.

    Raises:
        BadInput: they have none.
        NotAllowed: somebody else than an owner, or it is their own.
    """
    if by.role != Staff.Role.OWNER or by.pk == staff.pk:
        raise NotAllowed([Fault("second factor", "is reset by another owner", "ask one, or use a recovery code")])
    if not SecondFactor.objects.filter(staff=staff).delete()[0]:
        raise BadInput([Fault("second factor", "is not there", "nothing has to be reset")])
    staff = Staff.objects.select_for_update().get(pk=staff.pk)
    staff.second_factor_due_on = due_on(staff.role)
    staff.save(update_fields=["second_factor_due_on"])
    note("second factor reset", f"person:{staff.pk}", before={"second_factor": "on"}, by=by)


def due_on(role: str, profile: BusinessProfile | None = None) -> date | None:
    """The day from which somebody of this role needs one, if told today; None: they may choose."""
    profile = profile or our_profile()
    if not _is_wanted(role, profile):
        return None
    return clock.today(profile.time_zone) + timedelta(days=profile.second_factor_grace_days)


def follow_policy(profile: BusinessProfile) -> int:
    """Give everybody the day that the business's habit means for them; a day already given stays. How many changed."""
    if not profile.needs_second_factor:
        return Staff.objects.exclude(second_factor_due_on=None).update(second_factor_due_on=None)
    wanted = Staff.objects.filter(role__in=Staff.ROLES_THAT_MAY_NEED_A_SECOND_FACTOR, second_factor_due_on=None)
    return wanted.update(second_factor_due_on=due_on(Staff.Role.OWNER, profile))


def app_address(factor: SecondFactor) -> str:
    """What the picture says to the app: an ``otpauth`` address with key, name and issuer."""
    issuer = our_profile().name
    label = quote(f"{issuer}:{factor.staff.username}")
    said = {"secret": key_letters(factor), "issuer": issuer, "digits": DIGITS, "period": STEP_SECONDS}
    return f"otpauth://totp/{label}?{urlencode(said, quote_via=quote)}"


def key_letters(factor: SecondFactor) -> str:
    """The key as apps take it: base 32 (RFC 4648, section 6)."""
    return base64.b32encode(bytes.fromhex(factor.key)).decode()


def _is_wanted(role: str, profile: BusinessProfile) -> bool:
    return profile.needs_second_factor and role in Staff.ROLES_THAT_MAY_NEED_A_SECOND_FACTOR


def _take_app_code(factor: SecondFactor, code: str) -> bool:
    typed = "".join(code.split())
    present = int(clock.now().timestamp()) // STEP_SECONDS
    key = bytes.fromhex(factor.key)
    for step in range(present - STEPS_AROUND, present + STEPS_AROUND + 1):
        if step > factor.last_step and constant_time_compare(f"{hotp(key, step, DIGITS):0{DIGITS}}", typed):
            factor.last_step = step
            factor.save(update_fields=["last_step"])
            return True
    return False


def _take_recovery_code(factor: SecondFactor, typed: str) -> bool:
    code = RecoveryCode.objects.filter(factor=factor, finder=typed[:GROUP], used_at=None).first()
    if code is None or not check_password(typed[GROUP:], code.secret_hash):
        return False
    code.used_at = clock.now()
    code.save(update_fields=["used_at"])
    note(
        "recovery code used",
        f"person:{factor.staff_id}",
        after={"codes_left": factor.recovery_codes.filter(used_at=None).count()},
        by=factor.staff,
    )
    return True


def _write_codes(factor: SecondFactor) -> list[str]:
    """Four letters that find the code, eight that prove it (40 bits; ASVS v5.0.0-6.5.4 wants at least 20)."""
    finders: set[str] = set()
    while len(finders) < RECOVERY_CODES:
        finders.add(_letters(GROUP))
    codes = [(finder, _letters(2 * GROUP)) for finder in sorted(finders)]
    RecoveryCode.objects.bulk_create(
        RecoveryCode(factor=factor, finder=finder, secret_hash=make_password(secret)) for finder, secret in codes
    )
    return [f"{finder}-{secret[:GROUP]}-{secret[GROUP:]}" for finder, secret in codes]


def _letters(number: int) -> str:
    return "".join(secrets.choice(LETTERS) for _ in range(number))
