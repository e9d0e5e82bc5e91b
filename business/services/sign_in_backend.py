"""Fetches whoever is signed in together with their second factor, since every page asks for both."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.backends import ModelBackend

from business.models import Staff


class StaffBackend(ModelBackend):
    def get_user(self, user_id: Any) -> Staff | None:
        """Nobody who may not sign in any more: disabling ends every session at its next request."""
        staff = Staff.objects.select_related("second_factor").filter(pk=user_id).first()
        return staff if staff is not None and self.user_can_authenticate(staff) else None
