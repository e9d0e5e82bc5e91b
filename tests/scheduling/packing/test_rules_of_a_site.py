from datetime import timedelta

import pytest

from scheduling.packing import CrewKind, DayLimit, LockedVisit, PackRules, pack_site
from tests.scheduling.packing.small_sites import day, need


def unserved(packing) -> dict[str, str]:
    return {each.need_id: each.code for each in packing.unserved}


def test_no_needs_make_no_visits():
    packing = pack_site([], PackRules())

    assert (packing.visits, packing.unserved, packing.is_proved) == ((), (), True)


def test_blocked_days_and_access_days_are_kept():
    rules = PackRules(weekdays=frozenset({0}), blocked=frozenset({day(7)}))
    packing = pack_site([need("1", (5, 5, 20, 20))], rules)

    assert packing.visits[0].on == day(14)
    assert (packing.visits[0].opens, packing.visits[0].closes) == (day(14), day(14))


def test_need_that_meets_no_open_day_says_so():
    packing = pack_site([need("1", (1, 1, 4, 4))], PackRules(weekdays=frozenset({0})))

    assert unserved(packing) == {"1": "no_open_day"}
    assert "access on Monday" in packing.unserved[0].why


def test_window_that_has_passed_is_named():
    packing = pack_site([need("1", (0, 0, 4, 4))], PackRules(not_before=day(5)))

    assert unserved(packing) == {"1": "window_passed"}


def test_long_need_is_split_only_if_allowed():
    rules = PackRules(visit_minutes=200)
    whole = pack_site([need("1", (0, 0, 9, 9), 500)], rules)
    split = pack_site([need("1", (0, 0, 9, 9), 500, may_split=True)], rules)

    assert unserved(whole) == {"1": "too_long"}
    assert whole.unserved[0].why == "1: takes 500 min, a visit has room for 200 min"
    assert sorted(visit.minutes for visit in split.visits) == [100, 200, 200]
    assert sum(minutes for visit in split.visits for _, minutes in visit.parts) == 500


def test_split_parts_are_cut_for_the_shortest_day_and_joined_on_longer_ones():
    rules = PackRules(visit_minutes=300, day_limits=(DayLimit(first=day(0), last=day(1), minutes=120),))
    packing = pack_site([need("1", (0, 0, 6, 6), 400, may_split=True)], rules)

    assert packing.unserved == ()
    assert len(packing.visits) == 2
    assert all(visit.minutes <= rules.room_on(visit.on) for visit in packing.visits)


def test_long_work_may_run_on_inside_the_gap():
    rules = PackRules(visit_minutes=200, min_gap_days=14, weekdays=frozenset(range(5)))
    needs = [need(str(number), (0, 0, 11, 11), 150) for number in range(3)]

    apart = pack_site(needs, rules)
    running_on = pack_site(needs, PackRules(**{**vars(rules), "may_run_on": True}))

    assert list(unserved(apart).values()) == ["gap", "gap"]
    days = [visit.on for visit in running_on.visits]
    assert len(days) == 3
    assert days[1] - days[0] in {timedelta(days=1), timedelta(days=3)}


def test_setup_is_counted_once_a_visit():
    packing = pack_site([need("1", (0, 0, 4, 4), 60), need("2", (0, 0, 4, 4), 60)], PackRules(setup_minutes=30))

    assert [visit.minutes for visit in packing.visits] == [150]


def test_locked_visit_takes_needs_along_before_a_new_one_is_made():
    locked = LockedVisit(id="promised", on=day(3), spare_minutes=100)
    packing = pack_site([need("1", (0, 0, 9, 9), 90), need("2", (0, 0, 2, 6), 30)], PackRules(locked=(locked,)))

    assert [(visit.key, visit.need_ids) for visit in packing.visits] == [
        (day(0).isoformat(), ("2",)),
        ("promised", ("1",)),
    ] or len(packing.new_visits) == 1
    assert packing.visits[-1].locked_id == "promised"
    riding = next(entry for entry in packing.account if entry.visit_key == "promised")
    assert "rides along on the locked visit" in riding.why


def test_needs_of_a_locked_visit_are_not_packed_again():
    locked = LockedVisit(id="promised", on=day(3), need_ids=frozenset({"1"}))
    packing = pack_site([need("1", (0, 0, 9, 9))], PackRules(locked=(locked,)))

    assert (packing.visits, packing.unserved) == ((), ())


