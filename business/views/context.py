"""What every page may name without asking: the business."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest
from django.utils.functional import SimpleLazyObject

from business.queries.profile import our_profile


def business_profile(request: HttpRequest) -> dict[str, Any]:
    """``business``: the profile, read only if the page names it."""
    return {"business": SimpleLazyObject(our_profile)}
