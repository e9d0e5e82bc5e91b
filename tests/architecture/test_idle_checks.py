"""Checks that would pass whatever the code does, and names that lead nowhere."""

from __future__ import annotations

import ast

import pytest
from celery import current_app
from django.conf import settings

from tests.architecture.project import called_name, modules

COUNTERS = {"assertNumQueries", "django_assert_num_queries", "django_assert_max_num_queries"}


def idle_counts(tree: ast.Module) -> list[int]:
    """Lines where a query count is asked for and nothing runs under it."""
    return [
        node.lineno
        for node in ast.walk(tree)
        if isinstance(node, ast.Expr)
        and isinstance(node.value, ast.Call)
        and called_name(node.value) in COUNTERS
        and len(node.value.args) == 1
    ]


def test_an_idle_query_count_would_be_found():
    assert idle_counts(ast.parse("def test(django_assert_num_queries):\n    django_assert_num_queries(3)")) == [2]
    assert idle_counts(ast.parse("with django_assert_num_queries(3):\n    read()")) == []


def test_query_counts_are_really_asserted():
    faults = [f"{name}:{line}" for name, tree in modules(("tests",)) for line in idle_counts(tree)]
    assert faults == []


def queued_names(tree: ast.Module) -> list[tuple[int, str | None]]:
    """Line and task name of each ``later("room.tasks.act", …)``; None where the name is not written out."""
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and called_name(node) == "later" and node.args:
            first = node.args[0]
            found.append((node.lineno, str(first.value) if isinstance(first, ast.Constant) else None))
    return found


def test_jobs_are_queued_by_names_that_exist():
    faults = [
        f"{name}:{line} queues {task!r}"
        for name, tree in modules()
        for line, task in queued_names(tree)
        if task is not None and task not in current_app.tasks
    ]
    assert faults == []


@pytest.mark.parametrize("entry", sorted(settings.CELERY_BEAT_SCHEDULE))
def test_the_beat_calls_tasks_that_exist(entry):
    assert settings.CELERY_BEAT_SCHEDULE[entry]["task"] in current_app.tasks


def test_tasks_of_our_rooms_carry_their_place_in_their_name():
    ours = [
        (name, task.__module__)
        for name, task in current_app.tasks.items()
        if task.__module__.split(".")[0] in {"business", "gardens", "scheduling", "deploy"}
    ]
    assert [name for name, module in ours if not name.startswith(f"{module.split('.')[0]}.tasks.")] == []