def test_day_too_near_a_locked_visit_is_the_reason():
    rules = PackRules(min_gap_days=7, locked=(LockedVisit(id="promised", on=day(3)),))
    packing = pack_site([need("1", (0, 0, 6, 6))], rules)

    assert unserved(packing) == {"1": "gap"}
    assert "locked visit of 6 March 2025" in packing.unserved[0].why


def test_agreement_pays_for_so_many_visits_and_weightier_needs_win():
    needs = [need("light", (0, 0, 1, 1)), need("heavy", (20, 20, 21, 21), importance=3)]
    packing = pack_site(needs, PackRules(max_visits=1))

    assert unserved(packing) == {"light": "agreement_limit"}
    assert "pays for 1 visit" in packing.unserved[0].why


def test_optional_need_never_causes_a_visit():
    needs = [need("due", (0, 2, 4, 6)), need("near", (4, 5, 6, 8), is_optional=True)]
    alone = need("alone", (30, 31, 32, 33), is_optional=True)
    packing = pack_site([*needs, alone], PackRules())

    assert packing.visits[0].need_ids == ("due", "near")
    assert unserved(packing) == {"alone": "not_worth_a_visit"}


def test_skills_no_single_crew_has_come_on_two_visits():
    needs = [
        need("spray", (0, 0, 5, 5), skills=frozenset({"spray"})),
        need("saw", (0, 0, 5, 5), skills=frozenset({"saw"})),
    ]
    crews = (CrewKind(skills=frozenset({"spray"})), CrewKind(skills=frozenset({"saw"})))

    assert len(pack_site(needs, PackRules()).visits) == 1
    packing = pack_site(needs, PackRules(crews=crews))
    assert [visit.skills for visit in packing.visits] in (
        [frozenset({"spray"}), frozenset({"saw"})],
        [frozenset({"saw"}), frozenset({"spray"})],
    )


def test_skill_no_crew_has_is_named():
    packing = pack_site([need("1", (0, 0, 5, 5), skills=frozenset({"rope"}))], PackRules(crews=(CrewKind(),)))

    assert unserved(packing) == {"1": "no_crew"}
    assert "rope" in packing.unserved[0].why


def test_work_over_a_days_minutes_proves_the_second_visit():
    needs = [need(str(number), (0, 0, 9, 9), 100) for number in range(4)]
    packing = pack_site(needs, PackRules(visit_minutes=210))

    assert len(packing.visits) == 2
    assert packing.proof[0].why == (
        "Between 3 March 2025 and 12 March 2025: 0, 1, 2 and 1 more take 400 min and a visit holds 210 min, "
        "so 2 visits are needed."
    )


def test_large_site_still_gets_the_fewest_visits():
    # 60 trees of 40 min in one window: 2,400 min, six visits of 400.
    needs = [need(str(number), (0, 10, 30, 60), 40) for number in range(60)]
    packing = pack_site(needs, PackRules(visit_minutes=400))

    assert len(packing.visits) == packing.fewest_visits == 6
    assert packing.has_fewest_visits
    assert packing.days_off_best == 0


def test_windows_of_neighbours_keep_the_gap_whatever_days_are_chosen():
    needs = [need("1", (0, 5, 10, 20), 300), need("2", (0, 5, 12, 25), 300)]
    one, two = pack_site(needs, PackRules(visit_minutes=300, min_gap_days=4)).visits

    assert (two.opens - one.closes).days >= 4
    assert one.opens <= one.best_from <= one.on <= one.best_until <= one.closes


@pytest.mark.parametrize(
    "wrong",
    [{"visit_minutes": 30, "setup_minutes": 30}, {"min_gap_days": -1}, {"weekdays": frozenset({7})}],
)
def test_rules_that_cannot_be_are_refused(wrong):
    with pytest.raises(ValueError, match=r"must|weekdays"):
        PackRules(**wrong)


def test_needs_with_the_same_id_are_refused():
    with pytest.raises(ValueError, match="differ"):
        pack_site([need("1", (0, 0, 1, 1)), need("1", (0, 0, 1, 1))], PackRules())


def test_window_out_of_order_is_refused():
    with pytest.raises(ValueError, match="opens ≤ best_from"):
        need("1", (3, 2, 4, 5))
