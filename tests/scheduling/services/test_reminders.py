"""The evening before: one mail for each visit and day, in the garden's own day."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.urls import reverse

from business.errors import BadInput
from business.models import Message
from scheduling.models import ReminderRule
from scheduling.services.reminders import write_reminders
from tests import make, make_garden

pytestmark = pytest.mark.django_db
DAY = date(2027, 1, 12)


@pytest.fixture
def visit():
    make.profile()
    return make_garden.visit(on=DAY, site=make_garden.site(client=make.client(email="rosa@example.com")))


def test_a_visit_tomorrow_is_told_once(visit):
    first = write_reminders(at=make_garden.utc(2027, 1, 11, 15))
    second = write_reminders(at=make_garden.utc(2027, 1, 11, 16))

    assert (first, second) == (1, 0)
    message = Message.objects.get()
    assert message.to == "rosa@example.com"
    assert "12 January" in message.subject
    assert "in the morning" in message.body


@pytest.mark.parametrize(
    "at", [make_garden.utc(2027, 1, 10, 15), make_garden.utc(2027, 1, 12, 9), make_garden.utc(2027, 1, 11, 5)]
)
def test_no_reminder_too_early_too_late_or_at_night(visit, at):
    assert write_reminders(at=at) == 0


def test_a_moved_visit_is_told_again(visit):
    write_reminders(at=make_garden.utc(2027, 1, 11, 15))
    visit.on = date(2027, 1, 14)
    visit.save()

    assert write_reminders(at=make_garden.utc(2027, 1, 13, 15)) == 1


def test_tomorrow_is_the_gardens_tomorrow():
    make.profile()
    far = make_garden.site(time_zone="Pacific/Auckland", client=make.client(email="kiri@example.com"))
    make_garden.visit(on=DAY, site=far)

    # 22:00 UTC on the 10th is 11:00 on the 11th in Auckland (UTC+13 in January).
    assert write_reminders(at=make_garden.utc(2027, 1, 10, 22)) == 1


def test_whoever_stopped_reminders_gets_none(visit):
    visit.site.client.stopped_kinds = ["reminder"]
    visit.site.client.save()

    assert write_reminders(at=make_garden.utc(2027, 1, 11, 15)) == 0


@pytest.mark.parametrize("state", ["finished", "called_off"])
def test_a_visit_that_is_over_or_off_is_not_announced(visit, state):
    visit.state, visit.reason, visit.finished_at = state, "rain", make_garden.utc(2027, 1, 11)
    visit.save()

    assert write_reminders(at=make_garden.utc(2027, 1, 11, 15)) == 0


# The rules: hours, days, and the nights when clocks change.


def set_rule(kind, **values):
    from scheduling.services.reminders import save_rule

    return save_rule(kind=kind, **values)


def test_a_rule_that_is_off_sends_nothing(visit):
    set_rule("reminder", is_on=False)
    assert write_reminders(at=make_garden.utc(2027, 1, 11, 15)) == 0


def test_a_longer_notice_is_given_once(visit):
    set_rule("reminder", days=3)

    sent = [write_reminders(at=make_garden.utc(2027, 1, day, 15)) for day in (8, 9, 10, 11)]

    assert sent == [0, 1, 0, 0]
    assert "on Tuesday, 12 January" in Message.objects.get().subject


def test_a_day_missed_by_the_clock_is_told_later(visit):
    set_rule("reminder", days=3)
    assert write_reminders(at=make_garden.utc(2027, 1, 11, 15)) == 1
    assert "tomorrow" in Message.objects.get().subject


@pytest.mark.parametrize("values", [{"from_hour": 20, "until_hour": 8}, {"days": 99}, {"weekday": 9}])
def test_hours_and_days_that_cannot_be_are_refused(values):
    with pytest.raises(BadInput):
        set_rule("reminder", **values)
    assert not ReminderRule.objects.exists()


# The nights clocks change, from the zone data: London and New York by an hour, Sydney the other way round, Lord Howe by
# half an hour (IANA time zone database). (zone, day before the visit, first minute of the hours in UTC)
CLOCK_CHANGES = [
    ("Europe/London", date(2027, 3, 28), (28, 7, 0)),
    ("Europe/London", date(2027, 10, 31), (31, 8, 0)),
    ("America/New_York", date(2027, 3, 14), (14, 12, 0)),
    ("America/New_York", date(2027, 11, 7), (7, 13, 0)),
    ("Australia/Sydney", date(2027, 10, 3), (2, 21, 0)),
    ("Australia/Sydney", date(2027, 4, 4), (3, 22, 0)),
    ("Australia/Lord_Howe", date(2027, 10, 3), (2, 21, 0)),
    ("Australia/Lord_Howe", date(2027, 4, 4), (3, 21, 30)),
]


@pytest.mark.parametrize(("zone", "eve", "first"), CLOCK_CHANGES, ids=lambda value: str(value))
def test_hours_hold_on_days_when_clocks_change(zone, eve, first):
    make.profile()
    garden = make_garden.site(time_zone=zone, client=make.client(email="rosa@example.com"))
    make_garden.visit(on=eve + timedelta(days=1), site=garden, opens=eve, best_from=eve, best_until=eve, closes=eve)
    day, hour, minute = first
    opens = make_garden.utc(eve.year, eve.month, day, hour) + timedelta(minutes=minute)

    assert write_reminders(at=opens - timedelta(minutes=1)) == 0
    assert write_reminders(at=opens) == 1
    assert "tomorrow" in Message.objects.get().subject


def test_each_visit_is_told_once_through_the_changing_night():
    """Asked every ten minutes over three days around the change, each of three gardens hears once."""
    make.profile()
    for zone in ("Europe/London", "Australia/Sydney", "Pacific/Kiritimati"):
        garden = make_garden.site(time_zone=zone, client=make.client(email="rosa@example.com"))
        make_garden.visit(on=date(2027, 3, 29), site=garden)
    start = make_garden.utc(2027, 3, 27)

    for minutes in range(0, 3 * 24 * 60, 50):
        write_reminders(at=start + timedelta(minutes=minutes))

    assert Message.objects.count() == 3


# The crew, the evening before.


@pytest.fixture
def evening():
    make.profile()
    person = make.staff(role="crew", email="corin@example.com")
    crew = make_garden.crew(members=(person, make.staff(role="crew")))
    due = make_garden.need(materials=[["soft_tie", 12]], weather_rule="D24")
    due.site.access_notes = "Code 4711"
    due.site.save()
    return make_garden.visit(needs=(due,), on=DAY, crew=crew, weather_rules=["D24"], site=due.site)


def test_the_crew_hears_round_weather_and_load_once(evening):
    at = make_garden.utc(2027, 1, 11, 17)
    assert [write_reminders(at=at) for _ in range(2)][1] == 0

    message = Message.objects.get(kind="crew_evening")
    assert message.to == "corin@example.com"
    assert evening.site.name in message.body
    assert "Cut only on a dry day" in message.body
    assert "12" in message.body.split("Load the van:")[1]
    assert "4711" not in message.body


@pytest.mark.parametrize("hour", [9, 15, 20])
def test_the_crew_is_left_alone_by_day_and_night(evening, hour):
    write_reminders(at=make_garden.utc(2027, 1, 11, hour))
    assert not Message.objects.filter(kind="crew_evening").exists()


# The office, once a week.

MONDAY = make_garden.utc(2027, 2, 22, 9)


@pytest.fixture
def at_desk():
    make.profile()
    return make.staff(role="office", email="oriel@example.com", sees_prices=False)


def kinds() -> list[str]:
    return sorted(Message.objects.values_list("kind", flat=True))


def test_windows_that_close_are_told_once_a_week(at_desk):
    due = make_garden.need()

    assert write_reminders(at=MONDAY) == 1
    assert write_reminders(at=MONDAY + timedelta(hours=3)) == 0
    assert write_reminders(at=MONDAY + timedelta(days=2)) == 0

    message = Message.objects.get()
    assert (message.kind, message.to) == ("windows_closing", "oriel@example.com")
    assert f"until 28 February: Winter prune, {due.tree.label}" in message.body


def test_a_missed_monday_is_made_up_for(at_desk):
    make_garden.need()
    assert write_reminders(at=MONDAY + timedelta(days=3)) == 1


def test_nothing_to_decide_is_no_mail(at_desk):
    assert write_reminders(at=MONDAY) == 0


def test_ties_and_unplaced_work_have_mails_of_their_own(at_desk):
    from scheduling.models import Unplaced

    make_garden.need(kind="remove_ties", closes=date(2027, 3, 1))
    lost = make_garden.visit()
    Unplaced.objects.create(visit=lost, code="no_day", why="No crew has the hours.")

    write_reminders(at=MONDAY)

    assert kinds() == ["ties_due", "unplaced", "windows_closing"]
    assert "No crew has the hours." in Message.objects.get(kind="unplaced").body


def test_late_invoices_go_to_those_who_see_prices(at_desk):
    paper = make.invoice(issued_on=date(2027, 1, 4), client=make.client(name="Rosa"))
    tuesday = MONDAY + timedelta(days=1)

    write_reminders(at=tuesday)
    assert "overdue" not in kinds()

    make.staff(role="owner", email="olwen@example.com", sees_prices=True)
    write_reminders(at=tuesday)
    message = Message.objects.get(kind="overdue")
    assert message.to == "olwen@example.com"
    assert f"{paper.number}, Rosa: £120.00, 20 days late" in message.body


def test_the_office_changes_a_rule_on_its_page(client, at_desk):
    client.force_login(at_desk)
    sent = {"kind": "reminder", "reminder-is_on": "on", "reminder-days": "2", "reminder-from_hour": "9"}

    assert client.post(reverse("reminders"), {**sent, "reminder-until_hour": "7"}).status_code == 422
    assert client.post(reverse("reminders"), {**sent, "reminder-until_hour": "18"}).status_code == 302

    rule = ReminderRule.objects.get()
    assert (rule.kind, rule.days, rule.from_hour, rule.until_hour, rule.weekday) == ("reminder", 2, 9, 18, None)
    assert client.post(reverse("reminders"), {"kind": "nonsense"}).status_code == 404
    assert "Monday" in client.get(reverse("reminders")).content.decode()
