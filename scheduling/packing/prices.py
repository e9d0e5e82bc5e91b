"""What keeping a window costs: the site packed once more without the needs of that window."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from scheduling.packing.account import count, say_day
from scheduling.packing.pack import pack_site
from scheduling.packing.values import Packing, PackNeed, PackRules, WindowPrice


def price_of_windows(needs: Sequence[PackNeed], rules: PackRules) -> tuple[WindowPrice, ...]:
    """Per distinct window the visits and days off the best parts that would be saved without its needs.

    The dearest first. The agreement's limit is left out of the reckoning: a window that is not served because of it
    still shows the visit it asks for. Takes one packing per distinct window.
    """
    free = replace(rules, max_visits=None)
    whole = pack_site(needs, free)
    windows: dict[tuple[object, ...], list[PackNeed]] = {}
    for need in needs:
        windows.setdefault((need.opens, need.best_from, need.best_until, need.closes), []).append(need)
    prices = [_price(group, whole, pack_site(_rest(needs, group), free)) for group in windows.values()]
    return tuple(sorted(prices, key=lambda price: (-price.visits, -price.days_off_best, price.opens)))


def _rest(needs: Sequence[PackNeed], group: Sequence[PackNeed]) -> list[PackNeed]:
    left_out = {need.id for need in group}
    return [need for need in needs if need.id not in left_out]


def _price(group: Sequence[PackNeed], whole: Packing, rest: Packing) -> WindowPrice:
    visits = len(whole.new_visits) - len(rest.new_visits)
    days = whole.days_off_best - rest.days_off_best
    opens, closes = group[0].opens, group[0].closes
    names = ", ".join(dict.fromkeys(need.name for need in group))
    span = f"{say_day(opens)} to {say_day(closes)}"
    if visits > 0:
        why = f"Keeping {span} for {names} costs {count(visits, 'visit')}."
    elif days > 0:
        why = f"Keeping {span} for {names} costs no visit, but draws the others {count(days, 'day')} off their best."
    else:
        why = f"Keeping {span} for {names} costs nothing: its visit is made anyway."
    return WindowPrice(
        need_ids=tuple(need.id for need in group),
        opens=opens,
        closes=closes,
        visits=visits,
        days_off_best=days,
        why=why,
    )
