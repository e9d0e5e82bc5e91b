"""The only way a page gets a site, a tree or a record: what this person may see."""

from __future__ import annotations

from django.contrib.auth.base_user import AbstractBaseUser
from django.contrib.auth.models import AnonymousUser
from django.db.models import Count, Q, QuerySet

from business.models import Staff
from gardens.models import Record, Site, Support, Tree
from gardens.queries.trees import trees_with_records

Anyone = AbstractBaseUser | AnonymousUser


def keeps_gardens(user: Anyone) -> bool:
    """The office sees every garden. A crew sees its own visits and their papers (scheduling), never another's client."""
    return isinstance(user, Staff) and user.is_active and user.is_office


def works_here(user: Anyone) -> bool:
    """Office and field people; an accountant does not."""
    return isinstance(user, Staff) and user.is_active and (user.is_office or user.is_field)


def sites_open_to(user: Anyone) -> QuerySet[Site]:
    return Site.objects.select_related("client", "station") if keeps_gardens(user) else Site.objects.none()


def supports_open_to(user: Anyone) -> QuerySet[Support]:
    if not keeps_gardens(user):
        return Support.objects.none()
    return Support.objects.select_related("site__client").prefetch_related("wires")


def trees_open_to(user: Anyone) -> QuerySet[Tree]:
    return trees_with_records() if keeps_gardens(user) else Tree.objects.none()


def records_open_to(user: Anyone) -> QuerySet[Record]:
    return Record.objects.select_related("tree__site", "made_by") if keeps_gardens(user) else Record.objects.none()


def sites_for_list(sites: QuerySet[Site]) -> QuerySet[Site]:
    """Sites with how many living trees and supports they have."""
    return sites.annotate(
        tree_count=Count("trees", filter=Q(trees__removed_on=None), distinct=True),
        support_count=Count("supports", distinct=True),
    )
