"""The outbox: on purpose, once, and never silently lost. A real SMTP conversation on the loopback."""

from __future__ import annotations

from datetime import timedelta

import pytest
import time_machine
from django.db import IntegrityError, transaction

from business import clock
from business.errors import AlreadyDone, BadInput
from business.models import Message
from business.queries.messages import LEASE
from business.services.archive import Paper, archive
from business.services.messages import (
    MOST_TRIES,
    WAITS,
    queue_message,
    send_again,
    send_message,
    stop_message,
    sweep_messages,
)
from tests import make
from tests.business.post_office import open_post_office

pytestmark = pytest.mark.django_db


@pytest.fixture
def post_office(settings):
    with open_post_office(settings) as office:
        yield office


def state_of(message):
    message.refresh_from_db()
    return message.state


def test_the_same_key_is_one_message():
    first = make.message(key="reminder:visit:17:1", subject="Tuesday")

    again = make.message(key="reminder:visit:17:1", subject="Wednesday")

    assert (again, Message.objects.get().subject) == (first, "Tuesday")


def test_a_message_without_an_address_is_refused():
    with pytest.raises(BadInput):
        make.message(to="nobody")

    assert not Message.objects.exists()


def test_a_kind_the_client_does_not_want_is_stopped_with_the_reason():
    client = make.client(stopped_kinds=["season_letter"])

    letter = make.message(client=client, kind="season_letter")
    invoice = make.message(client=client, kind="invoice")

    assert (letter.state, "does not want" in letter.error, invoice.state) == ("stopped", True, "waiting")


