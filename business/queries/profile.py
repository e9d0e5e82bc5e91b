"""Who we are."""

from __future__ import annotations

from business.models import BusinessProfile


def our_profile() -> BusinessProfile:
    """The stored profile; before one is stored, an unsaved one with the defaults, named "Your business"."""
    return BusinessProfile.objects.filter(pk=1).first() or BusinessProfile(pk=1, name="Your business")


def profile_is_stored() -> bool:
    return BusinessProfile.objects.filter(pk=1).exists()
