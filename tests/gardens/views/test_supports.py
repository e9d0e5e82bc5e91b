"""The page of a support: its check, its price, its care, and what people write on it."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from django.urls import reverse

from business import clock
from business.models import Quote, Staff
from gardens.models import Record
from gardens.services.support_records import SupportFact
from gardens.services.supports import reading_of
from tests import make, make_garden

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _today(time_machine):
    time_machine.move_to("2026-11-25 09:00:00+00:00")
    make.profile()


@pytest.fixture
def office(client):
    client.force_login(make.staff(role=Staff.Role.OFFICE, sees_prices=True))
    return client


@pytest.fixture
def row():
    support = make_garden.support(length_mm=8000, built_on=date(2024, 2, 1), post_spacing_mm=2000)
    make_garden.tree(support=support)
    return support


@pytest.fixture
def wall():
    support = make_garden.support(kind="wall", name="South wall", length_mm=6000, height_mm=2200, gap_mm=100)
    make_garden.tree(support=support)
    return support


def page(client, support, **asked):
    return client.get(reverse("support", args=[support.pk]), asked)


def post(client, name, support, **said):
    return client.post(reverse(name, args=[support.pk]), said)


def words(answer):
    return " ".join(answer.content.decode().split())


def care_due(client, support):
    return [(care.kind, care.part, care.is_urgent) for care in page(client, support).context["page"].care]


def test_the_page_shows_drawing_check_price_and_cautions(office, row):
    make.price(code="straining_wire", text="Wire", unit="metre", net_price=Decimal("0.60"))

    shown = words(page(office, row))

    assert "<svg" in shown
    assert "Is it sound?" in shown
    assert "Tight wire holds energy" in shown
    assert "Find buried pipes and cables" in shown
    assert "qualified structural person" in shown
    assert "no price yet" in shown
    assert "Make a quote of it" in shown


def test_who_sees_no_prices_sees_goods_without_them(client, row):
    client.force_login(make.staff(role=Staff.Role.OFFICE, sees_prices=False))
    make.price(code="straining_wire", text="Wire", unit="metre", net_price=Decimal("7654.32"))

    shown = words(page(client, row))

    assert "wire tensioner" in shown
    assert "7,654.32" not in shown
    assert "Make a quote of it" not in shown


def test_a_wall_prints_the_cautions_of_masonry(office, wall):
    shown = words(page(office, wall))

    assert "Fix only into masonry that is sound" in shown
    assert "Search the wall for pipes and cables" in shown


# Quotes.


def test_the_bill_becomes_a_draft_offer_opened_for_editing(office, row):
    make.price(code="hour", net_price=Decimal(40))
    make.price(code="line_post", text="Post", unit="piece", net_price=Decimal(9))

    answer = post(office, "support-quote", row)

    quote = Quote.objects.get()
    assert answer["Location"] == reverse("quote-edit", args=[quote.pk])
    assert (quote.client, quote.reference, quote.currency) == (row.site.client, f"support:{row.pk}", "GBP")
    assert quote.lines.filter(is_unpriced=True).exists()
    assert quote.lines.filter(unit="hour").get().unit_price == Decimal(40)
    edit = office.get(answer["Location"])
    asked = {form.initial["text"]: form.initial["unit_price"] for form in edit.context["lines"] if form.initial}
    unpriced = quote.lines.filter(is_unpriced=True)
    assert all(asked[line.text] is None for line in unpriced)
    assert "no price yet" in words(office.get(reverse("quote", args=[quote.pk])))


def test_a_weak_support_is_offered_with_a_warning(office, wall):
    answer = office.post(reverse("support-quote", args=[wall.pk]), follow=True)

    assert "The check finds not enough" in words(answer)


def test_the_page_lists_its_own_offers_only(office, row):
    post(office, "support-quote", row)
    other = make_garden.support(site=row.site)
    post(office, "support-quote", other)
    first, second = Quote.objects.order_by("pk")

    assert [offer.pk for offer in page(office, row).context["offers"]] == [first.pk]
    assert [offer.pk for offer in page(office, other).context["offers"]] == [second.pk]
    assert f"Offer {first}" in words(page(office, row))


def test_asking_twice_opens_the_same_draft(office, row):
    post(office, "support-quote", row)
    post(office, "support-quote", row)

    assert Quote.objects.count() == 1


def test_an_offer_needs_the_right_to_change_books(client, row):
    client.force_login(make.staff(role=Staff.Role.OFFICE, sees_prices=False))

    assert post(client, "support-quote", row).status_code == 404
    assert not Quote.objects.exists()


def test_a_build_that_cannot_be_read_makes_no_offer(office, row):
    row.build = {"wire": {"size": "99 SWG"}}
    row.save()

    answer = office.post(reverse("support-quote", args=[row.pk]), follow=True)

    assert not Quote.objects.exists()
    assert "not in the" in words(answer)


ASKED = {
    "species": "apple_spur",
    "form": "horizontal_tiers",
    "rootstock": "mm106",
    "start": "whip",
    "planted_on": "2026-12-01",
    "begins": "",
    "run": "",
    "cultivar": "Sunset",
}


@pytest.mark.parametrize(("builds", "has_posts"), [("on", True), ("", False)])
def test_a_planting_becomes_an_offer_with_or_without_its_support(office, builds, has_posts):
    row = make_garden.support(length_mm=12_000, wires=())
    make.price(code="young_tree", text="Young tree", unit="tree", net_price=Decimal(28))

    answer = post(office, "design-quote", row, **ASKED, with_support=builds)

    quote = Quote.objects.get()
    assert answer["Location"] == reverse("quote-edit", args=[quote.pk])
    trees = quote.lines.get(unit="tree")
    assert trees.quantity >= 2
    assert trees.unit_price == Decimal(28)
    assert "Sunset" in trees.text
    assert quote.lines.filter(text__contains="post").exists() is has_posts
    assert quote.lines.filter(text__startswith="Plant ").exists()


def test_the_designer_shows_what_a_planting_costs(office):
    row = make_garden.support(length_mm=12_000, wires=())

    shown = words(office.get(reverse("designer", args=[row.pk]), ASKED))

    assert "What it costs" in shown
    assert "there is no price list yet" in shown.lower()


def test_a_planting_that_cannot_be_is_shown_and_not_offered(office):
    row = make_garden.support(length_mm=12_000, wires=())

    answer = post(office, "design-quote", row, **ASKED | {"begins": "30 m"})

    assert answer.status_code == 422
    assert not Quote.objects.exists()


# The build.


def test_posts_and_ends_said_of_a_row_change_its_verdict(office, row):
    before = page(office, row).context["page"].report
    said = {
        "size": "2.5 mm", "grade": "high_tensile", "joint": "grip", "tension_n": "600", "post_kind": "round_softwood",
        "post_size": "125 mm", "post_length": "2.8 m", "post_depth": "90 cm", "post_setting": "driven",
        "end_kind": "h_brace", "end_height": "1.2 m", "end_post_size": "150 mm", "end_post_length": "3 m",
        "end_post_depth": "1.1 m", "end_anchor": "driven_post", "soil": "sand", "exposure": "rural", "gust_m_s": "22",
    }  # fmt: skip

    assert post(office, "support-build", row, **said).status_code == 302

    row.refresh_from_db()
    assert row.build["end"] == {
        "kind": "h_brace", "height": "1.2 m", "anchor": {"kind": "driven_post"},
        "post": {"size": "150 mm", "length": "3 m", "depth": "1.1 m"},
    }  # fmt: skip
    after = page(office, row).context["page"].report
    assert {check.rule: check.verdict for check in after.checks} != {
        check.rule: check.verdict for check in before.checks
    }
    assert len(after.assumed) < len(before.assumed)


def test_stronger_fixings_of_a_wall_cure_its_ends(office, wall):
    def ends():
        checks = page(office, wall).context["page"].report.checks
        return {check.rule: check.ratio for check in checks if check.rule.startswith("end_")}

    before = ends()
    said = {
        "wall": "sound_brick", "end_fixing_kind": "bracket", "end_fixing_diameter": "12 mm",
        "end_fixing_anchor": "resin_stud", "end_fixing_tested_n": "2000",
    }  # fmt: skip
    assert post(office, "support-build", wall, **said).status_code == 302

    after = ends()
    assert max(after.values()) < max(before.values())


def test_what_the_form_does_not_ask_stays(office, row):
    row.build = {"place": {"coldest_c": -20, "soil": "clay"}, "end": {"strands": 3}}
    row.save()

    post(office, "support-build", row, soil="gravel")

    row.refresh_from_db()
    assert row.build == {"place": {"coldest_c": -20, "soil": "gravel"}, "end": {"strands": 3}}


def test_a_slope_tilts_the_drawing(office, row):
    post(office, "support-build", row, slope_percent="8")

    assert "ground rises 8 % to the right" in words(page(office, row))


@pytest.mark.parametrize(
    ("said", "field", "fault"),
    [
        ({"size": "99 SWG"}, "size", "not in the Imperial standard wire gauge"),
        ({"size": "14"}, "size", "names no gauge system"),
        ({"hold_gap": "0 m"}, "hold_gap", "out of range"),
        ({"slope_percent": "90"}, "slope_percent", "at most 60 %"),
        ({"tension_n": "tight"}, "tension_n", "plain number of N"),
        ({"post_length": "1 m", "post_depth": "75 cm"}, "post_length", "stands 250 mm out of the ground"),
        ({"post_length": "1 m", "post_depth": "2 m"}, "post_depth", "2000 mm of a post of 1000 mm"),
        ({"post_size": "9 m"}, "post_size", "out of range"),
        ({"end_post_length": "1.2 m"}, "end_post_length", "out of the ground"),
        ({"end_height": "banana"}, "end_height", "banana"),
        ({"soil": "cheese"}, "soil", "cheese is not on it"),
        ({"gust_m_s": "200"}, "gust_m_s", "at most 80 m/s"),
        ({"built_on": "soon"}, "built_on", "as 2024-03-28"),
    ],
)
def test_a_wrong_build_is_named_beside_its_field(office, row, said, field, fault):
    answer = post(office, "support-build", row, **said)

    assert answer.status_code == 422
    assert fault in " ".join(answer.context["build_form"].errors[field])
    row.refresh_from_db()
    assert row.build == {}


# Care, from the field to what is due.


def test_a_slack_wire_is_read_tightened_and_rests(office, row):
    """The whole way: sag in mm → tension and verdict → work that is due → done → nothing due on that wire."""
    row.build = {"tension_n": 600}
    row.save()
    answer = office.post(
        reverse("support-slack", args=[row.pk]),
        {"wire": "2", "sag_mm": "60", "span": "2 m", "load_kg": "", "on": "2026-11-25"},
        follow=True,
    )

    record = Record.objects.get()
    assert (record.what, record.limb, record.value, record.details) == ("sag", "wire:2", 60.0, {"span_mm": 2000})
    assert "Wire 2: Tighten to 600 N: it sags 60 mm" in words(answer)
    assert ("tighten_wires", "wire:2", True) in care_due(office, row)

    post(
        office,
        "support-record",
        row,
        **{"care-act": "done:tighten_wires", "care-part": "wire:2", "care-on": "2026-11-25"},
    )

    assert not [due for due in care_due(office, row) if due[:2] == ("tighten_wires", "wire:2")]
    assert "60 mm over 2 m" in words(page(office, row))


def test_the_same_sag_under_load_is_a_tighter_wire(office, row):
    for sag, load in (("12", ""), ("12", "20")):
        post(office, "support-slack", row, wire="1", sag_mm=sag, span="2 m", load_kg=load, on="2026-11-25")

    bare, loaded = (_tension(row, record) for record in Record.objects.order_by("pk"))
    assert loaded > bare


def _tension(row, record):
    fact = SupportFact(
        on=record.on, kind="measured", what="sag", part=record.limb, value=record.value,
        span_mm=record.details.get("span_mm"), load_n_m=record.details.get("load_n_m", 0),
    )  # fmt: skip
    return reading_of(row, list(row.trees.all()), fact).now_n


def test_a_leaning_post_is_due_until_it_is_set_straight(office, row):
    lean = {"care-act": "measured:lean", "care-part": "post:2", "care-value": "9", "care-on": "2026-11-20"}
    assert post(office, "support-record", row, **lean).status_code == 302
    assert any(due[:2] == ("straighten_posts", "post:2") for due in care_due(office, row))

    done = {"care-act": "done:straighten_posts", "care-part": "post:2", "care-on": "2026-11-25"}
    post(office, "support-record", row, **done)

    assert not any(due[0] == "straighten_posts" for due in care_due(office, row))


def test_a_broken_wire_is_urgent_until_it_is_renewed(office, row):
    post(
        office,
        "support-record",
        row,
        **{"care-act": "seen:broken_wire", "care-part": "wire:3", "care-on": "2026-11-20"},
    )
    assert ("erect_support", "wire:3", True) in care_due(office, row)

    post(
        office,
        "support-record",
        row,
        **{"care-act": "done:erect_support", "care-part": "wire:3", "care-on": "2026-11-25"},
    )

    assert not any(due[0] == "erect_support" for due in care_due(office, row))


def test_a_gale_brings_the_inspection_forward(office, row):
    post(office, "support-record", row, **{"care-act": "seen:gale", "care-part": "whole", "care-on": "2026-11-24"})
    assert ("inspect", "whole", True) in care_due(office, row)

    post(office, "support-record", row, **{"care-act": "done:inspect", "care-part": "whole", "care-on": "2026-11-25"})

    assert ("inspect", "whole", False) in care_due(office, row)


def test_a_record_taken_back_counts_no_longer(office, row):
    post(
        office,
        "support-record",
        row,
        **{"care-act": "seen:broken_wire", "care-part": "wire:3", "care-on": "2026-11-20"},
    )

    office.post(reverse("support-record-withdraw", args=[Record.objects.get().pk]))

    assert Record.objects.get().is_withdrawn
    assert not any(due[0] == "erect_support" for due in care_due(office, row))


@pytest.mark.parametrize(
    ("said", "field", "fault"),
    [
        ({"span": "0 m"}, "span", "span of nothing"),
        ({"span": "90 m"}, "span", "no span here"),
        ({"sag_mm": "-3"}, "sag_mm", "does not hang upward"),
        ({"sag_mm": "900"}, "sag_mm", "that wire is off"),
        ({"wire": "9"}, "wire", "there are 3 wires"),
        ({"on": "2027-02-01"}, "on", "future"),
        ({"load_kg": "many"}, "load_kg", "plain number of kg"),
    ],
)
def test_a_wrong_reading_is_named_and_not_kept(office, row, said, field, fault):
    answer = post(
        office, "support-slack", row, **{"wire": "1", "sag_mm": "12", "span": "2 m", "on": "2026-11-25"} | said
    )

    assert answer.status_code == 422
    assert fault in " ".join(answer.context["slack_form"].errors[field])
    assert not Record.objects.exists()


@pytest.mark.parametrize(
    ("said", "field", "fault"),
    [
        ({"care-act": ""}, "act", "Say what was done"),
        ({"care-part": "post:99"}, "part", "no such part"),
        ({"care-act": "measured:lean", "care-part": "post:2"}, "value", "is missing"),
        ({"care-act": "measured:lean", "care-part": "post:2", "care-value": "80"}, "value", "cannot be"),
        ({"care-act": "measured:lean", "care-part": "wire:1", "care-value": "4"}, "part", "on no post"),
        ({"care-act": "measured:pull", "care-part": "post:1", "care-value": "40"}, "part", "on no wire"),
    ],
)
def test_a_wrong_fact_is_named_beside_its_field(office, row, said, field, fault):
    facts = {"care-act": "done:inspect", "care-part": "whole", "care-on": "2026-11-25"} | said
    answer = post(office, "support-record", row, **facts)

    assert answer.status_code == 422
    assert fault in " ".join(answer.context["care_form"].errors[field])
    assert not Record.objects.exists()


# Several rows.


def test_several_rows_are_drawn_with_the_sun_that_decides(office, row):
    shown = page(office, row, count="3", runs="0", rises_percent="-5", sun_hours="", day="")

    assert shown.status_code == 200
    assert shown.context["rows"].depth_mm == 2 * shown.context["rows"].spacing.spacing_mm
    assert "section across 3 rows" in words(shown)
    assert "3 rows from above" in words(shown)


@pytest.mark.parametrize(
    ("asked", "field", "fault"),
    [
        ({"runs": "400"}, "runs", "bearing of 400° is none"),
        ({"count": "1"}, "count", "One row shades no other"),
        ({"rises_percent": "80"}, "rises_percent", "at most 60 %"),
        ({"day": "soon"}, "day", "as 2026-09-21"),
    ],
)
def test_rows_that_cannot_be_are_named(office, row, asked, field, fault):
    shown = page(office, row, **{"count": "3", "runs": "0"} | asked)

    assert shown.status_code == 422
    assert fault in " ".join(shown.context["rows_form"].errors[field])


def test_a_wall_is_asked_nothing_of_rows(office, wall):
    assert "Several rows like it" not in words(page(office, wall))


# Who may.


@pytest.mark.parametrize("name", ["support-build", "support-slack", "support-record", "support-quote", "design-quote"])
def test_a_crew_changes_nothing_of_a_support(client, row, name):
    client.force_login(make.staff(role=Staff.Role.CREW))

    assert post(client, name, row).status_code == 404


def test_a_crew_takes_no_record_back(client, row):
    record = Record.objects.create(
        support=row, on=date(2026, 11, 20), kind="seen", what="gale", source="office", entered_at=clock.now()
    )
    client.force_login(make.staff(role=Staff.Role.CREW))

    assert client.post(reverse("support-record-withdraw", args=[record.pk])).status_code == 404
    record.refresh_from_db()
    assert not record.is_withdrawn
