"""A worked year of a garden with apples, a pear and a plum.

The day numbers and minutes are made up. The fewest days come from the textbook argument on intervals (choose each
window's last day in order of closing; the windows that forced a choice are disjoint, so none can be saved); the least
distances for five and six visits were found by trying every set of days.
"""

from datetime import date, timedelta

import pytest

from scheduling.packing import PackNeed, PackRules, pack_site, price_of_windows

TABLE = """
winter prune, apple   |  10  70  30  55 120
winter prune, pear    |   5  60  20  45  90
select shoots         | 118 140 122 130  40
tie in, first         | 125 160 130 145  60
thin fruit            | 150 170 155 162  45
tie in, second        | 165 200 175 190  50
summer prune, plum    | 170 215 185 205  60
summer prune, apple   | 200 235 205 220  90
lower arms            | 320 360 325 345  75
"""


def of_year(number: int) -> date:
    return date(2025, 1, 1) + timedelta(days=number - 1)


def read(line: str) -> PackNeed:
    name, numbers = line.split("|")
    opens, closes, best_from, best_until, minutes = (int(number) for number in numbers.split())
    return PackNeed(
        id=name.strip(),
        opens=of_year(opens),
        best_from=of_year(best_from),
        best_until=of_year(best_until),
        closes=of_year(closes),
        minutes=minutes,
    )


NEEDS = [read(line) for line in TABLE.strip().splitlines()]


@pytest.mark.parametrize(
    ("rules", "days", "minutes", "distance"),
    [
        ({}, [30, 130, 165, 205, 325], [210, 100, 95, 150, 75], 13),
        ({"min_gap_days": 28}, [30, 130, 165, 205, 325], [210, 100, 95, 150, 75], 13),
        ({"visit_minutes": 180}, None, None, 13),
        ({"visit_minutes": 120}, None, None, 0),
    ],
)
def test_year_is_packed_as_worked_out(rules, days, minutes, distance):
    packing = pack_site(NEEDS, PackRules(**({"visit_minutes": 480} | rules)))

    assert packing.is_proved
    assert packing.days_off_best == distance
    assert len(packing.visits) == {480: 5, 180: 6, 120: 7}[rules.get("visit_minutes", 480)]
    if days:
        assert [visit.on for visit in packing.visits] == [of_year(number) for number in days]
        assert [visit.minutes for visit in packing.visits] == minutes


def test_disjoint_windows_prove_five_visits():
    packing = pack_site(NEEDS, PackRules(visit_minutes=480))

    assert [(span.first, span.last, span.visits) for span in packing.proof] == [
        (of_year(first), of_year(last), 1) for first, last in [(5, 60), (118, 140), (150, 170), (200, 235), (320, 360)]
    ]
    assert packing.fewest_visits == 5


def test_sixth_visit_brings_every_need_into_its_best_part():
    # With six visits the best is 0 days off; five are chosen all the same, for fewer visits come first.
    apart = {"thin fruit", "tie in, second"}
    rest = pack_site([need for need in NEEDS if need.id not in apart], PackRules(visit_minutes=480))

    assert rest.days_off_best == 0
    assert len(rest.visits) == 4


def test_window_that_costs_a_visit_is_named():
    prices = {price.need_ids: price for price in price_of_windows(NEEDS, PackRules(visit_minutes=480))}

    assert prices["thin fruit",].visits == 1
    assert prices["thin fruit",].why == "Keeping 30 May 2025 to 19 June 2025 for thin fruit costs 1 visit."
    assert (prices["tie in, second",].visits, prices["tie in, second",].days_off_best) == (0, 13)
    assert prices["tie in, first",].visits == 0


def test_visit_window_holds_for_all_it_carries():
    packing = pack_site(NEEDS, PackRules(visit_minutes=480))
    winter = packing.visits[0]

    assert (winter.opens, winter.best_from, winter.best_until, winter.closes) == (
        of_year(10),
        of_year(30),
        of_year(45),
        of_year(60),
    )


def test_account_says_why_each_need_is_where_it_is():
    account = {entry.need_id: entry for entry in pack_site(NEEDS, PackRules(visit_minutes=480)).account}

    assert account["tie in, second"].days_off_best == 10
    assert account["tie in, second"].why == (
        "tie in, second on 14 June 2025 with thin fruit: 10 days before its best part, which keeps the visits few."
    )
    assert account["lower arms"].days_off_best == 0
