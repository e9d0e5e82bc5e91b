"""Frost on bloom, quiet phones, papers that end: told to the office once, in its hours."""

from __future__ import annotations

import re
import uuid
from datetime import date, timedelta

import pytest

from business.models import Agreement, Message
from business.services.licences import save_licence
from gardens.models.weather import DailyWeather
from scheduling.models import HandedOut, Phone
from scheduling.services.reminders import save_rule, write_reminders
from tests import make, make_garden
from tests.gardens.services.stations import station

pytestmark = pytest.mark.django_db
SPRING = make_garden.utc(2027, 4, 20, 9)  # 10:00 in London
NIGHT = date(2027, 4, 22)


@pytest.fixture
def desk():
    make.profile()
    return make.staff(role="office", email="oriel@example.com", sees_prices=False)


def told(kind: str) -> list[Message]:
    return list(Message.objects.filter(kind=kind).order_by("pk"))


def forecast(where, night: date, tmin_c: float) -> None:
    DailyWeather.objects.create(station=where, on=night, tmin_c=tmin_c, tmax_c=tmin_c + 12, is_forecast=True)


@pytest.fixture
def in_bloom(desk):
    """An apple seen in full bloom the day before, at a station that forecasts."""
    moor = station()
    site = make_garden.site(name="Quill House", station=moor)
    tree = make_garden.tree(support=make_garden.support(site=site))
    make_garden.record(
        tree=tree, on=date(2027, 4, 19), kind="seen", what="stage", limb="whole", value=None, text="full_bloom"
    )
    return moor


# Common practice, and the critical temperatures of Washington State University for apples: at full bloom a tenth of the
# buds die at 28 °F (−2.2 °C), nine tenths at 25 °F (−3.9 °C).
def test_a_frost_on_bloom_is_told_once_however_often_forecast(in_bloom):
    forecast(in_bloom, NIGHT, -3.0)
    write_reminders(at=SPRING)
    write_reminders(at=SPRING + timedelta(hours=1))
    DailyWeather.objects.update(tmin_c=-3.4)
    write_reminders(at=SPRING + timedelta(days=1))

    (message,) = told("frost_on_bloom")
    assert message.subject == "Frost on bloom, Thursday 22 April: 1 garden"
    assert "Quill House: " in message.body
    assert re.search(r"Quill House: .*full bloom.* −?-?(2\.9|3)\S* °C \(-2\.2\d? °C kills a tenth", message.body), (
        message.body
    )
    assert "Cover the trees the evening before" in message.body
    assert (message.from_hour, message.until_hour) == (7, 20)


def test_a_second_cold_night_is_told_too(in_bloom):
    forecast(in_bloom, NIGHT, -3.0)
    write_reminders(at=SPRING)
    forecast(in_bloom, NIGHT + timedelta(days=1), -4.0)
    write_reminders(at=SPRING + timedelta(hours=2))
    assert [message.subject.split(":")[0] for message in told("frost_on_bloom")] == [
        "Frost on bloom, Thursday 22 April",
        "Frost on bloom, Friday 23 April",
    ]


@pytest.mark.parametrize(("tmin_c", "is_told"), [(-3.0, True), (2.0, False), (8.0, False)])
def test_only_nights_that_harm_are_told(in_bloom, tmin_c, is_told):
    forecast(in_bloom, NIGHT, tmin_c)
    write_reminders(at=SPRING)
    assert bool(told("frost_on_bloom")) is is_told


def test_measured_nights_and_far_nights_are_not_told(in_bloom):
    forecast(in_bloom, NIGHT + timedelta(days=5), -5.0)
    DailyWeather.objects.create(station=in_bloom, on=NIGHT, tmin_c=-5.0, tmax_c=8.0)
    write_reminders(at=SPRING)
    assert not told("frost_on_bloom")


def test_a_dormant_tree_is_not_worried_about(desk):
    moor = station()
    make_garden.tree(support=make_garden.support(site=make_garden.site(station=moor)))
    forecast(moor, date(2027, 1, 13), -6.0)
    write_reminders(at=make_garden.utc(2027, 1, 11, 9))
    assert not told("frost_on_bloom")


