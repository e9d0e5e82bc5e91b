"""The only way a page gets a photo."""

from __future__ import annotations

from django.db.models import QuerySet

from gardens.models import Photo
from gardens.queries.access import Anyone, trees_open_to, works_here


def photos_open_to(user: Anyone) -> QuerySet[Photo]:
    """Photos of gardens this person may see, without those that were taken back."""
    if not works_here(user):
        return Photo.objects.none()
    return Photo.objects.filter(is_withdrawn=False).select_related("tree", "made_by")


def photos_of_tree(user: Anyone, tree_id: int) -> QuerySet[Photo]:
    """The photos of a tree, newest first; also those that are still on a phone."""
    if not trees_open_to(user).filter(pk=tree_id).exists():
        return Photo.objects.none()
    return photos_open_to(user).filter(tree=tree_id).order_by("-taken_at", "-pk")


def photos_of_visit(visit_id: int) -> QuerySet[Photo]:
    """The photos taken on a visit that are here, in the order they were taken."""
    return (
        Photo.objects.filter(reference=f"visit:{visit_id}", is_withdrawn=False)
        .exclude(file="")
        .order_by("taken_at", "pk")
    )
