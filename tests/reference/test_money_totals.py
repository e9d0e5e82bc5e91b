"""Tax and totals against published examples and rules.

E1, E2, E5  Examples of CEN/TC 434 for EN 16931, published by the European Commission with the rules of the standard
            (eInvoicing-EN16931, ubl/examples/ubl-tc434-example1.xml, -example2.xml, -example5.xml). The standard reckons
            tax once for each rate (BR-CO-17), so they are read with the custom "document".
US          "Carry to the third decimal place and round up to a whole cent whenever the third decimal place is greater
            than four": R.I. General Laws 44-18.1-25 and Massachusetts 64I section 5, model rule of the streamlined
            sales tax agreement.
DE          Python's own decimal module as a second, independent rounding (ROUND_HALF_UP).
"""

from __future__ import annotations

from decimal import ROUND_DOWN, ROUND_HALF_UP, Decimal

import pytest

from business.money.amounts import Taxed, rounded
from business.money.totals import Line, total_up

D = Decimal

# E1: net amounts of its lines by rate, as far as the sums of the paper depend on them: the standard publishes the
# taxable amount and the tax of each rate, the net, and the total.
E1 = {"rates": [("183.23", "6", "10.99"), ("46.37", "21", "9.74")], "net": "229.60", "tax": "20.73", "gross": "250.33"}
E2 = {
    "rates": [("1460.50", "25", "365.13"), ("1.00", "15", "0.15"), ("-25.00", "0", "0.00")],
    "net": "1436.50",
    "tax": "365.28",
    "gross": "1801.78",
}
E5 = {
    "rates": [("1500.00", "25", "375.00"), ("2500.00", "12", "300.00")],
    "net": "4000.00",
    "tax": "675.00",
    "gross": "4675.00",
}


@pytest.mark.parametrize("example", [E1, E2, E5], ids=["E1", "E2", "E5"])
def test_totals_agree_with_examples_of_the_standard(example):
    lines = [Line(amount=D(net), rate_percent=D(rate)) for net, rate, _ in example["rates"]]

    totals = total_up(lines, rounding="document")

    taxes = {str(rate.rate_percent): rate.sums.tax for rate in totals.rates}
    assert taxes == {rate: D(tax) for _, rate, tax in example["rates"]}
    assert (totals.net, totals.tax, totals.gross) == (D(example["net"]), D(example["tax"]), D(example["gross"]))


@pytest.mark.parametrize("example", [E1, E2, E5], ids=["E1", "E2", "E5"])
@pytest.mark.parametrize("pieces", [2, 3, 7])
def test_cutting_the_lines_smaller_changes_no_total(example, pieces):
    lines = []
    for net, rate, _ in example["rates"]:
        first = rounded(D(net) / pieces)
        parts = [first] * (pieces - 1)
        lines += [Line(amount=part, rate_percent=D(rate)) for part in (*parts, D(net) - sum(parts))]

    totals = total_up(lines, rounding="document")

    assert (totals.net, totals.tax, totals.gross) == (D(example["net"]), D(example["tax"]), D(example["gross"]))


def test_shares_of_tax_sum_to_the_published_tax():
    # The five lines at 6 % that open E1, and its sums if these were all.
    lines = [Line(amount=D(net), rate_percent=D(6)) for net in ("19.90", "9.85", "8.29", "14.46", "35.00")]

    totals = total_up(lines, rounding="document")

    assert sum(line.tax for line in totals.lines) == totals.tax == D("5.25")  # 87.50 at 6 %


@pytest.mark.parametrize("rate", ["4.225", "5", "6.25", "7", "8.875", "10.25"])
def test_rounding_agrees_with_the_american_statutes(rate):
    for cents in range(0, 4000, 7):
        amount = D(cents) / 100
        carried = (amount * D(rate) / 100).quantize(D("0.001"), rounding=ROUND_DOWN)
        whole = carried.quantize(D("0.01"), rounding=ROUND_DOWN)
        expected = whole + D("0.01") if int(carried * 1000) % 10 > 4 else whole

        assert Taxed.from_net(amount, rate_percent=D(rate)).tax == expected


@pytest.mark.parametrize("digits", [0, 2, 3])
def test_rounding_agrees_with_the_decimal_module(digits):
    for units in range(-25_000, 25_000, 13):
        amount = D(units) / 20_000 * 7

        assert rounded(amount, digits) == amount.quantize(D(1).scaleb(-digits), rounding=ROUND_HALF_UP)


# The same five amounts give different tax by line and by document; both are lawful. Worked by hand.
FIVE = ("12.13", "7.49", "33.35", "0.99", "18.45")


@pytest.mark.parametrize(
    ("amounts", "by_line", "by_document"),
    [(FIVE, "14.49", "14.48"), (("10.03",) * 5, "10.05", "10.03"), (("10.02",) * 5, "10.00", "10.02")],
)
def test_the_two_customs_differ_by_the_known_cents(amounts, by_line, by_document):
    lines = [Line(amount=D(amount), rate_percent=D(20)) for amount in amounts]

    assert total_up(lines, rounding="line").tax == D(by_line)
    assert total_up(lines, rounding="document").tax == D(by_document)


def test_tax_inside_a_price_of_100_is_16_67():
    # 100 × 20/120: the fraction of one sixth that HMRC teaches for a rate of 20 % (VAT Notice 700, from memory).
    taxed = Taxed.from_gross(D(100), rate_percent=D(20))

    assert (taxed.net, taxed.tax) == (D("83.33"), D("16.67"))
