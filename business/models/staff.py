"""The people who work here and may sign in."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models import CheckConstraint, Q, UniqueConstraint
from django.db.models.functions import Lower


class StaffManager(BaseUserManager["Staff"]):
    def create_user(self, username: str, password: str | None = None, **fields: Any) -> Staff:
        staff = self.model(username=username, **fields)
        staff.name = staff.name or username
        staff.email = self.normalize_email(staff.email)
        staff.set_password(password)
        staff.full_clean(exclude=["password"])
        staff.save(using=self._db)
        return staff

    def create_superuser(self, username: str, password: str | None = None, **fields: Any) -> Staff:
        return self.create_user(username, password, **{"role": Staff.Role.OWNER, "sees_prices": True, **fields})


class Staff(AbstractBaseUser):
    """Somebody who signs in. Rights follow the role; prices are a right of their own."""

    class Role(models.TextChoices):
        OWNER = "owner", "Owner"
        OFFICE = "office", "Office"
        CREW_LEAD = "crew_lead", "Crew lead"
        CREW = "crew", "Crew"
        ACCOUNTANT = "accountant", "Accountant"

    OFFICE_ROLES = (Role.OWNER, Role.OFFICE)
    ROLES_THAT_MAY_NEED_A_SECOND_FACTOR = (Role.OWNER, Role.OFFICE, Role.ACCOUNTANT)
    FIELD_ROLES = (Role.CREW_LEAD, Role.CREW)

    username = models.CharField("sign-in name", max_length=80, unique=True)
    email = models.EmailField(blank=True)
    name = models.CharField(max_length=120)
    role = models.CharField(max_length=12, choices=Role, default=Role.CREW)
    phone = models.CharField(max_length=32, blank=True)
    sees_prices = models.BooleanField(default=False)
    is_active = models.BooleanField("may sign in", default=True)
    second_factor_due_on = models.DateField(
        "needs a second factor from",
        null=True,
        blank=True,
        help_text="Empty: they may choose. From this day on nothing opens without one.",
    )
    joined_at = models.DateTimeField(auto_now_add=True)

    objects = StaffManager()

    USERNAME_FIELD = "username"
    EMAIL_FIELD = "email"
    REQUIRED_FIELDS = ["email"]

    class Meta:
        verbose_name_plural = "staff"
        ordering = ["name"]
        constraints = [
            UniqueConstraint(Lower("email"), condition=~Q(email=""), name="staff_email_used_once"),
            UniqueConstraint(Lower("username"), name="staff_username_used_once_in_any_case"),
            CheckConstraint(condition=~Q(username="") & ~Q(name=""), name="staff_has_a_name"),
            CheckConstraint(
                condition=~Q(role="crew") | Q(sees_prices=False),
                name="staff_crew_sees_no_prices",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def is_office(self) -> bool:
        """Owner and office: every page of the office."""
        return self.role in self.OFFICE_ROLES

    @property
    def is_field(self) -> bool:
        """Crew and crew leads: the rounds, no money."""
        return self.role in self.FIELD_ROLES
