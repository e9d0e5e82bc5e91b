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
        "bank_account": profile.bank_account,
        "bank_account_name": profile.bank_account_name,
        "bank_code": profile.bank_code,
        "exempt_words": profile.exempt_words,
        **_electronic(profile),
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
        "email": client.email,
        "e_invoice": client.e_invoice or profile.e_invoice,
        "buyer_reference": client.buyer_reference,
        **_electronic(client),
    }


def _electronic(party: BusinessProfile | Client) -> dict[str, str]:
    """How machines know a party."""
    return {
        "legal_number": party.legal_number,
        "legal_register": party.legal_register,
        "electronic_address": party.electronic_address,
        "electronic_kind": party.electronic_kind,
    }
