"""Send each mail on purpose, once.

    queue_message ──► waiting ──► handed over
                         │  └───► waiting again, later (the server was away, or said "not now")
                         ├──────► refused   (the server said no for good, or five tries did not help)
                         ├──────► not sure  (the line broke after the text was sent, or the worker died: a person decides)
                         └──────► stopped   (the client does not want this kind, it came too late, or somebody stopped it)

A message with hours goes in those hours alone, the first try and every later one; whatever else goes to a client is
tried again by day only.

A mail server cannot tell us inside our transaction that it took a mail. So a claim is written first; a claim that runs
out without a note means nobody knows. Kinds that may repeat (invoices) go again then, with the same Message-ID; others
(reminders, reports) wait for a person.
"""

from __future__ import annotations

import logging
import smtplib
import uuid
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from email.utils import formataddr
from urllib.parse import urlsplit
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.mail import EmailMultiAlternatives
from django.db import IntegrityError, transaction
from django.db.models import F, Q

from business import clock
from business.errors import AlreadyDone, BadInput, Fault
from business.jobs import later
from business.models import ArchivedDocument, Client, Message
from business.queries.messages import due_messages, lost_messages, message_by_id, message_by_key
from business.queries.profile import our_profile
from business.services.archive import Damaged, content_of
from business.services.client_links import stop_headers, with_links
from business.services.quiet_hours import Hours
from business.services.rows import save_checked

log = logging.getLogger(__name__)

MOST_TRIES = 5
WAITS = (timedelta(minutes=1), timedelta(minutes=10), timedelta(hours=1), timedelta(hours=6))
"""After the first, second … try that did not work."""

BY_DAY = (8, 19)
"""When what failed is tried again for a client, on the business's clock, if the message names no hours."""

KINDS_ALWAYS_SENT = frozenset({"invoice", "credit_note", "quote", "statement", "payment_reminder", "garden_link"})
"""What a client cannot stop: papers about money, and what they asked for themselves."""


@transaction.atomic
def queue_message(
    *,
    key: str,
    kind: str,
    to: str,
    subject: str,
    body: str,
    client: Client | None = None,
    html_body: str = "",
    documents: Sequence[ArchivedDocument] = (),
    headers: Mapping[str, str] | None = None,
    may_repeat: bool = False,
    not_before: datetime | None = None,
    not_after: datetime | None = None,
    hours: Hours | None = None,
) -> Message:
    """Put a mail in the outbox. Asked again with the same key, the first one comes back unchanged.

    Args:
        key: the purpose, like "reminder:visit:17:1"; unique, so a purpose is served once.
        may_repeat: a second copy does no harm and a lost one does.
        not_before: wait until then.
        not_after: of no use later (the visit has begun): stopped then.
        hours: go in these hours only, tries again included.

    Raises:
        BadInput: no address, or a value breaks a law of the table.
    """
    if (known := message_by_key(key)) is not None:
        return known
    message = Message(
        key=key,
        kind=kind,
        client=client,
        to=to.strip(),
        subject=" ".join(subject.split()),
        body=body,
        html_body=html_body,
        headers=dict(headers or {}),
        may_repeat=may_repeat,
        not_before=not_before,
        not_after=not_after,
        from_hour=hours.from_hour if hours else None,
        until_hour=hours.until_hour if hours else None,
        zone=hours.zone.key if hours else "",
        message_id=f"<{uuid.uuid4().hex}@{_our_domain()}>",
    )
    if client is not None and kind in client.stopped_kinds and kind not in KINDS_ALWAYS_SENT:
        message.state = Message.State.STOPPED
        message.error = f"{client.name} does not want messages of this kind"
    try:
        with transaction.atomic():
            save_checked(message, where=f"message {key}")
    except (IntegrityError, BadInput):
        # Perhaps somebody else queued the same purpose between our look and our write.
        if (known := message_by_key(key)) is not None:
            return known
        raise
    message.documents.set(documents)
    if message.state == Message.State.WAITING:
        later("business.tasks.send_message", message_id=message.pk)
    return message


