"""The only way a page gets a photo."""

from __future__ import annotations

from django.db.models import QuerySet

from gardens.models import Photo
from gardens.queries.access import Anyone, keeps_gardens


def photos_open_to(user: Anyone) -> QuerySet[Photo]:
    """The office sees every photo that was not taken back. A crew sees those of its own gardens (scheduling)."""
    if not keeps_gardens(user):
        return Photo.objects.none()
    return Photo.objects.filter(is_withdrawn=False).select_related("tree", "made_by")


def photos_of_tree(user: Anyone, tree_id: int) -> QuerySet[Photo]:
    """The photos of a tree, newest first; also those that are still on a phone."""
    return photos_open_to(user).filter(tree=tree_id).order_by("-taken_at", "-pk")


def photos_of_visit(visit_id: int) -> QuerySet[Photo]:
    """The photos taken on a visit that are here, in the order they were taken."""
    return (
        Photo.objects.filter(reference=f"visit:{visit_id}", is_withdrawn=False)
        .exclude(file="")
        .order_by("taken_at", "pk")
    )
