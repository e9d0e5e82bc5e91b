"""What is answered when something broke: a page that needs nothing, and a status that tells machines whether to try again.

503 with Retry-After when the database cannot be reached (a phone then keeps its acts and sends them later), 507 when the
disk is full, else 500.
"""

from __future__ import annotations

import errno
import sys

from django.db import InterfaceError, OperationalError
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string

TRY_AGAIN_SECONDS = 20


def server_error(request: HttpRequest) -> HttpResponse:
    """Called by Django where an error reached the top."""
    error = sys.exc_info()[1]
    if isinstance(error, OperationalError | InterfaceError):
        answer = HttpResponse(render_to_string("503.html"), status=503)
        answer["Retry-After"] = str(TRY_AGAIN_SECONDS)
        return answer
    if isinstance(error, OSError) and error.errno in {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}:
        return HttpResponse(render_to_string("507.html"), status=507)
    return HttpResponse(render_to_string("500.html"), status=500)
