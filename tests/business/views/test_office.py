"""The outbox, the business and its people."""

from __future__ import annotations

import pytest
from django.urls import reverse

from business.models import BusinessProfile, Message, Staff
from business.services.messages import send_message
from tests import make
from tests.business.post_office import open_post_office

pytestmark = pytest.mark.django_db


def text(answer) -> str:
    return str(answer.content.decode())


@pytest.fixture
def refused(settings):
    """A message the mail server would not take."""
    with open_post_office(settings) as post_office:
        post_office.manner = "refuses"
        message = make.message(subject="We come on Tuesday")
        send_message(message_id=message.pk)
        yield message


def test_messages_that_need_somebody_are_counted_on_top(at_office, refused):
    page = text(at_office.get(reverse("messages")))

    assert "1 message needs somebody" in page
    assert "no such reader" in page


def test_messages_are_filtered_by_state_and_words(at_office, refused):
    make.message(subject="Your report")

    assert "Your report" not in text(at_office.get(reverse("messages"), {"state": "refused"}))
    assert "Your report" in text(at_office.get(reverse("messages"), {"words": "report"}))


def test_a_person_sends_again_with_a_reason(at_office, refused):
    at_office.post(reverse("message-again", args=[refused.pk]), {"reason": "New address", "to": "new@example.com"})

    assert Message.objects.filter(to="new@example.com", state="waiting").count() == 1


def test_sending_again_without_a_reason_comes_back(at_office, refused):
    answer = at_office.post(reverse("message-again", args=[refused.pk]), {"reason": ""})

    assert answer.status_code == 422
    assert Message.objects.count() == 1


def test_a_waiting_message_is_stopped(at_office):
    message = make.message()

    at_office.post(reverse("message-stop", args=[message.pk]), {"reason": "Called off"})

    message.refresh_from_db()
    assert (message.state, message.error) == ("stopped", "Called off")


def test_the_owner_stores_the_business(client, owner):
    client.force_login(owner)
    page = client.get(reverse("business-profile"))
    values = {name: "" if value is None else value for name, value in page.context["form"].initial.items()}
    sent = values | {
        "name": "Hollis & Daughter",
        "address": "The Bothy",
        "charges_late_interest": "",
        "prices_include_tax": "",
    }

    answer = client.post(reverse("business-profile"), sent)

    assert answer.status_code == 302
    assert BusinessProfile.objects.get().name == "Hollis & Daughter"


def test_a_business_in_no_time_zone_comes_back(client, owner):
    client.force_login(owner)
    values = {
        name: "" if value is None else value
        for name, value in client.get(reverse("business-profile")).context["form"].initial.items()
    }

    answer = client.post(reverse("business-profile"), values | {"name": "Hollis", "zone": "Europe/Nowhere"})

    assert answer.status_code == 422
    assert "No time zone" in text(answer)
    assert not BusinessProfile.objects.exists()


def test_the_owner_adds_somebody_and_changes_them(client, owner):
    client.force_login(owner)
    sent = {
        "name": "Corin",
        "username": "corin",
        "role": "crew",
        "is_active": "on",
        "password": "seven pears on a wall",
    }
    client.post(reverse("person-new"), sent)
    corin = Staff.objects.get(username="corin")
    assert corin.check_password("seven pears on a wall")

    client.post(
        reverse("person", args=[corin.pk]),
        {"name": "Corin Vale", "username": "corin", "role": "crew_lead", "is_active": "on"},
    )

    corin.refresh_from_db()
    assert (corin.name, corin.role) == ("Corin Vale", "crew_lead")
    assert corin.check_password("seven pears on a wall")


def test_crew_cannot_be_shown_prices(client, owner):
    client.force_login(owner)
    sent = {"name": "Corin", "username": "corin", "role": "crew", "is_active": "on", "sees_prices": "on"}

    answer = client.post(reverse("person-new"), sent)

    assert answer.status_code == 422
    assert not Staff.objects.filter(username="corin").exists()


def test_the_last_owner_cannot_lock_themselves_out(client, owner):
    client.force_login(owner)

    answer = client.post(reverse("person", args=[owner.pk]), {"name": "Olwen", "username": "olwen", "role": "crew"})

    assert answer.status_code == 422
    owner.refresh_from_db()
    assert owner.role == "owner"


def test_signing_out_is_a_press_not_a_link(at_office):
    assert at_office.get(reverse("sign-out")).status_code == 405
    at_office.post(reverse("sign-out"))
    assert "_auth_user_id" not in at_office.session
