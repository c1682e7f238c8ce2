"""The rules of a plan one by one, on cases small enough to be checked by reading them."""

import re
from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from allocation.instances import NO_FILING, bin_at, order_at, wants_at
from allocation.oracle import Case
from allocation.validity import faults
from combwright.allocation.answer import Plan
from combwright.allocation.orders import Copy, Design, Order
from combwright.allocation.planner import plan
from combwright.allocation.promises import PromiseCannotBeKept
from combwright.allocation.stock import Part, Stock
from combwright.errors import CombwrightError

MAY = [date(2031, 5, day) for day in range(1, 29)]


def planned(bins, orders, workshop=NO_FILING, *, parts=None) -> Plan:
    """Plan, and see that the answer has no fault."""
    case = Case(Stock(tuple(bins), parts), tuple(orders), workshop)
    answer = plan(case.stock, case.orders, case.workshop)
    assert faults(case, answer) == []
    return answer


def ready(answer: Plan) -> str:
    """Return the names of the ready orders in one string."""
    return "".join(each.order.name for each in answer.served if each.ready)


def test_an_empty_rack_ships_nothing_and_says_what_is_missing():
    answer = planned([], [order_at("a", [60])])
    assert (ready(answer), answer.value, answer.value_bound, answer.proven) == ("", 0, 0, True)
    assert [s.missing for s in answer.shortages] == [1]


def test_a_plan_without_orders_is_empty_and_costs_nothing():
    answer = planned([bin_at("A-1", 60)], [])
    assert (answer.served, answer.shortages, answer.cost) == ((), (), 0)


def test_one_order_gives_up_its_plate_for_another_that_fits_nothing_else():
    """The C#4 plate can be filed to D4 as well; the order for C#4 has nothing else."""
    bins = [bin_at("A-1", 61), bin_at("A-2", 62, cost="9")]
    answer = plan(Stock(tuple(bins)), [order_at("a", [62]), order_at("b", [61])])
    assert ready(answer) == "ab"
    assert [s.made[0].seats[0].bin for s in answer.served] == ["A-2", "A-1"]


def test_the_pitch_wanted_less_the_pitch_had_is_filed_and_paid_for():
    bins = [bin_at("A-1", 60, cents=-20.0)]
    (served,) = plan(Stock(tuple(bins)), [order_at("a", [60])]).served
    (placed,) = served.made[0].seats
    assert (placed.retune_cents, placed.way, placed.cost) == (20.0, "file", Decimal("2.00"))


@pytest.mark.parametrize(("cents", "way", "cost"), [(3.0, "none", "1"), (3.5, "file", "1.67")])
@pytest.mark.parametrize("sign", [1, -1])
def test_only_beyond_the_free_band_a_plate_counts_as_retuned(cents, way, cost, sign):
    (served,) = plan(Stock((bin_at("A-1", 60, cents=sign * cents),)), [order_at("a", [60])]).served
    (placed,) = served.made[0].seats
    assert (placed.way, placed.cost) == (way, Decimal(cost))


def test_the_least_of_a_higher_priority_outweighs_the_most_of_a_lower_one():
    orders = [order_at("a", [60], "100", priority=2), order_at("b", [60], "0.5", priority=1)]
    assert ready(planned([bin_at("A-1", 60)], orders)) == "b"


def test_a_lower_priority_decides_between_equals_of_a_higher_one():
    orders = [
        order_at("a", [60], "3", priority=1),
        order_at("b", [64], "3", priority=1),
        order_at("c", [64], "2", priority=2),
        order_at("d", [60], "1", priority=2),
    ]
    whole = order_at("e", [60, 64], "3", priority=1)
    bins = [bin_at("A-1", 60), bin_at("A-2", 64)]
    assert ready(planned(bins, [*orders, whole])) == "ab"
    assert ready(planned(bins, [orders[0], *orders[2:], whole])) == "ac"


def test_a_promise_outranks_priority_and_value():
    orders = [
        order_at("a", [60], "100", priority=1),
        order_at("b", [60], "0", priority=9, promised=True),
    ]
    assert ready(planned([bin_at("A-1", 60)], orders)) == "b"


def test_a_promise_that_cannot_be_kept_names_orders_pitches_and_holes():
    bins = [bin_at("A-1", 60), bin_at("A-2", 64, 2)]
    orders = [
        order_at("W-901", [64], promised=True),
        order_at("W-902", [64, 60], promised=True),
        order_at("W-903", [67, 60], promised=False),
        order_at("W-904", [60], promised=True),
    ]
    with pytest.raises(PromiseCannotBeKept) as caught:
        plan(Stock(tuple(bins)), orders, NO_FILING)
    text = str(caught.value)
    assert isinstance(caught.value, CombwrightError)
    assert "\n" not in text
    assert all(word in text for word in ("W-902", "W-904", "C4"))
    assert re.search(r"\b1\b", text)
    assert re.search(r"\b2\b", text)
    assert not any(word in text for word in ("W-901", "W-903", "G4"))


def test_a_promise_that_lacks_parts_names_the_part():
    order = with_parts(order_at("W-901", [60], promised=True), {"cover": 2})
    stock = Stock((bin_at("A-1", 60),), {"cover": Part("cover", 1)})
    with pytest.raises(PromiseCannotBeKept, match=r"W-901.*cover|cover.*W-901"):
        plan(stock, [order], NO_FILING)


