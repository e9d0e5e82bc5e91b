"""Supports as services of other rooms look for them."""

from __future__ import annotations

from gardens.models import Support


def support_by_id(support_id: int, *, client_id: int) -> Support | None:
    """A support in one of a client's gardens, with its wires; None where it is not theirs or is gone."""
    rows = Support.objects.select_related("site__client", "site__station").prefetch_related("wires")
    return rows.filter(pk=support_id, site__client_id=client_id).first()
