"""House rules: laid over ours, refused where they make no sense, shown beside the original, ended."""

from __future__ import annotations

from datetime import date

import pytest
from django.db import IntegrityError, transaction

from business import clock
from business.errors import AlreadyDone, BadInput, NotAllowed, Stale
from gardens.knowledge import load_knowledge
from gardens.models import RuleOverride
from gardens.services.due import DueBook
from gardens.services.rule_pages import rule_page, trees_of_rule
from gardens.services.rules import end_overrides, house_rules, our_knowledge, override_rule
from tests import make, make_garden

pytestmark = pytest.mark.django_db
RULE = "apple_spur/summer_prune"
LATER = "later(shoot_ripe+21d, terminal_bud+21d)"


def change(by=None, **given):
    values = {"rule": RULE, "changes": {"closes": LATER}, "reason": "Our valley is cold.", **given}
    return override_rule(by=by or make.staff(name="Ann Orchard"), **values)


def closing(knowledge, rule="summer_prune", species="apple_spur"):
    return str(knowledge.species[species].task(rule).closes)


def test_a_house_rule_decides_what_is_due(time_machine):
    time_machine.move_to("2027-03-01 09:00:00+00:00", tick=False)
    tree = make_garden.tree(planted_on=date(2015, 11, 20))

    def last_day():
        works = DueBook(clock.today(tree.site.zone)).work_of(tree.site, tree, 2027).work.needs
        return next(need for need in works if need.rule == RULE)

    before = last_day()
    change()
    after = last_day()

    assert after.window.closes < before.window.closes
    assert "house rule of Ann Orchard on 1 March 2027: Our valley is cold." in after.source
    assert before.source in after.source


def test_rules_without_a_house_rule_are_those_of_the_files():
    assert our_knowledge() is load_knowledge()


def test_the_same_house_rules_are_read_once(django_assert_num_queries):
    change()
    first = our_knowledge()

    with django_assert_num_queries(1):
        assert our_knowledge() is first


def test_the_original_stands_beside_the_house_rule():
    change()
    page = rule_page(house_rules(), RULE, date(2027, 3, 1))

    (line,) = page.changed
    assert (line.value, line.original) == (LATER, closing(load_knowledge()))
    assert (line.by, line.reason) == ("Ann Orchard", "Our valley is cold.")


def test_going_back_brings_our_rule_back_and_keeps_the_story():
    change()
    assert end_overrides(rule=RULE, by=make.staff()) == 1

    assert our_knowledge() is load_knowledge()
    row = RuleOverride.objects.get()
    assert row.ended_at is not None
    assert row.ended_by is not None


def test_another_house_rule_takes_the_place_of_the_first():
    change()
    change(changes={"closes": "later(shoot_ripe+28d, terminal_bud+28d)"}, reason="It was too short.")

    assert closing(our_knowledge()).startswith("later(shoot_ripe+28d")
    assert RuleOverride.objects.filter(ended_at=None).count() == 1
    assert RuleOverride.objects.count() == 2


def test_writing_the_original_again_ends_the_house_rule():
    change()
    assert change(changes={"closes": closing(load_knowledge())}, reason="Back to the book.") == []

    assert not RuleOverride.objects.filter(ended_at=None).exists()


def test_keys_that_only_fit_together_are_laid_together():
    early = {"best_from": "petal_fall+20d", "best_until": "petal_fall+30d", "opens": "petal_fall+10d"}
    with pytest.raises(BadInput, match="falls before"):
        change(changes={"closes": "petal_fall+40d"})

    change(changes={**early, "closes": "petal_fall+40d"})

    assert closing(our_knowledge()) == "petal_fall+40d"
    # Ending this one alone would leave a window whose best part ends after it closes.
    with pytest.raises(BadInput):
        end_overrides(rule=RULE, by=make.staff(), keys=["best_until"])
    assert RuleOverride.objects.filter(ended_at=None).count() == 4


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"changes": {"closes": "petal_fall"}}, "falls before"),
        ({"changes": {"closes": "whenever"}}, "not a stage"),
        ({"changes": {"opens": None}}, "half a window"),
        ({"changes": {"source": "me"}}, "cannot be changed"),
        ({"changes": {"gates": ["NO_SUCH_GATE"]}}, "not a weather gate"),
        ({"changes": {"stages": ["blooming"]}}, "not a stage of a tree"),
        ({"changes": {"cut": ""}}, "does not say what to do"),
        ({"rule": "apple_spur/sumer_prune"}, "there is no rule"),
        ({"reason": "  "}, "is empty"),
        ({"reason": "x" * 301}, "301 signs"),
        ({"changes": {"cut": "x" * 5000}}, "too long"),
        ({"changes": {}}, "nothing was changed"),
        ({"changes": {"closes": "later(shoot_ripe+35d, terminal_bud+35d)"}}, "nothing was changed"),
    ],
)
def test_a_house_rule_that_makes_no_sense_is_refused(given, words):
    with pytest.raises(BadInput) as refusal:
        change(**given)

    assert any(words in fault.wrong for fault in refusal.value.faults)
    assert len(refusal.value.faults) <= 6
    assert not RuleOverride.objects.exists()
    assert our_knowledge() is load_knowledge()


def test_only_the_office_changes_rules():
    with pytest.raises(NotAllowed):
        change(by=make.staff(role="crew"))
    change()
    with pytest.raises(NotAllowed):
        end_overrides(rule=RULE, by=make.staff(role="accountant"))


def test_a_stale_page_changes_nothing():
    change(seen=())
    with pytest.raises(Stale):
        change(seen=(), reason="I saw the old one.")


def test_going_back_twice_is_refused():
    with pytest.raises(AlreadyDone):
        end_overrides(rule=RULE, by=make.staff())


def test_a_house_rule_that_fits_no_longer_rests_and_is_told():
    change()
    RuleOverride.objects.create(
        rule="apple_spur/gone_since", key="closes", value="leaf_fall", reason="Was once.", made_by=make.staff(),
        made_at=clock.now(),
    )  # fmt: skip

    house = house_rules()

    assert closing(house.knowledge) == LATER
    ((unfit, why),) = house.unfit
    assert unfit.rule == "apple_spur/gone_since"
    assert "there is no rule" in why


def test_the_table_holds_one_house_rule_per_key():
    change()
    row = RuleOverride.objects.get()
    row.pk = None
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save(force_insert=True)


def test_a_rule_finds_the_trees_it_speaks_of():
    make.profile(climate_profile="")
    wet = make_garden.support(site=make_garden.site(climate_profile="maritime"))
    cold = make_garden.support(site=make_garden.site(climate_profile="continental_cold"))
    plum, elsewhere = (
        make_garden.tree(support=row, species="plum_european", form="fan", rootstock="") for row in (wet, cold)
    )
    make_garden.tree(support=wet, position_mm=6000)
    make_garden.tree(
        support=wet, position_mm=7000, species="peach", form="fan", rootstock="", removed_on=date(2026, 1, 1)
    )

    assert trees_of_rule(house_rules(), "stone/silver_leaf") == [plum]
    assert trees_of_rule(house_rules(), "stone/clean_summer") == sorted(
        [plum, elsewhere], key=lambda tree: tree.site.name
    )
