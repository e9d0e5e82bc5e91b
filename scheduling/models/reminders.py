"""When the program reminds whom of what. A row is one kind of reminder; without a row its usual habits hold."""

from __future__ import annotations

from dataclasses import dataclass

from django.db import models
from django.db.models import CheckConstraint, F, Q


class ReminderRule(models.Model):
    """How one kind of reminder is sent. Hours are those of the place: the garden's, the crew's, the business's."""

    class Kind(models.TextChoices):
        VISIT = "reminder", "To the client before a visit"
        CREW = "crew_evening", "To the crew before a round"
        CLOSING = "windows_closing", "To the office: windows that close without a visit"
        UNPLACED = "unplaced", "To the office: visits that found no day"
        TIES = "ties_due", "To the office: ties that must come off"
        OVERDUE = "overdue", "To the office: invoices that are late"
        FROST = "frost_on_bloom", "To the office: frost on open bloom"
        PHONES = "phones_silent", "To the office: phones with work not sent"
        ENDING = "papers_ending", "To the office: licences and agreements that end"

    class Channel(models.TextChoices):
        MAIL = "mail", "Mail"

    class Weekday(models.IntegerChoices):
        MONDAY = 0, "Monday"
        TUESDAY = 1, "Tuesday"
        WEDNESDAY = 2, "Wednesday"
        THURSDAY = 3, "Thursday"
        FRIDAY = 4, "Friday"
        SATURDAY = 5, "Saturday"
        SUNDAY = 6, "Sunday"

    kind = models.CharField(max_length=20, choices=Kind, unique=True)
    is_on = models.BooleanField("sent", default=True)
    channel = models.CharField(max_length=8, choices=Channel, default=Channel.MAIL)
    days = models.PositiveSmallIntegerField(
        help_text="Before the visit, the frost or the end; for invoices and phones the days they are late."
    )
    from_hour = models.PositiveSmallIntegerField("not before", help_text="Full hour, 0 to 23.")
    until_hour = models.PositiveSmallIntegerField("not from", help_text="Full hour, 1 to 24.")
    weekday = models.PositiveSmallIntegerField(
        "day of the week",
        choices=Weekday,
        null=True,
        blank=True,
        help_text="For what is told once a week; missed that day, it is told on the next.",
    )

    class Meta:
        ordering = ["kind"]
        constraints = [
            CheckConstraint(
                condition=Q(from_hour__lt=F("until_hour"), until_hour__lte=24), name="reminder_hours_in_order"
            ),
            CheckConstraint(condition=Q(days__lte=60), name="reminder_within_two_months"),
            CheckConstraint(condition=Q(weekday=None) | Q(weekday__lte=6), name="reminder_weekday_is_one"),
        ]

    def __str__(self) -> str:
        return self.get_kind_display()

    @property
    def is_weekly(self) -> bool:
        return self.weekday is not None


@dataclass(frozen=True, kw_only=True)
class Habit:
    """What holds for a kind until the office says otherwise."""

    days: int
    from_hour: int
    until_hour: int
    weekday: int | None = None

    def rule(self, kind: str) -> ReminderRule:
        return ReminderRule(
            kind=kind, days=self.days, from_hour=self.from_hour, until_hour=self.until_hour, weekday=self.weekday
        )


HABITS = {
    ReminderRule.Kind.VISIT: Habit(days=1, from_hour=8, until_hour=19),
    ReminderRule.Kind.CREW: Habit(days=1, from_hour=16, until_hour=20),
    ReminderRule.Kind.CLOSING: Habit(days=14, from_hour=7, until_hour=19, weekday=0),
    ReminderRule.Kind.UNPLACED: Habit(days=0, from_hour=7, until_hour=19, weekday=0),
    ReminderRule.Kind.TIES: Habit(days=14, from_hour=7, until_hour=19, weekday=0),
    ReminderRule.Kind.OVERDUE: Habit(days=1, from_hour=7, until_hour=19, weekday=1),
    ReminderRule.Kind.FROST: Habit(days=3, from_hour=7, until_hour=20),
    ReminderRule.Kind.PHONES: Habit(days=1, from_hour=7, until_hour=19),
    ReminderRule.Kind.ENDING: Habit(days=42, from_hour=7, until_hour=19, weekday=0),
}
