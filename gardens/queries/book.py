"""What an import needs to know about what is kept already."""

from __future__ import annotations

from business.models import Client

ClientCodes = set[str]


def client_codes() -> ClientCodes:
    return set(Client.objects.values_list("code", flat=True))
