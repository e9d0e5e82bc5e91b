"""The only way a page gets a visit, a round or a task: what this person may see."""

from __future__ import annotations

from django.contrib.auth.base_user import AbstractBaseUser
from django.contrib.auth.models import AnonymousUser
from django.db.models import QuerySet

from business.models import Staff
from gardens.models import Photo
from scheduling.models import Crew, Plan, Round, Task, Visit

Anyone = AbstractBaseUser | AnonymousUser


def sees_everything(user: Anyone) -> bool:
    return isinstance(user, Staff) and user.is_active and user.is_office


def crews_open_to(user: Anyone) -> QuerySet[Crew]:
    """Office: every crew. Field: their own."""
    if sees_everything(user):
        return Crew.objects.filter(is_active=True)
    if isinstance(user, Staff) and user.is_active and user.is_field:
        return Crew.objects.filter(is_active=True, members__staff=user)
    return Crew.objects.none()


def all_crews_open_to(user: Anyone) -> QuerySet[Crew]:
    """Every crew for the office, those that no longer go out too."""
    return Crew.objects.all() if sees_everything(user) else Crew.objects.none()


def rounds_open_to(user: Anyone) -> QuerySet[Round]:
    return Round.objects.filter(crew__in=crews_open_to(user)).select_related("crew")


def visits_open_to(user: Anyone) -> QuerySet[Visit]:
    visits = Visit.objects.select_related("site__client", "round__crew", "season")
    if sees_everything(user):
        return visits
    return visits.filter(round__crew__in=crews_open_to(user))


def tasks_open_to(user: Anyone) -> QuerySet[Task]:
    return Task.objects.filter(work_order__visit__in=visits_open_to(user)).select_related("tree", "support")


def plans_open_to(user: Anyone) -> QuerySet[Plan]:
    """Plans are the office's."""
    return Plan.objects.select_related("made_by") if sees_everything(user) else Plan.objects.none()


def photos_open_to(user: Anyone) -> QuerySet[Photo]:
    """Photos of gardens this person goes to, without those that were taken back."""
    sites = visits_open_to(user).values("site")
    return Photo.objects.filter(is_withdrawn=False, site__in=sites)
