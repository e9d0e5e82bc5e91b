"""The office keeps gardens, supports and trees on pages; what was typed wrong stays in its box with a reason."""

from __future__ import annotations

import pytest
from django.urls import reverse

from gardens.forms.places import SiteForm, SupportForm, TreeForm
from gardens.models import Site, Support, Tree
from gardens.services.places import version_of
from gardens.units import exact_length, parse_length_mm
from tests import make, make_garden

pytestmark = pytest.mark.django_db
GARDEN = {
    "name": "Orchard House",
    "latitude_deg": "51.03",
    "longitude_deg": "-2.8",
    "elevation_m": "20",
    "time_zone": "Europe/London",
    "days": ["0", "2"],
    "access_from": "09:00",
    "access_until": "16:00",
    "is_active": "on",
}
ROW = {
    "name": "South wall",
    "kind": "wall",
    "length_mm": "12 m",
    "height_mm": "220",
    "faces_deg": "180",
    "gap_mm": "15 cm",
    "wires_mm": "45 cm, 90 cm, 135 cm",
}
TREE = {
    "label": "Pear by the door",
    "species": "pear_european",
    "form": "horizontal_tiers",
    "position_mm": "3 m",
    "planted_on": "2026-01-10",
    "start": "whip",
}


def shown(form: object) -> dict[str, object]:
    """What a browser would send back from a form as it is shown."""
    said: dict[str, object] = {}
    for bound in form:  # type: ignore[attr-defined]
        value = bound.value()
        if isinstance(value, bool):
            if value:
                said[bound.html_name] = "on"
        elif value is not None:
            widget = bound.field.widget
            said[bound.html_name] = value if isinstance(value, list) else widget.format_value(value) or ""
    return said


def test_a_garden_with_its_wall_and_tree_is_built_on_pages(at_office):
    client = make.client()
    page = at_office.get(reverse("client", args=[client.pk]))
    assert reverse("site-new", args=[client.pk]) in page.content.decode()
    at_office.post(reverse("site-new", args=[client.pk]), GARDEN)
    site = Site.objects.get()
    assert (site.access_days, site.client) == ("Monday, Wednesday", client)
    at_office.post(reverse("support-new", args=[site.pk]), ROW)
    support = Support.objects.get()
    assert (support.length_mm, support.height_mm, support.wire_heights_mm) == (12000, 2200, (450, 900, 1350))
    answer = at_office.post(reverse("tree-new", args=[support.pk]), TREE, follow=True)
    tree = Tree.objects.get()
    assert (tree.position_mm, tree.run_left_mm, tree.run_right_mm) == (3000, 3000, 9000)
    assert "Pear by the door" in answer.content.decode()


@pytest.mark.parametrize(
    ("page", "usual", "wrong", "words"),
    [
        ("site-new", GARDEN, {"days": []}, "Choose at least one day"),
        ("site-new", GARDEN, {"time_zone": "London"}, "Write it like Europe/London"),
        ("site-new", GARDEN, {"access_until": "08:00"}, "write a later hour"),
        ("support-new", ROW, {"length_mm": "long"}, "is not a length"),
        ("support-new", ROW, {"wires_mm": "90 cm, 45 cm"}, "from below"),
        ("support-new", ROW, {"faces_deg": "400"}, "write 0 to 359"),
        ("support-new", ROW, {"wires_mm": "2.5 m"}, "lies above the support"),
        ("tree-new", TREE, {"position_mm": "30 m"}, "stands beyond its support"),
        ("tree-new", TREE, {"planted_on": "soon"}, "date"),
    ],
)
def test_what_is_wrong_is_told_beside_its_box(at_office, page, usual, wrong, words):
    support = make_garden.support()
    place = {"site-new": support.site.client_id, "support-new": support.site_id, "tree-new": support.pk}[page]
    before = (Site.objects.count(), Support.objects.count(), Tree.objects.count())
    answer = at_office.post(reverse(page, args=[place]), {**usual, **wrong})
    assert answer.status_code == 422
    assert words in answer.content.decode().replace("&#x27;", "'")
    assert (Site.objects.count(), Support.objects.count(), Tree.objects.count()) == before


