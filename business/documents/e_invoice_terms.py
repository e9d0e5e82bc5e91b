"""An issued paper in the business terms of EN 16931: which value goes under which number, and what is missing for it.

Everything comes from the frozen paper; nothing is asked of the business or the client as they are today.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from business.documents.words import day_text
from business.errors import Fault
from business.models import Invoice, InvoiceLine
from business.money.amounts import minor_digits
from business.money.en16931 import (
    Allowance,
    BilledLine,
    CategoryTax,
    Figures,
    StandardLine,
    category_of,
    standard_figures,
)

PROFILE = "urn:cen.eu:en16931:2017"

# UN/ECE Recommendation 20, revision 17.
UNIT_CODES = {
    "hour": "HUR",
    "day": "DAY",
    "visit": "C62",
    "tree": "C62",
    "piece": "H87",
    "metre": "MTR",
    "kilometre": "KMT",
    "kilogram": "KGM",
    "litre": "LTR",
    "load": "C62",
    "lump": "C62",
}

# UNTDID 4461, means of payment; 1001, kinds of document; 5189, reasons for an allowance.
CREDIT_TRANSFER, SEPA_CREDIT_TRANSFER, MEANS_NOT_DEFINED = "30", "58", "1"
INVOICE, CREDIT_NOTE = "380", "381"
DISCOUNT = "95"

# Codes of the VATEX list for what the law itself gives as the reason.
REASON_CODES = {"AE": "VATEX-EU-AE", "O": "VATEX-EU-O"}
REASON_WORDS = {"AE": "Reverse charge", "O": "Not subject to VAT"}

Party = Mapping[str, Any]


def figures_of(invoice: Invoice, lines: Sequence[InvoiceLine]) -> Figures:
    """The amounts of a paper as the standard writes them."""
    billed = [
        BilledLine(
            position=line.position,
            text=line.text,
            quantity=line.quantity,
            unit_price=line.unit_price,
            net=line.net,
            tax=line.tax,
            treatment=line.tax_treatment,
            rate_percent=line.tax_percent,
        )
        for line in lines
    ]
    return standard_figures(billed, paid=invoice.prepaid, digits=minor_digits(invoice.currency))


def missing_for_e_invoice(
    invoice: Invoice, lines: Sequence[InvoiceLine], *, seller: Party, buyer: Party
) -> list[Fault]:
    """What the standard asks for and the paper does not have, field by field; nothing if it can be written.

    Each fault names in brackets the rule of the standard that would fail.
    """
    kinds = {category_of(line.tax_treatment, line.tax_percent) for line in lines}
    return [
        *_missing_of_seller(seller, kinds),
        *_missing_of_buyer(buyer, kinds),
        *_missing_of_paper(invoice, kinds),
    ]


def terms_of(invoice: Invoice, lines: Sequence[InvoiceLine]) -> dict[str, Any]:
    """All business terms by number, ready for the writer of either syntax."""
    figures = figures_of(invoice, lines)
    money = _Money(minor_digits(invoice.currency))
    is_credit = invoice.kind == Invoice.Kind.CREDIT_NOTE
    outside = any(row.category == "O" for row in figures.taxes)
    terms: dict[str, Any] = {
        "BT-24": PROFILE,
        "BT-1": invoice.number,
        "BT-2": invoice.issued_on,
        "BT-3": CREDIT_NOTE if is_credit else INVOICE,
        "BT-5": invoice.currency,
        "BT-9": invoice.due_on,
        "BT-10": plain(invoice.buyer.get("buyer_reference", "")),
        "BT-20": _payment_words(invoice),
        "BT-72": invoice.work_until or invoice.issued_on,
        "BT-73": invoice.work_from,
        "BT-74": invoice.work_until,
        "BT-83": "" if is_credit else invoice.number,
        "BG-1": [{"BT-22": plain(words)} for words in (invoice.reason, invoice.note) if words],
        "BG-4": _seller(invoice.seller, outside=outside),
        "BG-7": _buyer(invoice.buyer, outside=outside),
        "BG-20": [_allowance(allowance, money) for allowance in figures.allowances],
        "BG-23": [_tax(row, money, invoice.seller) for row in figures.taxes],
        "BG-25": [_line(line, by_position(lines)[line.source.position], money) for line in figures.lines],
        **_means_of_payment(invoice),
        **_sums(figures, money),
    }
    if is_credit and invoice.credits is not None:
        terms["BG-3"] = [{"BT-25": invoice.credits.number, "BT-26": invoice.credits.issued_on}]
    return {term: value for term, value in terms.items() if value not in ("", None, [])}


def by_position(lines: Iterable[InvoiceLine]) -> dict[int, InvoiceLine]:
    return {line.position: line for line in lines}


def plain(words: str) -> str:
    """Words without the signs that XML 1.0 cannot hold; spaces at the ends are taken off."""
    return "".join(
        sign for sign in words if sign in "\t\n" or (sign >= " " and not "\ud800" <= sign <= "\udfff")
    ).strip()


def vat_number(words: str) -> str:
    """A VAT number with the letters of its country in front (BR-CO-09), or nothing if it is another kind of number."""
    number = re.sub(r"[^0-9A-Za-z]", "", words).upper()
    return number if re.fullmatch(r"[A-Z]{2}[0-9A-Z]{2,}", number) else ""


class _Money:
    """Amounts and numbers as text; a writer that gets floats would make its own digits."""

    def __init__(self, digits: int) -> None:
        self.digits = digits

    def amount(self, amount: Decimal) -> str:
        return f"{amount:.{self.digits}f}"

    @staticmethod
    def number(number: Decimal) -> str:
        words = f"{number:f}"
        return (words.rstrip("0").rstrip(".") if "." in words else words) or "0"


def _missing_of_seller(seller: Party, kinds: set[str]) -> list[Fault]:
    faults = []
    where = "enter it under Your business"
    if kinds - {"O"} and not seller.get("tax_number"):
        faults.append(Fault("your business, tax number", "is empty [BR-S-02]", where))
    if "O" in kinds and not seller.get("legal_number"):
        faults.append(
            Fault("your business, company number", "is empty, and no tax number may stand here [BR-CO-26]", where)
        )
    if "E" in kinds and not seller.get("exempt_words"):
        faults.append(Fault("your business, why exempt work is exempt", "is empty [BR-E-10]", where))
    return faults + _missing_of_address(seller, "your business", where)


def _missing_of_buyer(buyer: Party, kinds: set[str]) -> list[Fault]:
    name = str(buyer.get("name", ""))
    where = "enter it on the client's page"
    faults = []
    if "AE" in kinds and not (vat_number(buyer.get("tax_number", "")) or buyer.get("legal_number")):
        faults.append(
            Fault(f"{name}, tax number", "is empty or has no letters of a country in front [BR-AE-02]", where)
        )
    return faults + _missing_of_address(buyer, name, where)


def _missing_of_address(party: Party, who: str, where: str) -> list[Fault]:
    faults = []
    if not re.fullmatch(r"[A-Z]{2}", party.get("country", "")):
        faults.append(Fault(f"{who}, country", "is not two letters [BR-09, BR-11]", where))
    address, kind = party.get("electronic_address", ""), party.get("electronic_kind", "")
    if address and not kind and "@" not in address:
        faults.append(Fault(f"{who}, kind of the address for e-invoices", "is empty [BR-62, BR-63]", where))
    return faults


def _missing_of_paper(invoice: Invoice, kinds: set[str]) -> list[Fault]:
    faults = []
    if len(kinds) > 1 and "O" in kinds:
        faults.append(
            Fault(
                "lines",
                "mix work outside the tax with work under it [BR-O-11]",
                "take the lines outside the tax off and issue them as an invoice of their own",
            )
        )
    if minor_digits(invoice.currency) > 2:
        faults.append(
            Fault(
                f"currency {invoice.currency}",
                "has three digits after the point, the standard two [BR-DEC-12]",
                "choose paper and PDF only for this client",
            )
        )
    return faults


def _seller(seller: Party, *, outside: bool) -> dict[str, Any]:
    """BG-4. Where nothing is under the tax, the tax number may not stand (BR-O-02)."""
    trading, legal = plain(seller["name"]), plain(seller.get("legal_name", ""))
    contact = {"name": trading, "phone": seller.get("phone", ""), "email": seller.get("email", "")}
    party = {
        "name": legal or trading,
        "biz_name": trading if legal and legal != trading else "",
        "contacts": [{what: word for what, word in contact.items() if word}] if len(_given(contact)) > 1 else [],
        **_party(seller),
    }
    if not outside and seller.get("tax_number"):
        vat = vat_number(seller["tax_number"])
        party |= {"vat_identifier": vat} if vat else {"tax_identifier": plain(seller["tax_number"])}
    return _given(party)


def _buyer(buyer: Party, *, outside: bool) -> dict[str, Any]:
    """BG-7."""
    party = {
        "name": plain(buyer["name"]),
        "identifiers": {None: buyer["code"]} if buyer.get("code") else {},
        **_party(buyer),
    }
    if not outside:
        party["vat_identifier"] = vat_number(buyer.get("tax_number", ""))
    return _given(party)


def _party(party: Party) -> dict[str, Any]:
    """What both sides have. Our addresses are lines without columns of their own for town and postcode."""
    lines = [plain(line) for line in party.get("address_lines", ())]
    address, kind = party.get("electronic_address", ""), party.get("electronic_kind", "")
    if not address:
        address, kind = party.get("email", ""), "EM"
    return {
        "addr_l1": lines[0] if lines else "",
        "addr_l2": lines[1] if len(lines) > 1 else "",
        "addr_l3": ", ".join(lines[2:]),
        "country_code": party["country"],
        "legal_identifier": plain(party.get("legal_number", "")),
        "legal_identifier_schemeid": party.get("legal_register", ""),
        "einvoicing_addr": address,
        "einvoicing_addr_schemeid": (kind or "EM") if address else "",
    }


def _given(values: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in values.items() if value}


def _line(line: StandardLine, row: InvoiceLine, money: _Money) -> dict[str, Any]:
    """BG-25."""
    where = ", ".join(word for word in (plain(row.place), day_text(row.done_on) if row.done_on else "") if word)
    terms = {
        "BT-126": str(row.position),
        "BT-129": money.number(line.quantity),
        "BT-130": UNIT_CODES[row.unit],
        "BT-131": money.amount(line.net),
        "BT-134": row.done_on,
        "BT-135": row.done_on,
        "BT-146": _price(line.price, money),
        "BT-149": money.number(line.per) if line.per != 1 else "",
        "BT-151": line.category,
        "BT-152": _rate(line.category, line.rate_percent),
        "BT-153": plain(row.text) or "–",
        "BT-154": where,
    }
    return {term: value for term, value in terms.items() if value not in ("", None)}


def _price(price: Decimal, money: _Money) -> str:
    words = money.number(price)
    return money.amount(price) if Decimal(money.amount(price)) == price else words


def _rate(category: str, percent: Decimal) -> str:
    """Outside the tax there is no rate (BR-O-05)."""
    return "" if category == "O" else _Money.number(percent)


def _allowance(allowance: Allowance, money: _Money) -> dict[str, Any]:
    """BG-20."""
    return _given(
        {
            "amount": money.amount(allowance.amount),
            "reason": plain(allowance.text) or "Discount",
            "reason_code": DISCOUNT,
            "vat_category_code": allowance.category,
            "vat_rate": _rate(allowance.category, allowance.rate_percent),
        }
    )


def _tax(row: CategoryTax, money: _Money, seller: Party) -> dict[str, Any]:
    """BG-23."""
    words = plain(seller.get("exempt_words", "")) if row.category == "E" else REASON_WORDS.get(row.category, "")
    return _given(
        {
            "BT-116": money.amount(row.base),
            "BT-117": money.amount(row.tax),
            "BT-118": row.category,
            "BT-119": _rate(row.category, row.rate_percent),
            "BT-120": words,
            "BT-121": REASON_CODES.get(row.category, ""),
        }
    )


def _means_of_payment(invoice: Invoice) -> dict[str, str]:
    """BG-16. An account makes it a transfer; else the words of the paper stand."""
    seller = invoice.seller
    account = re.sub(r"\s", "", seller.get("bank_account", ""))
    if not account:
        words = plain("\n".join(seller.get("payment_lines", ())))
        return {"BT-81": MEANS_NOT_DEFINED, "BT-82": words} if words else {}
    is_iban = bool(re.fullmatch(r"[A-Z]{2}\d{2}[0-9A-Z]{11,30}", account))
    return {
        "BT-81": SEPA_CREDIT_TRANSFER if is_iban and invoice.currency == "EUR" else CREDIT_TRANSFER,
        "BT-84": account,
        "BT-85": plain(seller.get("bank_account_name", "")),
        "BT-86": plain(seller.get("bank_code", "")),
    }


def _payment_words(invoice: Invoice) -> str:
    """BT-20. The rule that asks for a day or for terms is in none of the published rule files; we give both."""
    if invoice.kind == Invoice.Kind.CREDIT_NOTE:
        return "To be set against what is open, or paid back."
    return f"To be paid by {day_text(invoice.due_on)}." if isinstance(invoice.due_on, date) else ""


def _sums(figures: Figures, money: _Money) -> dict[str, str]:
    """BG-22."""
    sums = {
        "BT-106": figures.line_total,
        "BT-109": figures.net,
        "BT-110": figures.tax,
        "BT-112": figures.gross,
        "BT-115": figures.due,
    }
    where_used = {"BT-107": figures.allowance_total, "BT-113": figures.paid, "BT-114": figures.rounding}
    sums |= {term: amount for term, amount in where_used.items() if amount}
    return {term: money.amount(amount) for term, amount in sums.items()}
