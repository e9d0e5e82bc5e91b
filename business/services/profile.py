"""Say who we are."""

from __future__ import annotations

from typing import Any

from django.db import transaction

from business import clock
from business.models import BusinessProfile, Staff
from business.queries.profile import our_profile
from business.services import second_factors
from business.services.audit import note, values_of
from business.services.messages import queue_message
from business.services.rows import put_values, save_checked


@transaction.atomic
def save_profile(**values: Any) -> BusinessProfile:
    """Store the business's name, place and habits; what is not given stays as it is.

    Raises:
        BadInput: a value breaks a law of the table.
    """
    profile = our_profile()
    before = values_of(profile)
    put_values(profile, values)
    save_checked(profile, where="business")
    note("business changed", "business:1", before=before, after=values_of(profile), has_money=True)
    second_factors.follow_policy(profile)
    if before["payment_lines"] not in ("", profile.payment_lines):
        _tell_owners(profile)
    return profile


def _tell_owners(profile: BusinessProfile) -> None:
    """Where clients pay to has changed: whoever owns the business hears of it, in case it was not them."""
    for owner in Staff.objects.filter(role=Staff.Role.OWNER, is_active=True).exclude(email=""):
        queue_message(
            key=f"bank_changed:{clock.now().timestamp()}:{owner.pk}",
            kind="bank_changed",
            to=owner.email,
            subject="How clients pay was changed",
            body=(
                f"The bank details printed on invoices of {profile.name} were changed just now. Papers already issued "
                "keep the old ones.\n\nIf it was not you, sign in, look at the page of your business, and end the "
                "sessions you do not know.\n"
            ),
        )