@pytest.mark.parametrize(("hours", "minutes"), [(-5, 0), (12, 0), (0, 30)])
def test_frost_is_looked_at_hourly_and_by_day(in_bloom, hours, minutes):
    forecast(in_bloom, NIGHT, -3.0)
    write_reminders(at=SPRING + timedelta(hours=hours, minutes=minutes))
    assert not told("frost_on_bloom")


# Phones.


def phone(at, **more) -> Phone:
    owner = more.pop("staff", None) or make.staff(role="crew", name="Corin Vale")
    given = {"first_seen_at": at, "last_seen_at": at, "uid": uuid.uuid4(), **more}
    return Phone.objects.create(staff=owner, **given)


def test_a_phone_that_holds_work_is_told_once_per_silence(desk):
    quiet = phone(SPRING - timedelta(days=2), waiting=3, photos_waiting=1)
    phone(SPRING - timedelta(hours=2), waiting=9)
    write_reminders(at=SPRING)
    write_reminders(at=SPRING + timedelta(hours=3))

    (message,) = told("phones_silent")
    assert message.subject == "1 phone with work not sent"
    assert "Corin Vale: 3 acts and 1 photo waiting, last heard 2 days ago" in message.body

    Phone.objects.filter(pk=quiet.pk).update(last_seen_at=SPRING + timedelta(hours=4))
    write_reminders(at=SPRING + timedelta(days=1))
    assert len(told("phones_silent")) == 2  # the other one, quiet for a day by then


def test_a_phone_with_a_past_round_nobody_closed_is_told(desk):
    person = make.staff(role="crew", name="Corin Vale")
    visit = make_garden.visit(on=date(2027, 4, 18), crew=make_garden.crew(members=(person,)))
    silent = phone(SPRING - timedelta(days=3), staff=person)
    HandedOut.objects.create(phone=silent, staff=person, visit=visit, first_at=SPRING - timedelta(days=3))
    write_reminders(at=SPRING)
    assert "a past round that nobody closed" in told("phones_silent")[0].body


def test_phones_that_sent_all_or_were_lost_are_left_alone(desk):
    phone(SPRING - timedelta(days=9))
    phone(SPRING - timedelta(days=9), waiting=4, lost_at=SPRING)
    write_reminders(at=SPRING)
    assert not told("phones_silent")


# Licences and agreements, on Mondays.

MONDAY = make_garden.utc(2027, 2, 22, 9)


def test_licences_that_end_are_told_on_mondays(desk):
    person = make.staff(role="crew", name="Corin Vale")
    save_licence(name="Spraying certificate", staff=person, valid_until=date(2027, 3, 20))
    save_licence(name="Public liability", valid_until=date(2027, 2, 10))
    save_licence(name="Far away", valid_until=date(2028, 1, 1))
    save_licence(name="Given up", valid_until=date(2027, 3, 1), is_dropped=True)
    write_reminders(at=MONDAY)
    write_reminders(at=MONDAY + timedelta(days=1))

    (message,) = told("papers_ending")
    assert "ends 20 March 2027: Spraying certificate, Corin Vale" in message.body
    assert "ended 10 February 2027: Public liability, the business itself" in message.body
    assert "Far away" not in message.body
    assert "Given up" not in message.body


def test_agreements_nothing_follows_are_told(desk):
    ending = make.agreement(client=make.client(name="Rosa Quill"), valid_until=date(2027, 3, 31))
    renewed = make.agreement(client=make.client(name="Otto Brand"), valid_until=date(2027, 3, 31))
    make.agreement(client=renewed.client, valid_from=date(2027, 4, 1))
    assert Agreement.objects.count() == 3
    write_reminders(at=MONDAY)

    (message,) = told("papers_ending")
    assert f"ends 31 March 2027: agreement with {ending.client.name}" in message.body
    assert "Otto Brand" not in message.body


@pytest.mark.parametrize("kind", ["frost_on_bloom", "phones_silent", "papers_ending"])
def test_a_kind_that_is_off_sends_nothing(in_bloom, kind):
    forecast(in_bloom, NIGHT, -3.0)
    phone(SPRING - timedelta(days=2), waiting=3)
    save_licence(name="Spraying certificate", valid_until=date(2027, 4, 20))
    save_rule(kind=kind, is_on=False)
    write_reminders(at=SPRING)
    assert not told(kind)
