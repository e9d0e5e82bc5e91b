"""Codes of an app and codes on paper: right once, never twice."""

from __future__ import annotations

import base64
import re
from datetime import UTC, datetime, timedelta
from urllib.parse import parse_qs, urlsplit

import pytest
import time_machine

from business.errors import AlreadyDone, BadInput, NotAllowed
from business.models import ChangeNote, RecoveryCode, SecondFactor
from business.services import second_factors
from business.services.profile import save_profile
from business.services.staff import add_staff, change_staff
from tests import make

pytestmark = pytest.mark.django_db

# RFC 6238, appendix B: the secret "12345678901234567890" with SHA-1; the eight digits given there end with these six.
RFC_KEY = b"12345678901234567890".hex()
RFC_CODES = [
    (59, "287082"),
    (1111111109, "081804"),
    (1111111111, "050471"),
    (1234567890, "005924"),
    (2000000000, "279037"),
    (20000000000, "353130"),
]


def with_key_of_the_standard(staff, *, is_on: bool = True) -> SecondFactor:
    at = datetime(1970, 1, 1, tzinfo=UTC)
    return SecondFactor.objects.create(staff=staff, key=RFC_KEY, made_at=at, confirmed_at=at if is_on else None)


def at_second(seconds: float):
    return time_machine.travel(datetime.fromtimestamp(seconds, UTC), tick=False)


@pytest.mark.parametrize(("seconds", "code"), RFC_CODES)
def test_the_codes_of_the_standard_are_taken_once(owner, seconds, code):
    with_key_of_the_standard(owner)
    with at_second(seconds):
        assert second_factors.take_code(staff=owner, code=code)
        assert not second_factors.take_code(staff=owner, code=code)


@pytest.mark.parametrize(
    ("late", "is_taken"), [(-45, False), (-29, True), (0, True), (30, True), (59, True), (61, False)]
)
def test_one_step_before_and_after_is_taken(owner, late, is_taken):
    """RFC 6238, section 5.2: one time step either way for delay and clocks. The code belongs to 1111111080–1111111109."""
    with_key_of_the_standard(owner)
    with at_second(1111111080 + late):
        assert second_factors.take_code(staff=owner, code="081804") is is_taken


def test_an_earlier_code_is_dead_after_a_later_one(owner):
    with_key_of_the_standard(owner)
    with at_second(1111111111):
        assert second_factors.take_code(staff=owner, code="050471")
        assert not second_factors.take_code(staff=owner, code="081804")


@pytest.mark.parametrize("code", ["", "000000", "28708", "2870822", "287 083", "no code", "２８７０８２x", "a" * 4000])
def test_what_is_no_code_is_refused(owner, code):
    with_key_of_the_standard(owner)
    with at_second(59):
        assert not second_factors.take_code(staff=owner, code=code)


def test_a_code_typed_in_two_halves_is_taken(owner):
    with_key_of_the_standard(owner)
    with at_second(59):
        assert second_factors.take_code(staff=owner, code=" 287 082 ")


def test_a_factor_that_was_only_begun_proves_nothing(owner):
    with_key_of_the_standard(owner, is_on=False)
    with at_second(59):
        assert not second_factors.take_code(staff=owner, code="287082")


def test_a_wrong_first_code_leaves_it_off(owner):
    with_key_of_the_standard(owner, is_on=False)
    with at_second(59), pytest.raises(BadInput):
        second_factors.confirm(staff=owner, code="000000")
    assert not SecondFactor.objects.get().is_on
    assert not RecoveryCode.objects.exists()


def test_the_right_first_code_switches_on_and_gives_ten_codes(owner):
    with_key_of_the_standard(owner, is_on=False)
    with at_second(59):
        codes = second_factors.confirm(staff=owner, code="287082")
        assert not second_factors.take_code(staff=owner, code="287082")  # used up by switching on

    assert len(set(codes)) == 10
    assert all(re.fullmatch(r"[A-HJ-NP-Z2-9]{4}-[A-HJ-NP-Z2-9]{4}-[A-HJ-NP-Z2-9]{4}", code) for code in codes)
    assert second_factors.codes_left(owner) == 10
    stored = " ".join(RecoveryCode.objects.values_list("secret_hash", flat=True))
    assert not any(code.replace("-", "")[4:] in stored for code in codes)
    assert ChangeNote.objects.get(reference=f"person:{owner.pk}").act == "second factor on"


def test_each_recovery_code_opens_once_however_it_is_typed(owner):
    with_key_of_the_standard(owner, is_on=False)
    with at_second(59):
        first, second, *_ = second_factors.confirm(staff=owner, code="287082")
    assert second_factors.take_code(staff=owner, code=first)
    assert not second_factors.take_code(staff=owner, code=first)
    assert second_factors.take_code(staff=owner, code=second.lower().replace("-", " "))
    assert second_factors.codes_left(owner) == 8