def send_message(*, message_id: int) -> bool:
    """Send one message unless it is not its turn or another worker has it; say whether it went.

    Not one transaction: the claim must be written before the mail leaves.
    """
    now = clock.now()
    if not _is_its_hour(message_id, now):
        return False
    free = (Q(next_try=None) | Q(next_try__lte=now)) & (Q(not_before=None) | Q(not_before__lte=now))
    claim = Message.objects.filter(free, pk=message_id, state=Message.State.WAITING, claimed_at=None)
    if not claim.update(claimed_at=now, attempts=F("attempts") + 1):
        return False
    message = message_by_id(message_id)
    try:
        _mail(message).send()
    except smtplib.SMTPRecipientsRefused as error:
        _note_answer(message, now, _code_of_recipients(error), str(error))
    except smtplib.SMTPResponseException as error:
        _note_answer(message, now, error.smtp_code, str(error))
    except smtplib.SMTPServerDisconnected as error:
        # The text may have been taken before the line broke.
        _note_unknown(message, now, f"The mail server broke off: {error}")
    except (smtplib.SMTPException, OSError) as error:
        _note_try_later(message, now, f"The mail server could not be reached: {error}")
    except Damaged as error:
        _note_end(message, now, Message.State.REFUSED, f"The attachment cannot be read: {error}")
    else:
        return _note(message, now, state=Message.State.HANDED_OVER, sent_at=clock.now(), error="")
    return False


def _is_its_hour(message_id: int, now: datetime) -> bool:
    """Put a message off until its hours, and stop one that would come too late; whether it may go now.

    A job may lie in the queue for long, so this is asked when it is run and not when it was written.
    """
    message = Message.objects.filter(pk=message_id, state=Message.State.WAITING, claimed_at=None).first()
    if message is None:
        return False
    mine = Message.objects.filter(pk=message_id, state=Message.State.WAITING, claimed_at=None)
    if message.not_after is not None and message.not_after <= now:
        mine.update(state=Message.State.STOPPED, error=_too_late(message))
        return False
    hours = _hours_of(message)
    if hours is None or hours.hold(now):
        return True
    mine.update(next_try=hours.next_moment(now))
    return False


def _hours_of(message: Message) -> Hours | None:
    if message.from_hour is None or message.until_hour is None:
        return None
    return Hours(message.from_hour, message.until_hour, ZoneInfo(message.zone))


def _too_late(message: Message) -> str:
    said = f" The last try said: {message.error}" if message.error else ""
    return f"It was of use until {message.not_after:%Y-%m-%d %H:%M} UTC and had not gone by then.{said}"


def sweep_messages() -> int:
    """Wake workers for messages whose job was lost, and settle claims that ran out; how many were woken comes back."""
    now = clock.now()
    for message in lost_messages(at=now):
        claimed_at = message.claimed_at
        if claimed_at is None:
            continue
        if message.may_repeat:
            _note_try_later(message, claimed_at, "A worker stopped while sending; sent again with the same Message-ID")
        else:
            _note_unknown(message, claimed_at, "A worker stopped while sending")
    due = list(due_messages(at=now).values_list("pk", flat=True)[:500])
    for message_id in due:
        later("business.tasks.send_message", message_id=message_id)
    return len(due)


@transaction.atomic
def send_again(*, message: Message, reason: str, to: str = "") -> Message:
    """A person decides: queue a message that was refused, stopped or perhaps lost once more, under a key of its own.

    Raises:
        AlreadyDone: it is still waiting.
        BadInput: no reason is given.
    """
    message = Message.objects.select_for_update().get(pk=message.pk)
    if message.state == Message.State.WAITING:
        raise AlreadyDone([Fault(message.subject, "is still waiting", "wait, or stop it")])
    if not reason.strip():
        raise BadInput([Fault("reason", "is empty", "say why it is sent again")])
    base = message.key.split("#")[0]
    number = Message.objects.filter(Q(key=base) | Q(key__startswith=f"{base}#")).count() + 1
    log.info("message %s sent again: %s", message.pk, reason)
    return queue_message(
        key=f"{base}#{number}",
        kind=message.kind,
        client=message.client,
        to=to or message.to,
        subject=message.subject,
        body=message.body,
        html_body=message.html_body,
        headers=message.headers,
        documents=list(message.documents.all()),
        may_repeat=message.may_repeat,
        hours=_hours_of(message),
    )


