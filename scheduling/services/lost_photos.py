"""Photos that could not be put on a paper: the log and the office hear of them, once for each paper."""

from __future__ import annotations

import logging
from collections.abc import Sequence

from business.services.messages import queue_message
from scheduling.documents.photos import PhotoOnPaper
from scheduling.queries.reminders import office_mail_addresses

log = logging.getLogger(__name__)

KIND = "photo_lost"


def report_missing(missing: Sequence[PhotoOnPaper], *, reference: str, about: str) -> None:
    """Tell the office which photos a frame stands for, and why."""
    if not missing:
        return
    for photo in missing:
        log.warning("photo %s %s: a frame stands for it on %s", photo.photo_uid, photo.trouble, reference)
    lines = "\n".join(f"- {photo.words}: {photo.trouble} ({photo.photo_uid})" for photo in missing)
    count = len(missing)
    for person in office_mail_addresses(must_see_prices=False):
        queue_message(
            key=f"{KIND}:{reference}:{person.pk}",
            kind=KIND,
            to=person.email,
            subject=f"{count} photo{'s' if count > 1 else ''} could not be shown on {about}",
            body=f"On {about} a frame stands in place of:\n{lines}\n\nRestore the file from a backup, or take the photo again.\n",
        )