def test_new_codes_make_the_old_ones_worthless(owner):
    with_key_of_the_standard(owner, is_on=False)
    with at_second(59):
        old, *_ = second_factors.confirm(staff=owner, code="287082")
    fresh, *_ = second_factors.renew_codes(staff=owner)
    assert not second_factors.take_code(staff=owner, code=old)
    assert second_factors.take_code(staff=owner, code=fresh)


def test_codes_of_one_person_are_nothing_to_another(owner, office):
    with_key_of_the_standard(owner, is_on=False)
    with at_second(59):
        codes = second_factors.confirm(staff=owner, code="287082")
    second_factors.begin(staff=office)
    SecondFactor.objects.filter(staff=office).update(confirmed_at=datetime(2026, 1, 1, tzinfo=UTC))
    assert not second_factors.take_code(staff=office, code=codes[0])


def test_keys_are_long_and_never_the_same(owner, office):
    """RFC 4226, section 4, R6: at least 128 bits, 160 recommended."""
    keys = {second_factors.begin(staff=owner).key for _ in range(3)} | {second_factors.begin(staff=office).key}
    assert len(keys) == 4
    assert all(len(bytes.fromhex(key)) == 20 for key in keys)


def test_a_factor_that_is_on_is_not_begun_again(owner):
    with_key_of_the_standard(owner)
    with pytest.raises(AlreadyDone):
        second_factors.begin(staff=owner)


def test_the_address_for_the_app_carries_the_key(owner):
    make.profile(name="Hollis & Daughter")
    factor = with_key_of_the_standard(owner, is_on=False)
    parts = urlsplit(second_factors.app_address(factor))
    said = parse_qs(parts.query)
    assert (parts.scheme, parts.netloc, parts.path) == ("otpauth", "totp", "/Hollis%20%26%20Daughter%3Aolwen")
    # RFC 4648: base 32 of the bytes, checked here by another way than ours.
    assert base64.b32decode(said["secret"][0]) == b"12345678901234567890"
    assert said["issuer"] == ["Hollis & Daughter"]


# The business wants it.


def test_the_business_gives_days_to_set_it_up(owner, office, accountant, crew):
    with time_machine.travel(datetime(2027, 3, 1, 12, tzinfo=UTC)):
        make.profile()
        save_profile(needs_second_factor=True, second_factor_grace_days=10)
    for person in (owner, office, accountant, crew):
        person.refresh_from_db()
    wanted = datetime(2027, 3, 11, tzinfo=UTC).date()
    assert [one.second_factor_due_on for one in (owner, office, accountant, crew)] == [wanted] * 3 + [None]
    assert not second_factors.must_have_one_now(owner, wanted - timedelta(days=1))
    assert second_factors.must_have_one_now(owner, wanted)

    save_profile(needs_second_factor=False)
    owner.refresh_from_db()
    assert owner.second_factor_due_on is None


def test_new_people_and_new_roles_get_days_of_their_own(owner):
    make.profile()
    save_profile(needs_second_factor=True, second_factor_grace_days=5)
    fresh = add_staff(username="nia", name="Nia", role="office")
    crew = add_staff(username="tom", name="Tom", role="crew")
    assert fresh.second_factor_due_on is not None
    assert crew.second_factor_due_on is None
    assert change_staff(staff=crew, by=owner, role="office").second_factor_due_on is not None
    assert change_staff(staff=crew, by=owner, role="crew").second_factor_due_on is None


def test_nobody_switches_off_what_the_business_wants(owner):
    make.profile()
    with_key_of_the_standard(owner)
    save_profile(needs_second_factor=True)
    with pytest.raises(NotAllowed):
        second_factors.switch_off(staff=owner)
    save_profile(needs_second_factor=False)
    second_factors.switch_off(staff=owner)
    assert not SecondFactor.objects.exists()


def test_an_owner_resets_others_and_the_days_begin_anew(owner, office):
    make.profile()
    with_key_of_the_standard(office)
    with time_machine.travel(datetime(2027, 3, 1, 12, tzinfo=UTC)) as clock:
        save_profile(needs_second_factor=True, second_factor_grace_days=10)
        clock.shift(timedelta(days=100))
        second_factors.reset(staff=office, by=owner)
        office.refresh_from_db()
        assert office.second_factor_due_on == datetime(2027, 6, 19, tzinfo=UTC).date()
    told = ChangeNote.objects.get(act="second factor reset")
    assert (told.reference, told.made_by) == (f"person:{office.pk}", owner)


@pytest.mark.parametrize("who", ["office", "self"])
def test_only_another_owner_resets(owner, office, who):
    with_key_of_the_standard(owner)
    with pytest.raises(NotAllowed):
        second_factors.reset(staff=owner, by=office if who == "office" else owner)
    assert SecondFactor.objects.exists()
