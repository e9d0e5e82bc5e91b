"""A signature drawn anew from its lines; nothing a phone sent is copied as it came."""

from __future__ import annotations

from scheduling.documents.photos import as_image
from scheduling.queries.signatures import HIGH, WIDE, Signature


def signature_image(signature: Signature) -> str:
    """The lines as an image address for a paper."""
    lines = "".join('<path d="M' + "L".join(f"{x} {y}" for x, y in stroke) + '"/>' for stroke in signature.strokes)
    return as_image(
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE} {HIGH}" width="60mm" height="20mm">'
        '<g fill="none" stroke="#171c19" stroke-width="4" stroke-linecap="round" stroke-linejoin="round">'
        f"{lines}</g></svg>"
    )
