"""The evening before: one mail for each visit and day, in the garden's own day."""

from __future__ import annotations

from datetime import date

import pytest

from business.models import Message
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
