"""The pages of rules: what they show, whom they let in, what they refuse."""

from __future__ import annotations

import pytest
from django.urls import reverse

from business.models import Staff
from gardens.knowledge import load_knowledge
from gardens.knowledge.form_schema import forms
from gardens.models import RuleOverride
from gardens.services.rules import our_knowledge, override_rule
from tests import make, make_garden

pytestmark = pytest.mark.django_db
RULE = ["apple_spur", "summer_prune"]


@pytest.fixture
def office(client):
    client.force_login(make.staff(role=Staff.Role.OFFICE, name="Ann Orchard"))
    return client


def text(client, name, *args, **query):
    return client.get(reverse(name, args=args), query).content.decode()


def written(client, **changes):
    """The form of the rule as the page shows it, with some boxes changed."""
    form = client.get(reverse("rule", args=RULE)).context["form"]
    return {**{name: form.get_initial_for_field(field, name) for name, field in form.fields.items()}, **changes}


def changed(client, **changes):
    sent = {name: value or "" for name, value in written(client, **changes).items()}
    return client.post(reverse("rule-change", args=RULE), sent)


@pytest.mark.parametrize("species", sorted(load_knowledge().species))
def test_every_species_shows_its_rules_and_sources(office, species):
    page = office.get(reverse("rules-species", args=[species]))

    assert page.status_code == 200
    words = page.content.decode()
    known = load_knowledge().species[species]
    assert all(f"Rule {rule.rule}<" in words for rule in (*known.tasks, *known.closed, *known.watches))
    assert words.count("Source") > 5


@pytest.mark.parametrize("form", sorted(forms()))
def test_every_form_shows_its_measures_and_sources(office, form):
    page = text(office, "rules-form", form)

    assert forms()[form].shape.split(";")[0].replace("'", "&#x27;") in page
    assert "Source:" in page


def test_every_rule_has_a_page_of_its_own(office, django_assert_max_num_queries):
    names = sorted({rule.rule for one in load_knowledge().species.values() for rule in (*one.tasks, *one.closed)})

    for name in names[::12]:
        with django_assert_max_num_queries(12):
            assert office.get(reverse("rule", args=name.split("/"))).status_code == 200


def test_the_first_page_lists_species_and_forms_with_our_trees(office):
    make_garden.tree()
    page = text(office, "rules")

    first, last = (load_knowledge().species[key].name.capitalize() for key in ("apple_spur", "wisteria"))
    assert page.index(first) < page.index(last)
    assert "1 tree" in page
    assert "Lattice" in page
    assert "we work by the book" in page


def test_rules_are_searched_by_words_and_paged(office):
    found = text(office, "rules", words="silver maritime")
    many = text(office, "rules", words="prune")

    assert "stone/silver_leaf" in found
    assert "Further" in many
    assert "No rule holds all these words" in text(office, "rules", words="<zebra>")
    assert "<zebra>" not in text(office, "rules", words="<zebra>")


def test_a_rule_names_where_it_applies_and_where_it_comes_from(office):
    make.profile(climate_profile="")
    row = make_garden.support()
    make_garden.tree(support=row, label="Plum by the pump", species="plum_european", form="fan", rootstock="")
    make_garden.tree(support=row, position_mm=6000, label="Apple")

    page = text(office, "rule", "stone", "silver_leaf")

    assert "Plum by the pump" in page
    assert "Apple<" not in page
    assert "where the climate is maritime" in page.lower()
    assert "from 1 september to 31 may" in page.lower()
    assert "Press, nursery or consumer body" in page


def test_the_office_lays_its_own_rule_over_the_book(office):
    answer = changed(office, closes="later(shoot_ripe+21d, terminal_bud+21d)", reason="Our valley is <cold>.")

    assert answer.status_code == 302
    page = text(office, "rule", *RULE)
    assert "What we do otherwise" in page
    assert "later(shoot_ripe+35d, terminal_bud+35d)" in page
    assert "Our valley is &lt;cold&gt;." in page
    assert "Our own rule" in text(office, "rules-species", "apple_spur")
    assert "Apple spur, summer prune: closes" in text(office, "rules")


