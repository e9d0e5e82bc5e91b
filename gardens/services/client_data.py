"""What this room holds of a client: their gardens, supports, trees, records and photos."""

from __future__ import annotations

from collections.abc import Iterator

from business.models import Client
from business.services.client_data import Piece, table
from gardens.models import Photo, Record, Site, Support, Tree, Wire


def gardens_shelf(client: Client) -> Iterator[Piece]:
    """Tables of everything that grows there, then the photos as we keep them."""
    records = Record.objects.filter(tree__site__client=client) | Record.objects.filter(support__site__client=client)
    photos = Photo.objects.filter(site__client=client)
    yield from table("gardens", "Your gardens", Site.objects.filter(client=client).order_by("pk"))
    yield from table("supports", "Walls, fences and wires", Support.objects.filter(site__client=client).order_by("pk"))
    yield from table("wires", "Their wires", Wire.objects.filter(support__site__client=client).order_by("pk"))
    yield from table("trees", "Your trees", Tree.objects.filter(site__client=client).order_by("pk"))
    yield from table("records", "What was measured, seen and done", records.order_by("on", "pk"))
    yield from table("photos", "What the photos show", photos.order_by("taken_at", "pk"), leave_out=["digest", "small"])
    for photo in photos.exclude(file="").select_related("tree").order_by("taken_at", "pk"):
        words = photo.words or (f"Photo of {photo.tree.label}" if photo.tree else "Photo")
        yield Piece(path=f"photos/{photo.taken_at:%Y-%m-%d}-{photo.uid}.jpg", words=words, content=photo.file)
