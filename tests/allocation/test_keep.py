"""Earlier reservations: what stays, what moves, and that no value is lost for it.

The contract: a plan given back unchanged moves nothing; `keep` never lowers the value; as few
reserved plates as possible move; at equal value an order that has its plates already is served.
"""

from dataclasses import replace

import pytest

from allocation.instances import NO_FILING, bin_at, drawn, order_at
from allocation.keeping import fewest_moves, is_reserved, kept_in, reservations
from allocation.oracle import Case, best, parts_cost, worth
from allocation.validity import faults
from combwright.allocation.answer import Plan, Reservation
from combwright.allocation.planner import plan
from combwright.allocation.stock import Bin, Stock

KEPT = ("ties", "cascades", "flips", "contested", "kits", "parts", "split copies")
KEPT += ("zero values", "several batches", "quantities", "expected", "everything")
each_case = pytest.mark.parametrize(
    ("family", "seed"), [(family, seed) for family in KEPT for seed in range(100, 108)]
)


def planned(case: Case, keep=()) -> Plan:
    return plan(case.stock, case.orders, case.workshop, keep=keep)


def ready(answer: Plan) -> list[int]:
    return [at for at, served in enumerate(answer.served) if served.ready]


def keepable(case: Case) -> Case:
    """Return a case whose promises can be kept, or the case without its promises."""
    if best(grown(case)[0]) is not None and best(case) is not None:
        return case
    return replace(case, orders=tuple(replace(o, promised=False) for o in case.orders))


def grown(case: Case) -> tuple[Case, Case]:
    """Return a case, and before it one whose last orders and first bin had not come yet."""
    half = (len(case.orders) + 1) // 2
    before = replace(
        case,
        stock=replace(case.stock, bins=case.stock.bins[1:]),
        orders=case.orders[:half],
    )
    return before, replace(case, orders=(*case.orders[half:], *case.orders[:half]))


@each_case
def test_a_plan_given_back_unchanged_moves_nothing(family, seed):
    case = keepable(drawn(family, seed))
    first = planned(case)
    keep = reservations(first)
    again = planned(case, keep)
    assert reservations(again) == keep
    assert ready(again) == ready(first)
    assert (again.value, again.cost) == (first.value, first.cost)


@each_case
def test_with_new_orders_and_plates_as_few_reserved_plates_as_possible_move(family, seed):
    before, case = grown(keepable(drawn(family, seed)))
    expected = best(case)
    keep = reservations(planned(before))
    answer = planned(case, keep)
    chosen = ready(answer)
    assert worth(case.orders, chosen) == expected.worth
    assert faults_of_keeping(case, answer) == []
    reserved = [is_reserved(case, order, keep) for order in case.orders]
    assert sum(reserved[i] for i in chosen) == max(
        sum(reserved[i] for i in some) for some in expected.sets
    )
    stay, cost = fewest_moves(case, chosen, keep)
    assert kept_in(answer, keep) == stay
    parts = parts_cost(case.stock, [case.orders[i] for i in chosen])
    assert answer.cost == cost + parts


def faults_of_keeping(case: Case, answer: Plan) -> list[str]:
    """Return a plan's faults; a kept order may stand before its like."""
    return [each for each in faults(case, answer) if "before its like" not in each]


@each_case
def test_a_plan_given_back_to_a_rack_in_another_order_moves_nothing(family, seed):
    case = keepable(drawn(family, seed))
    keep = reservations(planned(case))
    turned = replace(case, stock=replace(case.stock, bins=case.stock.bins[::-1]))
    again = plan(turned.stock, turned.orders[::-1], turned.workshop, keep=keep)
    assert sorted(map(str, reservations(again))) == sorted(map(str, keep))


def small(bins: list[Bin], orders, keep) -> Plan:
    case = Case(Stock(tuple(bins)), tuple(orders), NO_FILING)
    answer = planned(case, keep)
    assert faults_of_keeping(case, answer) == []
    return answer


def kept_for(name: str, code: str, hole: int = 1) -> Reservation:
    return Reservation(name, ord(name) - 95, 1, f"{hole} upper blow", code, "b1")


def where(answer: Plan) -> dict[str, list[str]]:
    return {
        s.order.name: [p.bin for made in s.made for p in made.seats]
        for s in answer.served
        if s.ready
    }


def test_a_kept_order_is_served_before_its_like():
    orders = [order_at("a", [60]), order_at("b", [60])]
    answer = small([bin_at("A-1", 60)], orders, [kept_for("b", "A-1")])
    assert where(answer) == {"b": ["A-1"]}


def test_a_kept_order_is_served_before_another_of_the_same_value_that_costs_less():
    bins = [bin_at("A-1", 60), bin_at("A-2", 64, cost="50")]
    orders = [order_at("a", [60]), order_at("b", [60, 64])]
    keep = [kept_for("b", "A-1"), kept_for("b", "A-2", 2)]
    assert where(small(bins, orders, keep)) == {"b": ["A-1", "A-2"]}


def test_a_kept_order_gives_way_to_a_higher_value():
    orders = [order_at("a", [60], "1"), order_at("b", [60], "2")]
    answer = small([bin_at("A-1", 60)], orders, [kept_for("a", "A-1")])
    assert where(answer) == {"b": ["A-1"]}


def test_a_kept_plate_stays_though_a_cheaper_one_came():
    bins = [bin_at("A-2", 60, cost="1"), bin_at("A-1", 60, cost="5")]
    answer = small(bins, [order_at("a", [60])], [kept_for("a", "A-1")])
    assert where(answer) == {"a": ["A-1"]}
    assert answer.cost_bound <= answer.cost == 5


def test_a_kept_plate_moves_where_that_lets_one_more_order_ship():
    """The long slot fits only the first order's seat; its short plate goes to the second."""
    narrow = order_at("b", [60])
    (copy,) = narrow.copies
    seats = tuple(replace(want, takes_mm=10.0) for want in copy.design.seats)
    copy = replace(copy, design=replace(copy.design, seats=seats))
    bins = [bin_at("A-1", 60), bin_at("A-2", 60, slot_mm=11.5)]
    orders = [order_at("a", [60]), replace(narrow, copies=(copy,))]
    assert where(small(bins, orders, [kept_for("a", "A-1")])) == {"a": ["A-2"], "b": ["A-1"]}


def test_a_kept_plate_that_is_held_now_is_replaced():
    bins = [bin_at("A-1", 60, held=True), bin_at("A-2", 60, cost="7")]
    answer = small(bins, [order_at("a", [60])], [kept_for("a", "A-1")])
    assert where(answer) == {"a": ["A-2"]}


def test_a_kept_plate_that_is_gone_is_replaced():
    bins = [bin_at("A-1", 60, 0), bin_at("A-2", 60, cost="7")]
    keep = [kept_for("a", "A-1"), kept_for("b", "A-9")]
    orders = [order_at("a", [60]), order_at("b", [60])]
    assert where(small(bins, orders, keep)) == {"a": ["A-2"]}


def test_a_kept_plate_that_no_longer_suits_its_seat_is_replaced():
    bins = [bin_at("A-1", 64), bin_at("A-2", 60, cost="7")]
    answer = small(bins, [order_at("a", [60])], [kept_for("a", "A-1")])
    assert where(answer) == {"a": ["A-2"]}


def test_reservations_of_an_order_that_is_gone_hold_nothing_back():
    answer = small([bin_at("A-1", 60)], [order_at("a", [60])], [kept_for("z", "A-1")])
    assert where(answer) == {"a": ["A-1"]}
