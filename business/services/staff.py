"""People who may sign in."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction

from business.errors import BadInput, Fault, NotAllowed
from business.models import Staff
from business.services import second_factors, sessions
from business.services.audit import note, values_of
from business.services.rows import put_values, save_checked

PRICES_BY_ROLE = {
    Staff.Role.OWNER: True,
    Staff.Role.OFFICE: True,
    Staff.Role.ACCOUNTANT: True,
    Staff.Role.CREW_LEAD: False,
    Staff.Role.CREW: False,
}


@transaction.atomic
def add_staff(*, username: str, name: str, role: str, password: str | None = None, **values: Any) -> Staff:
    """Somebody new. Without a password they cannot sign in yet. Prices are seen by role unless said otherwise.

    Raises:
        BadInput: the name is taken, the password too weak, or a law of the table is broken.
    """
    values.setdefault("sees_prices", PRICES_BY_ROLE.get(Staff.Role(role), False))
    staff = Staff(username=username, name=name, role=role, **values)
    staff.email = Staff.objects.normalize_email(staff.email)
    _set_password(staff, password)
    staff.second_factor_due_on = second_factors.due_on(staff.role)
    save_checked(staff, where="person")
    note("person added", f"person:{staff.pk}", after=values_of(staff))
    return staff


@transaction.atomic
def change_staff(*, staff: Staff, by: Staff, own_session: str | None = None, **values: Any) -> Staff:
    """Change name, role or rights. The last owner stays one, so that somebody can always let others in.

    Whoever may not sign in any more, and whoever gets a new password, is signed out everywhere at once; only the
    session with the key ``own_session`` goes on.

    Raises:
        NotAllowed: it would take the last owner away.
        BadInput: a law of the table is broken.
    """
    staff = Staff.objects.select_for_update().get(pk=staff.pk)
    password = values.pop("password", None)
    before, old_role = values_of(staff), staff.role
    was_owner = staff.role == Staff.Role.OWNER and staff.is_active
    changed = put_values(staff, values)
    if was_owner and (staff.role != Staff.Role.OWNER or not staff.is_active) and not _other_owners(staff):
        raise NotAllowed([Fault(staff.name, "is the last owner", "make somebody else owner first")])
    if staff.role != old_role:
        due_on = second_factors.due_on(staff.role)
        staff.second_factor_due_on = due_on and (staff.second_factor_due_on or due_on)
        changed.append("second_factor_due_on")
    if password:
        _set_password(staff, password)
        changed.append("password")
    save_checked(staff, where="person", only=changed)
    note("person changed", f"person:{staff.pk}", before=before, after=values_of(staff), by=by)
    if password:
        note("password changed", f"person:{staff.pk}", after={"password": "a new one"}, by=by)
    if password or not staff.is_active:
        sessions.end_sessions(staff=staff, but=own_session)
    return staff


@transaction.atomic
def change_own_password(*, staff: Staff, old: str, new: str, session_key: str | None) -> Staff:
    """Their own new password; every other device is signed out.

    Raises:
        BadInput: the old one is wrong, or the new one too weak.
    """
    staff = Staff.objects.select_for_update().get(pk=staff.pk)
    if not staff.check_password(old):
        raise BadInput([Fault("present password", "is not right", "type the one you sign in with")])
    _set_password(staff, new, place="new password")
    staff.save(update_fields=["password"])
    note("password changed", f"person:{staff.pk}", after={"password": "a new one"}, by=staff)
    sessions.end_sessions(staff=staff, but=session_key)
    return staff


def _other_owners(staff: Staff) -> bool:
    return Staff.objects.filter(role=Staff.Role.OWNER, is_active=True).exclude(pk=staff.pk).exists()


def _set_password(staff: Staff, password: str | None, *, place: str = "password") -> None:
    if password:
        try:
            validate_password(password, staff)
        except ValidationError as error:
            raise BadInput([Fault(place, text.rstrip("."), "choose another") for text in error.messages]) from error
    staff.set_password(password)
