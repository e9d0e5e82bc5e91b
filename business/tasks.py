"""Jobs of this room. Each takes ids, may run twice, and leaves its outcome in a row."""

from __future__ import annotations

import logging

from celery import shared_task

from business.errors import Refusal
from business.services import client_mail, lost_papers, messages, papers, payment_reminders, sessions, sign_in

log = logging.getLogger(__name__)


@shared_task(name="business.tasks.send_message", acks_late=True, reject_on_worker_lost=True)
def send_message(message_id: int) -> None:
    messages.send_message(message_id=message_id)


@shared_task(name="business.tasks.send_waiting_messages")
def send_waiting_messages() -> None:
    messages.sweep_messages()


@shared_task(name="business.tasks.write_invoice_paper", acks_late=True, reject_on_worker_lost=True)
def write_invoice_paper(invoice_id: int) -> None:
    try:
        papers.write_invoice_paper(invoice_id=invoice_id)
    except Refusal as refusal:
        # Trying again would not help; the invoice page shows the fault when the paper is asked for.
        log.warning("invoice %s has no paper: %s", invoice_id, refusal)


@shared_task(name="business.tasks.forget_old_tries")
def forget_old_tries() -> int:
    return sign_in.forget_old_tries()


@shared_task(name="business.tasks.forget_old_sessions")
def forget_old_sessions() -> int:
    return sessions.forget_old_sessions()


@shared_task(name="business.tasks.send_asked_links")
def send_asked_links(email: str) -> int:
    return client_mail.send_asked_links(email=email)


@shared_task(name="business.tasks.write_payment_reminders")
def write_payment_reminders() -> int:
    return payment_reminders.write_due_reminders()


@shared_task(name="business.tasks.send_payment_reminder", acks_late=True, reject_on_worker_lost=True)
def send_payment_reminder(reminder_id: int) -> None:
    try:
        payment_reminders.send_reminder(reminder_id=reminder_id)
    except Refusal as refusal:
        # The late page shows the step without its paper; the sweep tries again.
        log.warning("reminder %s has no paper: %s", reminder_id, refusal)


@shared_task(name="business.tasks.take_up_lost_papers")
def take_up_lost_papers() -> int:
    return lost_papers.take_up_lost_papers()