def test_forms_sent_back_unchanged_change_nothing(at_office):
    support = make_garden.support(faces_deg=197, length_mm=8123)
    tree = make_garden.tree(support=support, position_mm=2345, run_left_mm=1111, run_right_mm=1234)
    rows = [
        ("site-edit", support.site, SiteForm),
        ("support-edit", support, SupportForm),
        ("tree-edit", tree, TreeForm),
    ]
    for page, row, form in rows:
        seen = version_of(row)
        sent = shown(form(initial=form.initial_of(row, seen)))
        answer = at_office.post(reverse(page, args=[row.pk]), sent)
        assert answer.status_code == 302, (page, answer.context["form"].errors)
        assert version_of(type(row).objects.get(pk=row.pk)) == seen


@pytest.mark.parametrize("units", ["metric", "imperial"])
def test_a_length_in_a_box_is_read_back_to_the_millimetre(units):
    for mm in (*range(1, 400), 999, 1234, 2345, 8123, 12_345, 99_999):
        assert parse_length_mm(exact_length(mm, units), default_unit="cm") == mm


def test_lengths_are_asked_in_the_units_of_the_business(at_office):
    make.profile(units="imperial")
    site = make_garden.site()
    at_office.post(reverse("support-new", args=[site.pk]), {**ROW, "length_mm": "240", "height_mm": "6 ft 6"})
    support = Support.objects.get()
    assert (support.length_mm, support.height_mm) == (6096, 1981)
    page = at_office.get(reverse("support-edit", args=[support.pk])).content.decode()
    assert 'value="240 in"' in page


def test_a_stale_form_is_refused_and_keeps_what_was_typed(at_office):
    tree = make_garden.tree()
    sent = {**TREE, "label": "My new name", "position_mm": "2 m", "seen": version_of(tree)}
    Tree.objects.filter(pk=tree.pk).update(note="somebody was quicker")
    answer = at_office.post(reverse("tree-edit", args=[tree.pk]), sent)
    assert answer.status_code == 422
    assert "changed by somebody else" in answer.content.decode()
    assert "My new name" in answer.content.decode()


def test_a_tree_is_taken_out_with_its_reason(at_office):
    tree = make_garden.tree()
    address = reverse("tree-out", args=[tree.pk])
    assert at_office.post(address, {"removed_on": "2026-02-01", "why": ""}).status_code == 422
    assert at_office.post(address, {"removed_on": "2026-02-01", "why": "canker"}).status_code == 302
    tree.refresh_from_db()
    assert str(tree.removed_on) == "2026-02-01"


@pytest.mark.parametrize("page", ["site-edit", "support-edit", "support-new", "tree-new", "tree-edit", "tree-out"])
def test_crews_and_accountants_keep_no_gardens(client, crew, accountant, page):
    tree = make_garden.tree()
    place = {"site-edit": tree.site_id, "support-new": tree.site_id, "tree-edit": tree.pk, "tree-out": tree.pk}
    address = reverse(page, args=[place.get(page, tree.support_id)])
    for person in (crew, accountant):
        client.force_login(person)
        assert client.get(address).status_code in {403, 404, 405}
        assert client.post(address, TREE).status_code in {403, 404}


def test_each_page_leads_to_its_form(at_office):
    tree = make_garden.tree()
    ways = {
        "client": (tree.site.client_id, [("site-new", tree.site.client_id)]),
        "site": (tree.site_id, [("site-edit", tree.site_id), ("support-new", tree.site_id)]),
        "support": (tree.support_id, [("support-edit", tree.support_id), ("tree-new", tree.support_id)]),
        "tree": (tree.pk, [("tree-edit", tree.pk)]),
    }
    for page, (place, forms) in ways.items():
        content = at_office.get(reverse(page, args=[place])).content.decode()
        for name, at in forms:
            assert reverse(name, args=[at]) in content, (page, name)


def test_care_that_nobody_did_in_time_is_shown_as_overdue(at_office, time_machine):
    time_machine.move_to("2026-11-25 09:00:00+00:00", tick=False)
    tree = make_garden.tree()
    Support.objects.filter(pk=tree.support_id).update(built_on="2021-01-14")
    page = at_office.get(reverse("support", args=[tree.support_id])).content.decode()
    assert "overdue since" in page
