"""A square code as a drawing (ISO/IEC 18004): one path, so that it stays sharp and needs no picture file."""

from __future__ import annotations

from html import escape

from qrcode.constants import ERROR_CORRECT_M
from qrcode.main import QRCode

QUIET = 4
"""Empty modules around it; the standard wants four."""


def qr_code(text: str, title: str) -> str:
    """The code as an SVG element with a title for those who do not see it."""
    code = QRCode(error_correction=ERROR_CORRECT_M, border=QUIET)
    code.add_data(text)
    code.make(fit=True)
    rows = code.get_matrix()
    size = len(rows)
    path = "".join(f"M{x} {y}h1v1h-1z" for y, row in enumerate(rows) for x, is_dark in enumerate(row) if is_dark)
    return (
        f'<svg class="qr-code" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {size} {size}" role="img" '
        f'shape-rendering="crispEdges"><title>{escape(title)}</title>'
        f'<rect width="{size}" height="{size}" fill="#fff"/><path d="{path}" fill="#000"/></svg>'
    )