def test_going_back_on_the_page_brings_the_book_back(office):
    changed(office, closes="later(shoot_ripe+21d, terminal_bud+21d)", reason="Cold.")

    office.post(reverse("rule-back", args=RULE), {"key": "closes"})

    page = text(office, "rule", *RULE)
    assert "What we do otherwise" not in page
    assert "Ended by Ann Orchard" in page
    assert our_knowledge() is load_knowledge()


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"closes": "petal_fall", "reason": "x"}, "falls before"),
        ({"closes": "soon", "reason": "x"}, "is not a stage"),
        ({"passes": "many", "reason": "x"}, "not a whole number"),
        ({"numbers": "leaves = few", "reason": "x"}, "is not an amount"),
        ({"numbers": "petals = 3", "reason": "x"}, "petals"),
        ({"closes": "leaf_fall", "reason": ""}, "This field is required"),
        ({"reason": "no change at all"}, "Nothing was changed"),
        ({"closes": "shoot_ripe+99d", "reason": "x", "seen": "17"}, "somebody else"),
        ({"closes": "shoot_ripe+99d", "reason": "x", "seen": "a-b"}, "somebody else"),
    ],
)
def test_a_wrong_change_keeps_what_was_typed(office, changes, words):
    answer = changed(office, **changes)

    assert answer.status_code == 422
    page = answer.content.decode()
    assert words.casefold() in page.casefold()
    assert not RuleOverride.objects.exists()
    assert all(value in page for key, value in changes.items() if key != "seen")


def test_going_back_from_nothing_is_told_not_done(office):
    answer = office.post(reverse("rule-back", args=RULE), follow=True)

    assert "has no house rule to go back from" in answer.content.decode()


@pytest.mark.parametrize("role", [Staff.Role.CREW, Staff.Role.CREW_LEAD])
def test_a_crew_reads_a_rule_but_does_not_change_it(client, role):
    make_garden.tree(label="Apple of another client")
    client.force_login(make.staff(role=role))

    page = text(client, "rule", *RULE)
    assert "Summer prune" in page
    for read in (page, text(client, "rules-species", "apple_spur"), text(client, "rules-form", "horizontal_tiers")):
        assert "Apple of another client" not in read
    assert "Lay it over the book" not in page
    assert client.get(reverse("rules-species", args=["fig"])).status_code == 200
    assert client.get(reverse("rules-form", args=["fan"])).status_code == 200
    assert client.get(reverse("rules")).status_code == 404
    assert client.post(reverse("rule-change", args=RULE), {"reason": "x"}).status_code == 404
    assert client.post(reverse("rule-back", args=RULE)).status_code == 404


def test_an_accountant_and_a_stranger_see_no_rule(client):
    addresses = [reverse("rules"), reverse("rule", args=RULE), reverse("rules-form", args=["fan"])]
    assert {client.get(address).status_code for address in addresses} == {302}

    client.force_login(make.staff(role=Staff.Role.ACCOUNTANT))
    assert {client.get(address).status_code for address in addresses} == {404}


def test_unknown_species_forms_and_rules_are_missing_pages(office):
    for name, args in (("rules-species", ["unicorn"]), ("rules-form", ["unicorn"]), ("rule", ["fig", "unicorn"])):
        assert office.get(reverse(name, args=args)).status_code == 404
    assert office.post(reverse("rule-change", args=["fig", "unicorn"]), {"reason": "x"}).status_code == 404


def test_a_house_rule_that_rests_is_shown_to_the_office(office):
    override_rule(
        rule="/".join(RULE), changes={"closes": "shoot_ripe+99d"}, reason="Late.", by=make.staff(role="owner")
    )
    RuleOverride.objects.update(rule="apple_spur/gone_since")

    page = text(office, "rules")

    assert "House rules that rest" in page
    assert "there is no rule apple_spur/gone_since" in page
