"""The database ends the connection in the middle of a batch, as it does when it is restarted."""

from __future__ import annotations

import uuid
from typing import Any

import pytest
from django.db import DatabaseError, connection

from scheduling.models import FieldAct, HandedOut, Task, Visit
from scheduling.services.field_phones import meet_phone
from tests import make_garden
from tests.faults.field_batches import TEN, acts_of, send


def end_at(query: int) -> Any:
    """Have the server throw us out when we are about to ask the n-th question."""
    asked = 0

    def wrapper(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        nonlocal asked
        asked += 1
        if asked == query:
            execute("SELECT pg_terminate_backend(pg_backend_pid())", None, False, context)
        return execute(sql, params, many, context)

    return wrapper


@pytest.mark.services
@pytest.mark.django_db(transaction=True)
def test_a_restarted_database_loses_and_doubles_nothing(crew):
    if connection.vendor != "postgresql":
        pytest.fail("The services of this test are PostgreSQL; deploy/test starts it.")
    tree = make_garden.tree()
    needs = tuple(make_garden.need(tree=tree) for _ in range(100))
    visit = make_garden.visit(needs=needs, on=TEN.date(), crew=make_garden.crew(members=(crew,)))
    phone = uuid.uuid4()
    HandedOut.objects.create(phone=meet_phone(uid=phone, staff=crew), staff=crew, visit=visit, first_at=TEN)
    acts = list(acts_of(1, crew, visit, tree))
    ends = 0
    for place, start in enumerate(range(0, len(acts), 50)):
        batch = acts[start : start + 50]
        before = FieldAct.objects.count()
        try:
            with connection.execute_wrapper(end_at(4 + 5 * place)):
                send(crew, phone, batch)
        except DatabaseError:
            ends += 1
            connection.close()
            assert FieldAct.objects.count() == before
        assert send(crew, phone, batch) == ["accepted"] * len(batch)
    assert ends == 4
    assert FieldAct.objects.count() == len(acts)
    assert Visit.objects.get(pk=visit.pk).state == "finished"
    assert not Task.objects.filter(work_order__visit=visit, state="open").exists()
