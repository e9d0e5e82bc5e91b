"""Remind whoever must know: each purpose is one message with a key of its own, so that running twice sends once.

Kinds, hours and days are rows (``ReminderRule``); what each says stands in ``client_reminders``, ``crew_reminders``,
``office_reminders`` and ``watch_reminders``. Hours are looked up on the clock of the place at the moment of writing,
days on its calendar: a night that has 23 or 25 hours moves neither.
"""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from business import clock
from business.services.audit import note, values_of
from business.services.rows import put_values, save_checked
from scheduling.models import ReminderRule
from scheduling.queries.reminders import reminder_rules
from scheduling.services import client_reminders, crew_reminders, office_reminders, watch_reminders

WRITERS = {
    ReminderRule.Kind.VISIT: client_reminders.before_visits,
    ReminderRule.Kind.CREW: crew_reminders.before_rounds,
    ReminderRule.Kind.CLOSING: office_reminders.windows_closing,
    ReminderRule.Kind.UNPLACED: office_reminders.unplaced_visits,
    ReminderRule.Kind.TIES: office_reminders.ties_due_off,
    ReminderRule.Kind.OVERDUE: office_reminders.invoices_overdue,
    ReminderRule.Kind.FROST: watch_reminders.frost_on_bloom,
    ReminderRule.Kind.PHONES: watch_reminders.phones_silent,
    ReminderRule.Kind.ENDING: office_reminders.papers_ending,
}


def write_reminders(*, at: datetime | None = None) -> int:
    """Queue every reminder whose time has come; how many were new comes back."""
    now = at or clock.now()
    rules = reminder_rules()
    return sum(write(rules[kind], now) for kind, write in WRITERS.items() if rules[kind].is_on)


@transaction.atomic
def save_rule(*, kind: str, **values: object) -> ReminderRule:
    """Change how one kind of reminder is sent.

    Raises:
        BadInput: hours or days that cannot be.
    """
    rule = reminder_rules()[kind]
    before = values_of(rule) if rule.pk else {}
    put_values(rule, values)
    save_checked(rule, where=rule.get_kind_display())
    note("reminder changed", "reminders:1", before=before, after=values_of(rule))
    return rule
