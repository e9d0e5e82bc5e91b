"""Say who we are."""

from __future__ import annotations

from typing import Any

from django.db import transaction

from business.models import BusinessProfile
from business.queries.profile import our_profile
from business.services.audit import note, values_of
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
    return profile