@transaction.atomic
def stop_message(*, message: Message, reason: str) -> Message:
    """Do not send a waiting message.

    Raises:
        AlreadyDone: it is not waiting, or a worker is sending it now.
        BadInput: no reason is given.
    """
    if not reason.strip():
        raise BadInput([Fault("reason", "is empty", "say why it is stopped")])
    stopped = Message.objects.filter(pk=message.pk, state=Message.State.WAITING, claimed_at=None).update(
        state=Message.State.STOPPED, error=reason.strip()
    )
    if not stopped:
        raise AlreadyDone([Fault(message.subject, "is not waiting any more", "look what became of it")])
    return message_by_id(message.pk)


def _mail(message: Message) -> EmailMultiAlternatives:
    profile = our_profile()
    mail = EmailMultiAlternatives(
        subject=message.subject,
        body=with_links(message.body, message),
        from_email=formataddr((profile.name, settings.DEFAULT_FROM_EMAIL)),
        to=[message.to],
        reply_to=[profile.email] if profile.email else None,
        headers={
            **message.headers,
            **stop_headers(message),
            "Message-ID": message.message_id,
            # RFC 3834: nobody's machine should answer this one.
            "Auto-Submitted": "auto-generated",
        },
    )
    if message.html_body:
        mail.attach_alternative(with_links(message.html_body, message), "text/html")
    for document in message.documents.all():
        mail.attach(document.file_name, content_of(document), document.media_type)
    return mail


def _our_domain() -> str:
    return urlsplit(settings.SITE_ADDRESS).hostname or "localhost"


def _note(message: Message, claim: datetime, **columns: object) -> bool:
    """Write what became of a message and give the claim back, if it is still ours."""
    return bool(Message.objects.filter(pk=message.pk, claimed_at=claim).update(claimed_at=None, **columns))


def _note_answer(message: Message, claim: datetime, code: int, words: str) -> None:
    """RFC 5321: 5yz is no for good, 4yz is not now."""
    if code >= 500:
        _note_end(message, claim, Message.State.REFUSED, words)
    else:
        _note_try_later(message, claim, words)


def _note_try_later(message: Message, claim: datetime, words: str) -> None:
    if message.attempts >= MOST_TRIES:
        _note_end(message, claim, Message.State.REFUSED, f"Given up after {message.attempts} tries. {words}")
        return
    next_try = _next_try(message, clock.now() + WAITS[max(message.attempts, 1) - 1])
    if message.not_after is not None and message.not_after <= next_try:
        _note_end(message, claim, Message.State.STOPPED, f"The next try would come too late. {words}")
        return
    _note(message, claim, next_try=next_try, error=words)


def _next_try(message: Message, wanted: datetime) -> datetime:
    """Not at night: in the message's hours; else, for a client, by day."""
    hours = _hours_of(message)
    if hours is None and message.client is not None:
        hours = Hours(*BY_DAY, our_profile().time_zone)
    return hours.next_moment(wanted) if hours is not None else wanted


def _note_unknown(message: Message, claim: datetime, words: str) -> None:
    if message.may_repeat:
        _note_try_later(message, claim, words)
    else:
        _note_end(message, claim, Message.State.NOT_SURE, words)


def _note_end(message: Message, claim: datetime, state: str, words: str) -> None:
    log.warning("message %s: %s: %s", message.pk, state, words)
    _note(message, claim, state=state, error=words)


def _code_of_recipients(error: smtplib.SMTPRecipientsRefused) -> int:
    return max((code for code, _ in error.recipients.values()), default=500)
