"""Photos, served through the door of whoever may see the tree."""

from __future__ import annotations

import uuid

from django.db.models.fields.files import FieldFile
from django.http import FileResponse, Http404, HttpRequest
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_GET

from business.views.doors import office_only
from gardens.queries.photos import photos_open_to


@office_only
@require_GET
def photo(request: HttpRequest, uid: uuid.UUID, size: str = "large") -> FileResponse:
    found = get_object_or_404(photos_open_to(request.user), uid=uid)
    return photo_answer(found.small if size == "small" else found.file)


def photo_answer(file: FieldFile) -> FileResponse:
    """The bytes of a photo, large or small."""
    if not file:
        raise Http404("the picture is not here yet")
    answer = FileResponse(file.open("rb"), content_type="image/jpeg", filename="photo.jpg")
    # Whatever a browser may take the bytes for, nothing in them runs (ASVS v5.0.0-3.2.1).
    answer["Content-Security-Policy"] = "default-src 'none'; sandbox"
    # The bytes of a photo never change; a phone keeps them for the garden.
    answer["Cache-Control"] = "private, max-age=31536000, immutable"
    return answer
