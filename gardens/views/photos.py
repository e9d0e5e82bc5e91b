"""Photos, served through the door of whoever may see the tree."""

from __future__ import annotations

import uuid

from django.http import FileResponse, Http404, HttpRequest
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_GET

from business.views.doors import office_and_field
from gardens.queries.photos import photos_open_to


@office_and_field
@require_GET
def photo(request: HttpRequest, uid: uuid.UUID, size: str = "large") -> FileResponse:
    found = get_object_or_404(photos_open_to(request.user), uid=uid)
    file = found.small if size == "small" else found.file
    if not file:
        raise Http404("the picture is not here yet")
    answer = FileResponse(file.open("rb"), content_type="image/jpeg", filename=f"photo-{found.taken_at:%Y-%m-%d}.jpg")
    # The bytes of a photo never change; a phone keeps them for the garden.
    answer["Cache-Control"] = "private, max-age=31536000, immutable"
    return answer
