"""Telephone numbers in one form, where their form can be told."""

from __future__ import annotations

import re

# Country: calling code and the digit dialled before it at home. Source: ITU-T E.164, list of assigned country codes,
# and national numbering plans (from memory).
COUNTRIES = {
    "AT": ("43", "0"),
    "AU": ("61", "0"),
    "BE": ("32", "0"),
    "CA": ("1", "1"),
    "CH": ("41", "0"),
    "DE": ("49", "0"),
    "DK": ("45", ""),
    "ES": ("34", ""),
    "FR": ("33", "0"),
    "GB": ("44", "0"),
    "IE": ("353", "0"),
    "IT": ("39", ""),
    "LU": ("352", ""),
    "NL": ("31", "0"),
    "NO": ("47", ""),
    "NZ": ("64", "0"),
    "PT": ("351", ""),
    "SE": ("46", "0"),
    "US": ("1", "1"),
}


def international(number: str, *, country: str) -> str:
    """``01632 960123`` in GB becomes ``+441632960123``; what cannot be told stays as it was typed.

    Args:
        country: ISO 3166-1, two letters; where a number without a country code is dialled.
    """
    typed = " ".join(number.split())
    digits = re.sub(r"[\s().\-/–]", "", typed.replace("(0)", ""))
    if digits.startswith("00"):
        digits = f"+{digits[2:]}"
    if not digits.startswith("+") and country in COUNTRIES and digits.isdecimal():
        code, trunk = COUNTRIES[country]
        digits = f"+{code}{digits.removeprefix(trunk)}" if trunk else f"+{code}{digits}"
    return digits if re.fullmatch(r"\+[1-9][0-9]{6,14}", digits) else typed
