"""Photos on paper: light copies inside the document, and in place of a broken one a frame that names it."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.html import escape

from business import clock
from business.documents.words import day_text
from business.errors import BadInput
from gardens.models import Photo
from gardens.services.photos import paper_copy

PAIR_WORDS = {"before": "Before the work", "after": "After the work"}


@dataclass(frozen=True, kw_only=True)
class PhotoOnPaper:
    """A photo as an image address that needs no file. ``trouble`` says why a frame stands in its place."""

    source: str
    words: str
    photo_uid: str = ""
    trouble: str = ""

    @property
    def is_missing(self) -> bool:
        return bool(self.trouble)


def on_paper(photo: Photo) -> PhotoOnPaper:
    """The photo, or a frame that says which photo should stand here."""
    words = photo.words or PAIR_WORDS.get(photo.pair, "On the day")
    try:
        copy = paper_copy(photo)
    except BadInput as refusal:
        # A lost picture must not keep the paper from the client.
        trouble = refusal.faults[0].wrong
        taken = day_text(clock.today(photo.site.zone, at=photo.taken_at))
        return PhotoOnPaper(
            source=as_image(_frame(words, f"Photo of {taken}")),
            words=f"{words} (the photo of {taken} could not be shown)",
            photo_uid=str(photo.uid),
            trouble=trouble,
        )
    return PhotoOnPaper(
        source="data:image/jpeg;base64," + base64.b64encode(copy).decode(), words=words, photo_uid=str(photo.uid)
    )


def pair_of(photos: Sequence[Photo], *, most: int = 2) -> list[Photo]:
    """The photos that tell most: the first one before the work and the last one after it, else the last ones."""
    before = [photo for photo in photos if photo.pair == Photo.Pair.BEFORE][:1]
    after = [photo for photo in photos if photo.pair == Photo.Pair.AFTER][-1:]
    return ([*before, *after] or list(photos[-most:]))[:most]


def as_image(svg: str) -> str:
    """A drawing as an image address: the PDF library writes alternative text for images, not for inline SVG."""
    return "data:image/svg+xml;base64," + base64.b64encode(svg.encode()).decode()


def _frame(words: str, below: str) -> str:
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 320 240" width="80mm" height="60mm">'
        '<rect x="1" y="1" width="318" height="238" fill="#f3f5f3" stroke="#464d49" stroke-dasharray="8 6"/>'
        '<path d="M130 92h60v44h-60zM140 126l16-18 12 12 8-8 14 14" fill="none" stroke="#464d49" stroke-width="3"/>'
        f'<text x="160" y="166" font-family="Paper Text" font-size="13" text-anchor="middle">{escape(words[:44])}</text>'
        f'<text x="160" y="186" font-family="Paper Text" font-size="12" text-anchor="middle">{escape(below)}</text>'
        '<text x="160" y="206" font-family="Paper Text" font-size="12" text-anchor="middle">could not be shown</text>'
        "</svg>"
    )