def test_queueing_sends_after_the_transaction(post_office, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        message = make.message()
        assert post_office.letters == []

    assert (state_of(message), len(post_office.letters)) == ("handed_over", 1)
    assert message.sent_at is not None


def test_a_letter_names_us_and_marks_itself_as_made_by_a_machine(post_office):
    make.profile()
    message = make.message(subject="We come\non Tuesday", body="Dear Ivo,\n\ntill Tuesday.\n")

    send_message(message_id=message.pk)

    (letter,) = post_office.letters
    assert "Subject: We come on Tuesday" in letter
    assert "Reply-To: office@hollis.example.com" in letter
    assert "Auto-Submitted: auto-generated" in letter
    assert f"Message-ID: {message.message_id}" in letter
    assert "From: " in letter
    assert "Hollis & Daughter" in letter


def test_the_kept_paper_goes_along(post_office):
    document = archive(Paper(kind="report", reference="visit:1", file_name="report.pdf", content=b"%PDF-1.7 kept"))
    message = make.message(documents=[document])

    send_message(message_id=message.pk)

    assert 'filename="report.pdf"' in post_office.letters[0]


def test_a_paper_whose_bytes_changed_is_not_sent(post_office):
    document = archive(Paper(kind="report", reference="visit:1", file_name="report.pdf", content=b"%PDF-1.7 kept"))
    with document.file.storage.open(str(document.file.name), "wb") as file:
        file.write(b"%PDF-1.7 other")
    message = make.message(documents=[document])

    send_message(message_id=message.pk)

    assert (state_of(message), post_office.letters) == ("refused", [])


def test_sending_twice_sends_once(post_office):
    message = make.message()

    assert [send_message(message_id=message.pk), send_message(message_id=message.pk)] == [True, False]
    assert len(post_office.letters) == 1


def test_a_message_another_worker_holds_is_left_alone(post_office):
    message = make.message()
    Message.objects.filter(pk=message.pk).update(claimed_at=clock.now())

    assert send_message(message_id=message.pk) is False
    assert post_office.letters == []


def test_an_address_refused_for_good_ends_there(post_office):
    post_office.manner = "refuses"
    message = make.message()

    send_message(message_id=message.pk)

    assert state_of(message) == "refused"
    assert "no such reader" in message.error


def test_a_busy_server_is_asked_again_after_longer_and_longer(post_office):
    post_office.manner = "busy"
    message = make.message()
    waits = []
    with time_machine.travel("2026-03-10 08:00 +0000", tick=False) as time:
        for _ in range(MOST_TRIES):
            sent_now = send_message(message_id=message.pk)
            assert (sent_now, send_message(message_id=message.pk)) == (False, False)
            message.refresh_from_db()
            if message.next_try and message.state == "waiting":
                waits.append(message.next_try - clock.now())
                time.move_to(message.next_try)

    assert tuple(waits) == WAITS
    assert (state_of(message), message.attempts) == ("refused", MOST_TRIES)
    assert message.error.startswith(f"Given up after {MOST_TRIES} tries")


def test_a_server_that_is_away_is_tried_later(settings):
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 9  # discard: nobody listens
    message = make.message()

    send_message(message_id=message.pk)

    assert (state_of(message), message.claimed_at, message.attempts) == ("waiting", None, 1)
    assert "could not be reached" in message.error


@pytest.mark.parametrize(("may_repeat", "state"), [(False, "not_sure"), (True, "waiting")])
def test_a_line_that_breaks_after_the_text_leaves_doubt(post_office, may_repeat, state):
    post_office.manner = "breaks_off"
    message = make.message(may_repeat=may_repeat)

    send_message(message_id=message.pk)

    assert (state_of(message), len(post_office.letters)) == (state, 1)


@pytest.mark.parametrize(("may_repeat", "state"), [(False, "not_sure"), (True, "waiting")])
def test_a_claim_that_ran_out_is_settled_by_the_sweep(may_repeat, state):
    message = make.message(may_repeat=may_repeat)
    Message.objects.filter(pk=message.pk).update(claimed_at=clock.now() - LEASE - timedelta(seconds=1), attempts=1)

    sweep_messages()

    assert (state_of(message), message.claimed_at) == (state, None)


def test_copies_of_one_message_share_their_id(post_office):
    post_office.manner = "breaks_off"
    message = make.message(may_repeat=True)
    send_message(message_id=message.pk)
    post_office.manner = "takes"

    with time_machine.travel(clock.now() + WAITS[0] + timedelta(seconds=1)):
        send_message(message_id=message.pk)

    assert state_of(message) == "handed_over"
    assert all(message.message_id in letter for letter in post_office.letters)
    assert len(post_office.letters) == 2


def test_the_sweep_wakes_what_no_job_came_for(post_office, django_capture_on_commit_callbacks):
    message = make.message()
    make.message(not_before=clock.now() + timedelta(hours=3))

    with django_capture_on_commit_callbacks(execute=True):
        woken = sweep_messages()

    assert (woken, state_of(message), len(post_office.letters)) == (1, "handed_over", 1)


def test_nothing_leaves_before_its_time(post_office):
    message = make.message(not_before=clock.now() + timedelta(hours=3))

    assert send_message(message_id=message.pk) is False

    with time_machine.travel(clock.now() + timedelta(hours=4)):
        assert send_message(message_id=message.pk) is True


def test_a_person_may_send_again_under_a_key_of_its_own(post_office):
    post_office.manner = "refuses"
    message = make.message(key="reminder:visit:17:1")
    send_message(message_id=message.pk)

    second = send_again(message=message, reason="New address", to="new@example.com")

    assert (second.key, second.to, second.state) == ("reminder:visit:17:1#2", "new@example.com", "waiting")
    assert second.message_id != message.message_id


def test_what_still_waits_is_not_sent_again():
    with pytest.raises(AlreadyDone):
        send_again(message=make.message(), reason="Impatience")

    assert Message.objects.count() == 1


def test_sending_again_needs_a_reason(post_office):
    message = make.message()
    send_message(message_id=message.pk)

    with pytest.raises(BadInput):
        send_again(message=message, reason=" ")


def test_a_stopped_message_stays_at_home(post_office):
    message = make.message()

    stop_message(message=message, reason="The visit was called off")

    assert send_message(message_id=message.pk) is False
    assert (state_of(message), post_office.letters) == ("stopped", [])


def test_what_has_left_cannot_be_stopped(post_office):
    message = make.message()
    send_message(message_id=message.pk)

    with pytest.raises(AlreadyDone):
        stop_message(message=message, reason="Too late")


def test_the_table_refuses_an_end_without_its_reason():
    message = make.message()

    with pytest.raises(IntegrityError), transaction.atomic():
        Message.objects.filter(pk=message.pk).update(state="not_sure")


def test_a_slow_worker_whose_claim_was_taken_notes_nothing(post_office, monkeypatch):
    message = make.message()
    real_send = __import__("django.core.mail", fromlist=["EmailMessage"]).EmailMessage.send

    def slow_send(mail, *args, **kwargs):
        answer = real_send(mail, *args, **kwargs)
        Message.objects.filter(pk=message.pk).update(state="not_sure", claimed_at=None, error="A worker stopped")
        return answer

    monkeypatch.setattr("django.core.mail.EmailMultiAlternatives.send", slow_send)

    assert send_message(message_id=message.pk) is False
    assert state_of(message) == "not_sure"


def test_queueing_is_safe_when_two_workers_queue_at_once(monkeypatch):
    # The other worker's row appears between our look and our write.
    first = make.message(key="reminder:1")
    looks = iter([None, first])
    monkeypatch.setattr("business.services.messages.message_by_key", lambda key: next(looks))

    again = queue_message(key="reminder:1", kind="reminder", to="a@example.com", subject="s", body="b")

    assert again == first
    assert Message.objects.count() == 1