def with_parts(order: Order, parts: dict[str, int]) -> Order:
    """Return an order whose copies use parts."""
    copies = tuple(replace(c, design=replace(c.design, parts=parts)) for c in order.copies)
    return replace(order, copies=copies)


def test_parts_that_are_not_counted_hold_nothing_up_and_cost_nothing():
    answer = planned([bin_at("A-1", 60)], [with_parts(order_at("a", [60]), {"cover": 2})])
    assert (ready(answer), answer.cost) == ("a", 1)


def test_a_part_that_the_table_lacks_is_not_in_stock():
    order = with_parts(order_at("a", [60]), {"cover": 2, "screw": 1})
    answer = planned([bin_at("A-1", 60)], [order], parts={"cover": Part("cover", 2)})
    assert ready(answer) == ""
    assert [(s.missing, s.parts, s.orders) for s in answer.shortages] == [(1, ("screw",), ("a",))]


def test_counted_parts_cost_what_their_table_says():
    order = with_parts(order_at("a", [60]), {"cover": 2})
    parts = {"cover": Part("cover", 3, Decimal("0.75"))}
    answer = planned([bin_at("A-1", 60)], [order], parts=parts)
    assert (answer.cost, answer.cost_bound) == (Decimal("2.50"), Decimal("2.50"))


def test_two_orders_for_three_covers_miss_one():
    orders = [with_parts(order_at(name, [60]), {"cover": 2}) for name in "ab"]
    answer = planned([bin_at("A-1", 60, 2)], orders, parts={"cover": Part("cover", 3)})
    (shortage,) = answer.shortages
    assert (shortage.missing, shortage.parts, shortage.orders) == (1, ("cover",), ("b",))


def test_a_shortage_says_how_many_of_which_pitch_in_which_hole_for_whom():
    orders = [order_at(name, [60]) for name in "abc"]
    (shortage,) = planned([bin_at("A-1", 60)], orders).shortages
    assert (shortage.missing, shortage.pitches, shortage.holes) == (2, ("C4",), (1,))
    assert (shortage.orders, shortage.parts) == (("b", "c"), ())
    assert "C4" in shortage.text


def test_a_shortage_goes_over_all_pitches_that_share_their_plates():
    """The plate of B4 serves Bb4 and B4 alike (filed down 50 or up 50)."""
    bins = [bin_at("A-1", 70, cents=50.0)]
    stock, orders = Stock(tuple(bins)), [order_at("a", [70], "2"), order_at("b", [71], "1")]
    (shortage,) = plan(stock, orders).shortages
    assert (shortage.missing, shortage.orders) == (1, ("b",))
    assert shortage.pitches == ("A#4", "B4")


def test_a_worthless_order_waits_rather_than_take_a_plate_from_another():
    orders = [order_at("a", [60, 64], "0", priority=1), order_at("b", [64], "1", priority=7)]
    assert ready(planned([bin_at("A-1", 60), bin_at("A-2", 64)], orders)) == "b"


def test_as_many_worthless_orders_ship_as_can():
    orders = [order_at("a", [60, 64], "0"), order_at("b", [60], "0"), order_at("c", [64], "0")]
    assert ready(planned([bin_at("A-1", 60), bin_at("A-2", 64)], orders)) == "bc"


def test_as_many_worthless_orders_ship_as_can_whatever_their_priority():
    orders = [order_at("a", [60, 64], "0", priority=1), order_at("b", [60], "0", priority=5)]
    orders += [order_at("c", [64], "0", priority=5)]
    assert ready(planned([bin_at("A-1", 60), bin_at("A-2", 64)], orders)) == "bc"


def test_of_identical_orders_the_earlier_due_ships_and_undated_ones_last():
    dues = {"a": None, "b": MAY[9], "c": MAY[4], "d": MAY[9]}
    orders = [order_at(name, [60], due=due) for name, due in dues.items()]
    found = [ready(planned([bin_at("A-1", 60, count)], orders)) for count in range(5)]
    assert found == ["", "c", "bc", "bcd", "abcd"]


def test_orders_are_identical_by_what_they_want_and_not_by_their_object():
    orders = [order_at("a", [60], due=MAY[3]), order_at("b", [60], due=MAY[2])]
    assert orders[0].copies[0].design is not orders[1].copies[0].design
    assert ready(planned([bin_at("A-1", 60)], orders)) == "b"


def test_the_first_copies_of_a_split_order_ship_first():
    design = Design(wants_at([60]))
    orders = [Order("W-1", (Copy(2, n, design),), split=True) for n in (1, 2, 3)]
    answer = planned([bin_at("A-1", 60, 2)], orders)
    assert [each.ready for each in answer.served] == [True, True, False]


def test_an_order_arrives_with_its_last_expected_plate():
    bins = [bin_at("A-1", 60), bin_at("A-2", 64, arrives=MAY[4]), bin_at("A-3", 67, arrives=MAY[8])]
    orders = [
        order_at("a", [64, 60, 67]),
        order_at("b", [60, 64], due=MAY[3]),
        order_at("c", [60, 64], due=MAY[4]),
    ]
    assert [planned(bins, [each]).served[0].arrives for each in orders] == [MAY[8], None, MAY[4]]
    assert [ready(planned(bins, [each])) for each in orders] == ["a", "", "c"]


def test_an_order_served_from_the_rack_alone_does_not_arrive():
    bins = [bin_at("A-1", 60), bin_at("A-2", 64, arrives=MAY[4])]
    (served,) = planned(bins, [order_at("a", [60])]).served
    assert (served.ready, served.arrives) == (True, None)
