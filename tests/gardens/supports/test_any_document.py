"""Whatever a document holds: a whole answer, or a refusal; never a crash, never an infinite number."""

from __future__ import annotations

import copy
import json
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from business.errors import BadInput, Fault
from gardens.supports import EXAMPLES, bill_of_materials, check_support, layout_of, read_support, report_as_dict

JUNK = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-10_000, 1_000_000),
    st.floats(),
    st.text(max_size=12),
    st.sampled_from(
        ["0 m", "-3 m", "45 cm", "14", "14 SWG", "9999 m", "1e9", "½", "fan", "wall", "bare", "wood", "fill"]
    ),
    st.lists(st.integers(-100, 3000), max_size=4),
    st.dictionaries(st.text(max_size=5), st.integers(), max_size=2),
)


def places(document: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Every place of a document that holds a value."""
    if isinstance(document, dict):
        found = [(*path, key) for key in document]
        return found + [deep for key, value in document.items() for deep in places(value, (*path, key))]
    if isinstance(document, list):
        return [deep for number, value in enumerate(document) for deep in places(value, (*path, number))]
    return []


def spoiled(document: dict[str, Any], path: tuple[Any, ...], value: Any) -> None:
    """Put a value at a place, if an earlier one has left that place there."""
    holder: Any = document
    for key in path[:-1]:
        if not holds(holder, key):
            return
        holder = holder[key]
    if holds(holder, path[-1]):
        holder[path[-1]] = value


def holds(holder: Any, key: Any) -> bool:
    if isinstance(holder, dict):
        return key in holder
    return isinstance(holder, list) and isinstance(key, int) and key < len(holder)


def answered(document: dict[str, Any]) -> tuple[dict[str, Any] | None, tuple[Fault, ...]]:
    """The whole answer, or the faults of the refusal."""
    try:
        support = read_support(document)
        report = check_support(support, with_cures=False)
        return report_as_dict(report, bill_of_materials(support), layout_of(support)), ()
    except BadInput as refusal:
        return None, refusal.faults


@settings(deadline=None, derandomize=True, max_examples=200)
@given(st.sampled_from(sorted(EXAMPLES)), st.data())
def test_spoiled_document_is_answered_or_refused(name, data):
    document = copy.deepcopy(EXAMPLES[name])
    for _ in range(data.draw(st.integers(1, 3))):
        spoiled(document, data.draw(st.sampled_from(places(EXAMPLES[name]))), data.draw(JUNK))
    answer, faults = answered(document)

    assert (answer is None) == bool(faults)
    assert all(fault.where and fault.wrong and fault.remedy for fault in faults)
    assert json.dumps(answer, allow_nan=False)


@settings(deadline=None, derandomize=True, max_examples=50)
@given(st.dictionaries(st.text(max_size=12), JUNK, max_size=8))
def test_any_table_at_all_is_refused_with_reasons(document):
    _, faults = answered(document)

    assert any("kind" in fault.where for fault in faults)
