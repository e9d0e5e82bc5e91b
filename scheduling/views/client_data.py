"""Everything of one client as a download, for a data request."""

from __future__ import annotations

from django.http import HttpRequest, StreamingHttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_POST

from business.queries import access
from business.services.client_data import archive_name
from business.views.doors import door
from scheduling.services.client_data import everything_of


@door(access.changes_books)
@require_POST
def everything(request: HttpRequest, client_id: int) -> StreamingHttpResponse:
    """A POST, because it is noted who took it. Whoever takes it may see prices: they are inside."""
    found = get_object_or_404(access.clients_open_to(request.user), pk=client_id)
    chunks = everything_of(found, by=access.staff_behind(request.user))
    answer = StreamingHttpResponse(chunks, content_type="application/zip")
    answer["Content-Disposition"] = f'attachment; filename="{archive_name(found)}"'
    answer["Cache-Control"] = "no-store"
    return answer
