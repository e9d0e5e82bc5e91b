"""The page "How we train": what it shows, whom it lets in, what it refuses, and that the trees follow."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
from django.urls import reverse

from business import clock
from business.errors import AlreadyDone, BadInput, NotAllowed, Stale
from business.models import BusinessProfile, ChangeNote, Staff
from gardens.knowledge.practice_schema import practice_choices
from gardens.models import HousePractice
from gardens.services.due import DueBook
from gardens.services.practice import keep_practice, our_practice, train_as_usual
from gardens.services.practice_page import read_choice, share_words
from gardens.services.standing import outlook
from gardens.training import FORM_ONLY
from tests import make, make_garden

pytestmark = pytest.mark.django_db


@pytest.fixture
def ann():
    return make.staff(role=Staff.Role.OFFICE, name="Ann Orchard")


@pytest.fixture
def office(client, ann):
    client.force_login(ann)
    return client


def page(client):
    return client.get(reverse("practice")).content.decode()


def written(client, **changes):
    """The form as the page shows it, with some boxes changed."""
    form = client.get(reverse("practice")).context["form"]
    shown = {name: form.get_initial_for_field(field, name) for name, field in form.fields.items()}
    return {name: "" if value is None else value for name, value in {**shown, **changes}.items()}


def kept(client, **changes):
    return client.post(reverse("practice-keep"), written(client, **changes))


@pytest.fixture
def in_december(monkeypatch):
    """Every page is asked on 20 December 2026."""
    monkeypatch.setattr(clock, "now", lambda: datetime(2026, 12, 20, 12, tzinfo=UTC))


# -- the page -------------------------------------------------------------------------------------------------------


def test_page_shows_every_choice_with_reason_and_source(office):
    shown = page(office)

    for choice in practice_choices().values():
        assert f'id="choice-{choice.id}"' in shown
        for words in (choice.label, choice.why, *(way.why for way in choice.options)):
            assert words.replace("'", "&#x27;") in shown
    assert shown.count("Source: ") >= len(practice_choices())
    assert "we train as usual" in shown


def test_page_names_the_work_a_choice_changes(office):
    shown = page(office)
    low = shown[shown.index('id="choice-low_shoots"') :]

    assert "Changes: take off low shoots while dormant; pinch in summer." in low[: low.index('id="choice-keep_spare')]


def test_kept_choice_is_shown_beside_the_usual(office):
    answer = kept(office, low_shoots="remove", full_share="90 %", reason="Clean stems please our clients.")

    assert answer.status_code == 302
    assert our_practice().low_shoots == "remove"
    assert our_practice().full_share == pytest.approx(0.9)
    shown = page(office)
    assert "Where we do otherwise" in shown
    assert "Clean stems please our clients." in shown
    assert "Ann Orchard" in shown
    assert "Usual: 95 %" in shown


def test_wrong_boxes_are_told_beside_each_field(office):
    answer = kept(office, full_share="2", heading_margin_mm="tall", renovation_seasons="9", arm_winter_cut="half")

    assert answer.status_code == 422
    errors = answer.context["form"].errors
    assert set(errors) == {"heading_margin_mm", "arm_winter_cut"}
    assert "not a length" in errors["heading_margin_mm"][0]
    answer = kept(office, full_share="12 %", renovation_seasons="9")
    assert answer.status_code == 422
    errors = answer.context["form"].errors
    assert errors["full_share"] == ["This is out of range: give 1/2 to 100 %."]
    assert errors["renovation_seasons"] == ["This is out of range: give 1 season to 6 seasons."]
    assert not HousePractice.objects.exists()


def test_lengths_are_read_and_shown_in_our_units(office):
    BusinessProfile.objects.update_or_create(pk=1, defaults={"name": "Wall & Wire", "units": "imperial"})
    kept(office, heading_margin_mm="-2 in", first_cut_mm="12")

    assert our_practice().heading_margin_mm == -51
    assert our_practice().first_cut_mm == 305
    assert 'value="−2 in"' in page(office)
    assert 'value="12 in"' in page(office)


def test_one_button_goes_back_to_usual(office):
    kept(office, low_shoots="remove", balance_turn_deg="20°")
    answer = office.post(reverse("practice-usual"), follow=True)

    assert "We train as usual again." in answer.content.decode()
    assert our_practice() == FORM_ONLY
    again = office.post(reverse("practice-usual"), follow=True)
    assert "is the usual one already" in again.content.decode()


def test_page_somebody_else_changed_meanwhile_is_refused(office, ann):
    stale = written(office, low_shoots="remove")
    keep_practice(choices={"full_share": 0.8}, by=ann)
    answer = office.post(reverse("practice-keep"), stale)

    assert answer.status_code == 422
    assert "changed by somebody else" in answer.content.decode()
    assert our_practice().low_shoots == "keep_first_year"


@pytest.mark.parametrize("role", [Staff.Role.CREW, Staff.Role.ACCOUNTANT])
def test_page_is_closed_to_crews_and_accountants(client, role):
    client.force_login(make.staff(role=role))

    assert client.get(reverse("practice")).status_code == 404
    assert client.post(reverse("practice-keep"), {}).status_code == 404
    assert client.post(reverse("practice-usual")).status_code == 404
    assert not HousePractice.objects.exists()


def test_rules_page_leads_to_how_we_train(office):
    assert reverse("practice") in office.get(reverse("rules")).content.decode()


# -- the service ----------------------------------------------------------------------------------------------------


def test_every_change_is_noted_with_before_and_after(ann):
    keep_practice(choices={"low_shoots": "remove"}, by=ann, reason="Clean stems.")
    train_as_usual(by=ann)

    first, second = ChangeNote.objects.filter(reference="practice:1").order_by("pk")
    assert (first.by_words, first.after["low_shoots"]) == ("Ann Orchard", "remove")
    assert second.before == {"low_shoots": "remove", "reason": "Clean stems."}
    assert HousePractice.objects.get().revision == 2


def test_service_refuses_crew_nothing_and_stale(ann):
    crew = make.staff(role=Staff.Role.CREW)
    with pytest.raises(NotAllowed):
        keep_practice(choices={"low_shoots": "remove"}, by=crew)
    with pytest.raises(NotAllowed):
        train_as_usual(by=crew)
    with pytest.raises(AlreadyDone):
        train_as_usual(by=ann)
    with pytest.raises(BadInput, match="nothing was changed"):
        keep_practice(choices={"low_shoots": "keep_first_year"}, by=ann)
    with pytest.raises(Stale):
        keep_practice(choices={"low_shoots": "remove"}, by=ann, seen=3)


def test_choice_that_no_longer_fits_rests(office, ann):
    HousePractice.objects.create(
        pk=1, choices={"low_shoots": "remove", "gone": 3}, changed_by=ann, changed_at=clock.now()
    )

    assert our_practice().low_shoots == "remove"
    assert "This rests: gone" in page(office)


@pytest.mark.parametrize(
    ("text", "share"), [("1/3", 1 / 3), ("33 %", 0.33), ("0,5", 0.5), ("80", 0.8), ("1", 1.0), (" ", None)]
)
def test_shares_are_read_as_people_write_them(text, share):
    assert read_choice(practice_choices()["full_share"], text, "metric") == (share and pytest.approx(share))


@pytest.mark.parametrize("text", ["a third", "1/0", "-3 %", "1/3/3"])
def test_shares_that_make_no_sense_are_refused(text):
    with pytest.raises(ValueError, match="write it as 1/3"):
        read_choice(practice_choices()["full_share"], text, "metric")


def test_shares_are_shown_as_simple_fractions_or_percent():
    assert [share_words(share) for share in (1 / 3, 0.5, 0.95, 1.0)] == ["1/3", "1/2", "95 %", "100 %"]


# -- what it changes ------------------------------------------------------------------------------------------------


def test_changed_practice_changes_the_next_steps_of_the_tree_page(in_december, office):
    """Common practice knows both ways with low shoots in the first year; the page follows the one we keep."""
    tree = make_garden.tree(planted_on=date(2026, 11, 29), start="whip")
    before = office.get(reverse("tree", args=[tree.pk])).content.decode()
    kept(office, low_shoots="remove", heading_margin_mm="-10 cm")
    after = office.get(reverse("tree", args=[tree.pk])).content.decode()

    assert "50 cm above the ground, 5 cm above" in before
    assert "35 cm above the ground, 10 cm below" in after
    assert "to three leaves" in before
    assert "to three leaves" not in after
    assert "Rub off every shoot on the trunk" in after


def test_changed_practice_moves_forecast_and_due_work_alike(ann):
    close_wires = make_garden.support(wires=(400, 700, 1000))
    tree = make_garden.tree(support=close_wires, planted_on=date(2025, 12, 1), start="whip")
    on = date(2026, 1, 10)
    before = outlook(tree, on).forecast.tiers[1][2]
    keep_practice(choices={"wait_for_strong_first_arms": True}, by=ann)

    assert outlook(tree, on).forecast.tiers[1][2] > before
    work = DueBook(date(2027, 1, 10)).work_of(tree.site, tree, 2027).work
    assert "one bud" in " ".join(need.instruction for need in work.needs)
