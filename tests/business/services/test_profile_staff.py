"""The business itself and the people who sign in."""

from __future__ import annotations

import pytest
from django.db import IntegrityError, transaction

from business.errors import BadInput, NotAllowed
from business.models import BusinessProfile, Staff
from business.queries.profile import our_profile, profile_is_stored
from business.services.profile import save_profile
from business.services.staff import add_staff, change_staff
from tests import make

pytestmark = pytest.mark.django_db


def test_before_anything_is_stored_there_are_defaults():
    assert not profile_is_stored()
    assert (our_profile().name, our_profile().currency) == ("Your business", "GBP")


def test_the_profile_is_one_row_changed_in_place():
    save_profile(name="Hollis & Daughter")
    save_profile(currency="EUR")

    assert BusinessProfile.objects.count() == 1
    assert (our_profile().name, our_profile().currency) == ("Hollis & Daughter", "EUR")


@pytest.mark.parametrize(
    "values", [{"zone": "Europe/Nowhere"}, {"country": "gb"}, {"latitude": "91"}, {"payment_terms_days": 400}]
)
def test_a_profile_that_cannot_be_is_refused(values):
    with pytest.raises(BadInput):
        save_profile(name="Hollis", **values)

    assert not profile_is_stored()


def test_the_table_refuses_a_second_business():
    make.profile()

    with pytest.raises(IntegrityError), transaction.atomic():
        BusinessProfile(pk=2, name="Another").save()


@pytest.mark.parametrize(
    ("role", "sees"), [("owner", True), ("office", True), ("accountant", True), ("crew_lead", False), ("crew", False)]
)
def test_prices_are_seen_by_role(role, sees):
    assert add_staff(username="ada", name="Ada", role=role).sees_prices is sees


def test_crew_cannot_be_given_sight_of_prices():
    with pytest.raises(BadInput):
        add_staff(username="corin", name="Corin", role="crew", sees_prices=True)

    assert not Staff.objects.exists()


def test_a_weak_password_is_refused_with_reasons():
    with pytest.raises(BadInput) as refusal:
        add_staff(username="corin", name="Corin", role="crew", password="pear")  # noqa: S106 – refused is the point

    assert {fault.where for fault in refusal.value.faults} == {"password"}


def test_mail_addresses_are_used_once_in_any_case():
    make.staff(email="ada@example.com")

    with pytest.raises(BadInput):
        make.staff(email="ADA@example.com")


def test_the_last_owner_stays(owner):
    with pytest.raises(NotAllowed):
        change_staff(staff=owner, by=owner, role="office")

    owner.refresh_from_db()
    assert owner.role == "owner"


def test_an_owner_may_go_when_there_is_another(owner):
    other = make.staff(role="owner")

    assert change_staff(staff=owner, by=other, is_active=False).is_active is False
