"""Totals at the foot of a paper: whatever the custom, the parts make the whole."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from business.money.amounts import Taxed, rounded
from business.money.totals import Line, total_up

lines = st.builds(
    Line,
    amount=st.decimals(min_value=-5000, max_value=50000, places=3),
    rate_percent=st.sampled_from([Decimal(rate) for rate in ("0", "5", "5.5", "7", "12.5", "19", "20", "25")]),
    treatment=st.sampled_from(["standard", "reduced"]),
)
papers = st.lists(lines, max_size=40)
customs = st.sampled_from(["line", "document"])
digits_of_currencies = st.sampled_from([0, 2, 3])


@given(papers, customs, st.booleans(), digits_of_currencies)
def test_totals_are_the_sum_of_lines_and_of_rates(paper, rounding, includes_tax, digits):
    totals = total_up(paper, rounding=rounding, includes_tax=includes_tax, digits=digits)

    for part in ("net", "tax", "gross"):
        whole = getattr(totals, part)
        assert whole == sum((getattr(line, part) for line in totals.lines), Decimal(0))
        assert whole == sum((getattr(rate.sums, part) for rate in totals.rates), Decimal(0))
    assert totals.net + totals.tax == totals.gross


@given(papers, customs, st.booleans(), digits_of_currencies)
def test_each_line_keeps_the_amount_agreed(paper, rounding, includes_tax, digits):
    totals = total_up(paper, rounding=rounding, includes_tax=includes_tax, digits=digits)

    kept = [line.gross if includes_tax else line.net for line in totals.lines]
    assert kept == [rounded(line.amount, digits) for line in paper]


@given(papers, customs)
def test_a_line_s_share_is_within_a_cent_of_its_own_tax(paper, rounding):
    totals = total_up(paper, rounding=rounding)

    for line, taxed in zip(paper, totals.lines, strict=True):
        alone = Taxed.from_net(line.amount, rate_percent=line.rate_percent)
        assert abs(taxed.tax - alone.tax) <= Decimal("0.01")


@given(papers, st.booleans())
def test_document_rounding_rounds_each_rate_once(paper, includes_tax):
    totals = total_up(paper, rounding="document", includes_tax=includes_tax)

    for rate in totals.rates:
        if includes_tax:
            expected = Taxed.from_gross(rate.sums.gross, rate_percent=rate.rate_percent)
        else:
            expected = Taxed.from_net(rate.sums.net, rate_percent=rate.rate_percent)
        assert rate.sums == expected


@given(papers, customs, st.booleans())
def test_crediting_everything_mirrors_the_paper(paper, rounding, includes_tax):
    mirrored = [Line(amount=-line.amount, rate_percent=line.rate_percent, treatment=line.treatment) for line in paper]

    totals = total_up(paper, rounding=rounding, includes_tax=includes_tax)
    credit = total_up(mirrored, rounding=rounding, includes_tax=includes_tax)

    assert (credit.net, credit.tax, credit.gross) == (-totals.net, -totals.tax, -totals.gross)


def test_rates_stand_from_the_highest_down():
    paper = [Line(amount=Decimal(10), rate_percent=Decimal(rate)) for rate in (0, 20, 5)]

    assert [rate.rate_percent for rate in total_up(paper, rounding="line").rates] == [20, 5, 0]


def test_an_empty_paper_comes_to_nothing():
    totals = total_up([], rounding="document")

    assert (totals.lines, totals.rates, totals.gross) == ((), (), Decimal(0))


def test_an_unknown_custom_of_rounding_is_refused():
    with pytest.raises(ValueError, match="line or document"):
        total_up([], rounding="page")  # type: ignore[arg-type]
