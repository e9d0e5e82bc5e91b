"""Both parties of a paper in plain values, as they are now. An issued paper keeps its own copy."""

from __future__ import annotations

from typing import Any

from business.models import BusinessProfile, Client


def seller_of(profile: BusinessProfile) -> dict[str, Any]:
    """The business as its papers name it."""
    return {
        "name": profile.name,
        "legal_name": profile.legal_name,
        "address_lines": profile.address_lines,
        "country": profile.country,
        "email": profile.email,
        "phone": profile.phone,
        "web": profile.web,
        "tax_label": profile.tax_label,
        "tax_number": profile.tax_number,
        "payment_lines": [line.strip() for line in profile.payment_lines.splitlines() if line.strip()],
        "footer": profile.invoice_footer,
    }


def buyer_of(client: Client, profile: BusinessProfile) -> dict[str, Any]:
    """The client as a paper names them."""
    return {
        "code": client.code,
        "name": client.name,
        "kind": client.kind,
        "address_lines": client.address_lines,
        "country": client.country or profile.country,
        "tax_number": client.tax_number,
        "language": client.language or profile.language,
        "paper": client.paper or profile.paper,
    }
