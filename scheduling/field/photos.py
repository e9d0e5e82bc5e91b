"""Pictures from the phone, in pieces that can be taken up again."""

from __future__ import annotations

import uuid

from django.http import HttpRequest, HttpResponseBase, JsonResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_GET, require_http_methods

from business.errors import BadInput
from gardens.services.photos import Upload, take_piece, upload_state
from gardens.views.photos import photo_answer
from scheduling.field.doors import for_the_field, person_of, problem
from scheduling.queries.access import photos_open_to

LONGEST_PIECE = 1024 * 1024


@for_the_field
@require_http_methods(["GET", "PUT"])
def photo(request: HttpRequest, digest: str) -> HttpResponseBase:
    """GET: how far it has come. PUT: one more piece, at the place its headers name."""
    try:
        if request.method == "GET":
            return _told(upload_state(digest=digest, by=person_of(request)))
        offset, total = (int(request.headers.get(name, "-1")) for name in ("Upload-Offset", "Upload-Length"))
        length = int(request.headers.get("Content-Length") or 0)
        if length > LONGEST_PIECE:
            return problem(413, "too-much", "Send smaller pieces")
        piece = request.read(LONGEST_PIECE + 1)
        if offset < 0 or not piece or len(piece) != length:
            return problem(400, "half-piece", "The piece did not arrive whole")
        return _told(take_piece(digest=digest, offset=offset, total=total, piece=piece, by=person_of(request)))
    except BadInput as refusal:
        if request.method == "GET":
            return problem(404, "photo", "There is no such photo to send", str(refusal))
        return problem(422, "photo", "The photo cannot be kept", str(refusal))
    except ValueError:
        return problem(400, "half-piece", "The piece does not say where it belongs")
    except OSError:
        # The disk is full or out of reach: the phone keeps its picture and tries later; ticks go on.
        return problem(507, "no-room", "There is no room for pictures just now")


def _told(upload: Upload) -> JsonResponse:
    answer = JsonResponse({"have": upload.have, "is_here": upload.is_here})
    answer["Cache-Control"] = "no-store"
    return answer


@for_the_field
@require_GET
def picture(request: HttpRequest, uid: uuid.UUID) -> HttpResponseBase:
    """The small copy of a photo of one's own gardens, for the phone to keep."""
    return photo_answer(get_object_or_404(photos_open_to(request.user), uid=uid).small)
