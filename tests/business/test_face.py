"""Days, money, lengths and states read the same on every page."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from types import SimpleNamespace

import pytest
from django.http import HttpRequest, HttpResponse
from django.template import Context, Template
from django.test import RequestFactory
from django.urls import path

from business.templatetags.badges import BADGES
from business.templatetags.face import TABS, day, door_of, minutes, money, short_day, until
from tests.shapes import names_in_icons


def render(text: str, **values: object) -> str:
    return Template("{% load face badges windows lengths %}" + text).render(Context(values))


def some_page(request: HttpRequest) -> HttpResponse:
    """Stands for any page."""
    return HttpResponse()


urlpatterns = [path(f"{name}/", some_page, name=name) for name in ("rounds", "trees", "invoices")] + [
    path("", some_page, name="today")
]


class TestDays:
    def test_a_day_names_its_weekday_and_year(self):
        assert day(date(2026, 3, 3)) == "Tue 3 Mar 2026"
        assert short_day(date(2026, 3, 3)) == "3 Mar"

    def test_no_day_reads_as_a_dash(self):
        assert day(None) == "–"
        assert render("{{ nothing|day }}", nothing=None) == "–"

    @pytest.mark.parametrize(
        ("first", "last", "words"),
        [
            (date(2026, 3, 3), date(2026, 3, 14), "3–14 March 2026"),
            (date(2026, 2, 28), date(2026, 3, 3), "28 Feb – 3 Mar 2026"),
            (date(2025, 12, 20), date(2026, 1, 4), "20 Dec 2025 – 4 Jan 2026"),
            (date(2026, 3, 3), date(2026, 3, 3), "3 March 2026"),
            (date(2026, 3, 3), None, "Tue 3 Mar 2026"),
        ],
    )
    def test_a_span_says_no_month_or_year_twice(self, first, last, words):
        assert until(first, last) == words

    @pytest.mark.parametrize(
        ("value", "words"), [(0, "0 min"), (40, "40 min"), (60, "1 h"), (75, "1 h 15"), (Decimal("124.5"), "2 h 05")]
    )
    def test_minutes_turn_into_hours_at_sixty(self, value, words):
        assert minutes(value) == words


class TestMoney:
    # Decimals by currency: ISO 4217 (JPY 0, EUR 2, KWD 3).
    @pytest.mark.parametrize(
        ("amount", "currency", "words"),
        [
            ("1234.5", "GBP", "£1,234.50"),
            ("-20", "GBP", "−£20.00"),
            ("0", "EUR", "€0.00"),
            ("1234", "JPY", "¥1,234"),
            ("1.5", "KWD", "1.500 KWD"),
            ("99.9", "CHF", "99.90 CHF"),
        ],
    )
    def test_an_amount_shows_its_currency_and_decimals(self, amount, currency, words):
        assert money(Decimal(amount), currency) == words


class TestBadges:
    def test_every_sign_is_drawn_in_the_icons(self):
        used = {badge.shape for family in BADGES.values() for badge in family.values() if badge.shape}
        assert used <= names_in_icons()

    def test_states_of_a_family_differ_in_sign_or_word(self):
        for family, states in BADGES.items():
            shown = [(badge.shape, badge.words) for badge in states.values()]
            assert len(shown) == len(set(shown)), family

    def test_every_state_of_the_tables_has_words(self):
        from business.models import Invoice, Message
        from scheduling.models import Need, Task, Visit

        for family, table in (
            ("visit", Visit),
            ("task", Task),
            ("need", Need),
            ("message", Message),
            ("money", Invoice),
        ):
            assert {state.value for state in table.State} <= set(BADGES[family]), family

    def test_a_detail_goes_into_the_words(self):
        assert "Called off: rain" in render('{% badge "visit" "called_off" "rain" %}')
        assert "Called off" in render('{% badge "visit" "called_off" %}')

    def test_an_unknown_state_is_named_and_escaped(self):
        assert ">Half &lt;b</span>" in render('{% badge "visit" "half_<b" %}')


class TestLengths:
    def test_lengths_follow_the_units_of_the_business(self):
        assert render("{{ mm|in_units:units }}", mm=445, units="imperial") == "17½ in"
        assert render("{{ mm|in_units }}", mm=450) == "45 cm"
        assert render("{{ mm|in_units }}", mm=None) == "–"


class TestWindows:
    ITEM = SimpleNamespace(
        label="Shorten the leader",
        opens=date(2026, 1, 1),
        best_from=date(2026, 4, 2),
        best_until=date(2026, 7, 1),
        closes=date(2026, 12, 31),
    )

    def drawn(self, **changes: object) -> str:
        values = {"items": [self.ITEM], "first": date(2026, 1, 1), "last": date(2027, 1, 1), "today": date(2026, 7, 2)}
        return render("{% windows items first last today %}", **{**values, **changes})

    def test_a_window_of_the_whole_year_fills_the_width(self):
        assert 'x="0.0" y="5" width="720.0"' in self.drawn()

    def test_the_best_part_lies_where_its_days_are(self):
        # 91 of 365 days after New Year, 91 days long: 720 × 91 / 365 = 179.5 both times.
        assert 'class="best-frame" x="179.5" y="5" width="179.5"' in self.drawn()

    def test_today_stands_inside_only(self):
        assert 'class="today" d="M359.0 0V26"' in self.drawn()
        assert 'class="today"' not in self.drawn(today=date(2028, 1, 1))

    def test_a_window_outside_draws_no_bar(self):
        assert 'class="open"' not in self.drawn(first=date(2029, 1, 1), last=date(2029, 12, 31))

    def test_dictionaries_serve_as_well_as_rows(self):
        assert "Shorten the leader" in self.drawn(items=[vars(self.ITEM)])


@pytest.mark.urls("tests.business.test_face")
class TestTabs:
    def shown(self, person: object, address: str = "/") -> str:
        return render("{% tabs %}", request=RequestFactory().get(address), user=person)

    def person(self, **rights: bool) -> SimpleNamespace:
        return SimpleNamespace(is_authenticated=True, name="Ros", **rights)

    def test_pages_that_do_not_exist_have_no_tab(self):
        tabs = self.shown(self.person(is_office=True))
        assert "Invoices" in tabs
        assert "Rules" not in tabs

    def test_a_crew_sees_neither_trees_nor_money(self):
        tabs = self.shown(self.person(is_field=True))
        assert "Rounds" in tabs
        assert "Trees" not in tabs
        assert "Invoices" not in tabs

    def test_an_accountant_sees_money_only(self):
        tabs = self.shown(self.person())
        assert "Invoices" in tabs
        assert "Rounds" not in tabs

    def test_the_page_of_a_tree_opens_the_tab_of_trees(self):
        tabs = self.shown(self.person(is_office=True), "/trees/3/records/")
        assert '<a href="/trees/" aria-current="page">' in tabs
        assert tabs.count("aria-current") == 1

    def test_a_visit_lies_behind_the_tab_of_rounds(self):
        tabs = self.shown(self.person(is_office=True), "/visits/7/")
        assert '<a href="/rounds/" aria-current="page">' in tabs

    def test_a_page_behind_no_tab_opens_none(self):
        assert "aria-current" not in self.shown(self.person(is_office=True), "/people/")

    def test_nobody_signed_in_has_no_door(self):
        assert door_of(SimpleNamespace(is_authenticated=False)) == "none"
        assert all("none" not in tab.doors for tab in TABS)
