"""Who changed what, on the page of the thing."""

from __future__ import annotations

from typing import Any

from django import template

from business.queries.access import changes_open_to

register = template.Library()
SHOWN = 12


@register.inclusion_tag("business/_changes.html", takes_context=True)
def changes(context: dict[str, Any], kind: str, number: int) -> dict[str, Any]:
    """``{% changes "visit" visit.pk %}``: the newest acts, for those who may read them."""
    user = context.get("user")
    rows = changes_open_to(user).filter(reference=f"{kind}:{number}") if user is not None else ()
    return {
        "changes": [
            {
                "row": row,
                "values": [
                    (name.removesuffix("_id").replace("_", " "), row.before.get(name), row.after.get(name))
                    for name in sorted({*row.before, *row.after})
                ],
            }
            for row in rows[:SHOWN]
        ]
    }
