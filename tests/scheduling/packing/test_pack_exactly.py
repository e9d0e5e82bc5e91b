from itertools import pairwise

from hypothesis import HealthCheck, given, settings

from scheduling.packing import pack_site
from tests.scheduling.packing.small_sites import (
    best_by_trying_everything,
    needs_of_a_site,
    rules_of_a_site,
    score,
)

SLOW = settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@SLOW
@given(needs_of_a_site(), rules_of_a_site())
def test_no_packing_beats_the_one_found(needs, rules):
    packing = pack_site(needs, rules)

    assert packing.is_proved
    assert score(packing, needs, rules) == best_by_trying_everything(needs, rules)


@SLOW
@given(needs_of_a_site(most=9, days=20), rules_of_a_site(days=20))
def test_every_need_is_served_within_the_rules_or_named(needs, rules):
    packing = pack_site(needs, rules)

    served = [need_id for visit in packing.visits for need_id in visit.need_ids]
    assert sorted([*served, *(unserved.need_id for unserved in packing.unserved)]) == sorted(need.id for need in needs)
    by_id = {need.id: need for need in needs}
    for visit in packing.visits:
        load = [by_id[need_id] for need_id in visit.need_ids]
        assert visit.opens <= visit.best_from <= visit.best_until <= visit.closes
        assert visit.opens <= visit.on <= visit.closes
        assert all(need.opens <= visit.opens and visit.closes <= need.closes for need in load)
        assert visit.minutes == sum(need.minutes for need in load)
    gap = 1 if rules.may_run_on else max(1, rules.min_gap_days)
    new = packing.new_visits
    assert all((later.opens - earlier.closes).days >= gap for earlier, later in pairwise(new))


@SLOW
@given(needs_of_a_site(most=9, days=20), rules_of_a_site(days=20))
def test_proof_never_asks_for_more_visits_than_made(needs, rules):
    packing = pack_site(needs, rules)

    if not packing.unserved:
        assert packing.fewest_visits <= len(packing.new_visits)
        assert sum(span.visits for span in packing.proof) <= len(packing.new_visits)
