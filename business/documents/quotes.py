"""An offer on paper."""

from __future__ import annotations

from dataclasses import replace

from django.template.loader import render_to_string

from business.documents.invoices import PaperLine, line_on_paper, taxes_on_paper
from business.documents.pdf import ACCESSIBLE, render
from business.documents.words import day_text, money_text
from business.models import Quote, QuoteLine
from business.queries.parties import buyer_of, seller_of
from business.queries.profile import our_profile


def quote_pdf(quote: Quote) -> bytes:
    """The paper as tagged PDF bytes, on the client's size of paper."""
    return render(quote_html(quote), paper=quote.client.paper or our_profile().paper, variant=ACCESSIBLE)


def quote_html(quote: Quote) -> str:
    profile = our_profile()
    seller = seller_of(profile)
    context = {
        "quote": quote,
        "seller": seller,
        "buyer": buyer_of(quote.client, profile),
        "facts": [
            ("Date", day_text(quote.sent_on) if quote.sent_on else "not sent yet"),
            ("Valid until", day_text(quote.valid_until)),
            ("Client number", quote.client.code),
        ],
        "lines": [_on_paper(line, quote) for line in quote.lines.all()],
        "taxes": taxes_on_paper(quote.lines.all(), quote.currency, seller["tax_label"]),
        "shows_tax": bool(seller["tax_number"]),
        "net": money_text(quote.net, quote.currency),
        "total": money_text(quote.gross, quote.currency),
    }
    return render_to_string("business/documents/quote.html", context)


def _on_paper(line: QuoteLine, quote: Quote) -> PaperLine:
    """A draft names what has no price yet instead of giving it away."""
    paper = line_on_paper(line, quote.currency, quote.prices_include_tax)
    return replace(paper, unit_price="", tax="", amount="no price yet") if line.is_unpriced else paper
