"""The only way a page gets a site, a tree or a record: what this person may see."""

from __future__ import annotations

from django.contrib.auth.base_user import AbstractBaseUser
from django.contrib.auth.models import AnonymousUser
from django.db.models import Count, Q, QuerySet

from business.models import Staff
from gardens.models import Record, Site, Support, Tree
from gardens.queries.trees import trees_with_records

Anyone = AbstractBaseUser | AnonymousUser


def works_here(user: Anyone) -> bool:
    """Office and field people see the gardens; an accountant does not."""
    return isinstance(user, Staff) and user.is_active and (user.is_office or user.is_field)


def sites_open_to(user: Anyone) -> QuerySet[Site]:
    return Site.objects.select_related("client", "station") if works_here(user) else Site.objects.none()


def supports_open_to(user: Anyone) -> QuerySet[Support]:
    if not works_here(user):
        return Support.objects.none()
    return Support.objects.select_related("site__client").prefetch_related("wires")


def trees_open_to(user: Anyone) -> QuerySet[Tree]:
    return trees_with_records() if works_here(user) else Tree.objects.none()


def records_open_to(user: Anyone) -> QuerySet[Record]:
    return Record.objects.select_related("tree__site", "made_by") if works_here(user) else Record.objects.none()


def sites_for_list(sites: QuerySet[Site]) -> QuerySet[Site]:
    """Sites with how many living trees and supports they have."""
    return sites.annotate(
        tree_count=Count("trees", filter=Q(trees__removed_on=None), distinct=True),
        support_count=Count("supports", distinct=True),
    )
