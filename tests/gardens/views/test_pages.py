"""Pages of gardens: what they show, whom they let in, what they refuse."""

from __future__ import annotations

from datetime import date

import pytest
from django.urls import reverse

from business.models import Staff
from gardens.models import Record
from tests import make, make_garden

pytestmark = pytest.mark.django_db


@pytest.fixture
def tree():
    make.profile()
    return make_garden.tree(label="Pear <by> the door", species="pear_european", rootstock="quince_a")


@pytest.fixture
def office(client):
    client.force_login(make.staff(role=Staff.Role.OFFICE))
    return client


def addresses(tree) -> list[str]:
    return [
        reverse("sites"),
        reverse("site", args=[tree.site_id]),
        reverse("trees"),
        reverse("tree", args=[tree.pk]),
        reverse("support", args=[tree.support_id]),
    ]


@pytest.mark.parametrize("role", [Staff.Role.OWNER, Staff.Role.OFFICE])
def test_the_office_sees_the_gardens(client, tree, role):
    client.force_login(make.staff(role=role))

    assert [client.get(address).status_code for address in addresses(tree)] == [200] * 5


@pytest.mark.parametrize("role", [Staff.Role.CREW_LEAD, Staff.Role.CREW, Staff.Role.ACCOUNTANT])
def test_crews_and_accountants_see_no_garden_of_others(client, tree, role):
    client.force_login(make.staff(role=role))

    assert [client.get(address).status_code for address in addresses(tree)] == [404] * 5


def test_a_stranger_is_asked_to_sign_in(client, tree):
    for address in addresses(tree):
        response = client.get(address)
        assert response.status_code == 302
        assert response["Location"].startswith(reverse("sign-in"))


def test_the_tree_leads_with_its_drawing_and_names_sources(office, tree):
    page = office.get(reverse("tree", args=[tree.pk])).content.decode()

    assert page.index("<svg") < page.index("Records")
    assert "Source:" in page
    assert "Pear &lt;by&gt; the door" in page
    assert "<by>" not in page


def test_a_fact_is_written_down_on_the_page(office, tree):
    response = office.post(
        reverse("tree-record", args=[tree.pk]),
        {"on": "2025-01-10", "what": "measured:leader_height", "limb": "leader", "value": "38.5 in", "text": ""},
    )

    assert response.status_code == 302
    assert Record.objects.values_list("what", "value").get() == ("leader_height", 978)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"value": "tall"}, "is not a length"),
        ({"on": "1999-01-01"}, "before the tree was planted"),
        ({"value": ""}, "is empty"),
        ({"what": "seen:stage", "text": "blossoming", "value": ""}, "is not a stage"),
        ({"what": "seen:fruit_count", "value": "many"}, "is not a number"),
    ],
)
def test_a_wrong_fact_keeps_what_was_typed(office, tree, changes, words):
    sent = {"on": "2025-01-10", "what": "measured:leader_height", "limb": "leader", "value": "95 cm", "text": ""}

    response = office.post(reverse("tree-record", args=[tree.pk]), {**sent, **changes})

    assert response.status_code == 422
    assert words in response.content.decode()
    assert not Record.objects.exists()


def test_a_record_can_be_withdrawn_by_the_office_only(client, tree):
    record = make_garden.record(tree=tree)
    client.force_login(make.staff(role=Staff.Role.CREW))
    assert client.post(reverse("record-withdraw", args=[record.pk])).status_code == 404

    client.force_login(make.staff(role=Staff.Role.OFFICE))
    client.post(reverse("record-withdraw", args=[record.pk]))

    record.refresh_from_db()
    assert record.is_withdrawn


@pytest.mark.parametrize("trees", [1, 12])
def test_a_garden_takes_the_same_queries_however_many_trees(office, django_assert_max_num_queries, trees):
    make.profile()
    row = make_garden.support(length_mm=60_000)
    for number in range(trees):
        make_garden.tree(support=row, position_mm=2000 + 4000 * number)

    with django_assert_max_num_queries(16):
        office.get(reverse("site", args=[row.site_id]))


def test_lists_can_be_searched_and_say_when_nothing_fits(office, tree):
    make_garden.tree(label="Fig", species="fig", form="fan", rootstock="")

    found = office.get(reverse("trees"), {"species": "fig"}).content.decode()
    nothing = office.get(reverse("trees"), {"words": "walnut"}).content.decode()

    assert "Fig" in found
    assert "Pear" not in found.split("<tbody>")[1]
    assert "No tree fits this filter." in nothing


def test_a_measured_leader_moves_what_is_due(office, tree, time_machine):
    time_machine.move_to("2026-11-25 09:00:00+00:00")
    make_garden.record(tree=tree, on=date(2026, 11, 20), value=430.0)

    page = office.get(reverse("tree", args=[tree.pk])).content.decode()

    assert "forming" in page
