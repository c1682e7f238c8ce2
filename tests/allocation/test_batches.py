"""At equal cost an instrument takes plates of as few batches as it can."""

from dataclasses import replace
from decimal import Decimal
from itertools import combinations
from random import Random

import pytest

from allocation.instances import NO_FILING, Menu, bin_at, case_of, order_at
from allocation.oracle import Case, best, cheapest, needs_of
from allocation.validity import faults
from combwright.allocation.answer import Plan
from combwright.allocation.planner import plan
from combwright.allocation.stock import Bin, Stock

LONE = Menu(
    orders=(1, 1),
    seats=(3, 5),
    bins=(8, 14),
    batches=("b1", "b2", "b3", "b4"),
    costs=("1", "1", "1", "1.50"),
)


def planned(bins, orders) -> Plan:
    """Plan, and see that the answer has no fault."""
    case = Case(Stock(tuple(bins)), tuple(orders), NO_FILING)
    answer = plan(case.stock, case.orders, case.workshop)
    assert faults(case, answer) == []
    return answer


def batches(answer: Plan) -> list[set[str]]:
    """Return the batches in each ready order's seats."""
    return [{p.batch for made in s.made for p in made.seats} for s in answer.served if s.ready]


def two_batches() -> list[Bin]:
    """Return C4, E4 and G4 of two batches, so that the walk meets them mixed."""
    rack = [("A", 60, "b1"), ("B", 64, "b2"), ("C", 67, "b1")]
    rack += [("D", 60, "b2"), ("E", 64, "b1"), ("F", 67, "b2")]
    return [
        bin_at(code, midi, batch=batch, walk=str(n)) for n, (code, midi, batch) in enumerate(rack)
    ]


@pytest.mark.parametrize("turned", [False, True])
def test_an_instrument_takes_the_plates_of_one_batch_where_it_can(turned):
    rack = two_batches()
    answer = planned(rack[::-1] if turned else rack, [order_at("a", [60, 64, 67])])
    assert [len(each) for each in batches(answer)] == [1]


def test_two_instruments_take_a_batch_each():
    answer = planned(two_batches(), [order_at("a", [60, 64, 67]), order_at("b", [60, 64, 67])])
    assert [len(each) for each in batches(answer)] == [1, 1]
    assert set.union(*batches(answer)) == {"b1", "b2"}


def test_instruments_of_different_wishes_take_a_batch_each():
    orders = [order_at("a", [60, 64]), order_at("b", [60, 64, 67])]
    assert [len(each) for each in batches(planned(two_batches(), orders))] == [1, 1]


def test_a_cheaper_mixture_of_batches_is_preferred():
    rack = [
        replace(each, cost=Decimal("1") if each.code in "ABC" else Decimal("1.01"))
        for each in two_batches()
    ]
    answer = planned(rack, [order_at("a", [60, 64, 67])])
    assert answer.cost == 3
    assert batches(answer) == [{"b1", "b2"}]


def test_where_no_batch_is_complete_two_serve_rather_than_three():
    rack = [
        bin_at("A", 60, batch="b1"),
        bin_at("B", 64, batch="b2"),
        bin_at("C", 64, batch="b3"),
        bin_at("D", 67, batch="b3"),
    ]
    assert batches(planned(rack, [order_at("a", [60, 64, 67])])) == [{"b1", "b3"}]


def test_another_instrument_moves_over_so_that_both_are_of_one_batch():
    """Seat by seat every mixture costs the same; only together do both come out whole."""
    rack = [
        bin_at("A", 60, batch="b1"),
        bin_at("B", 60, batch="b2"),
        bin_at("C", 64, batch="b2"),
        bin_at("D", 67, batch="b1"),
    ]
    answer = planned(rack, [order_at("a", [60, 64]), order_at("b", [60, 67])])
    assert batches(answer) == [{"b2"}, {"b1"}]


@pytest.mark.parametrize("seed", range(40))
def test_a_lone_instrument_is_of_as_few_batches_as_its_cost_allows(seed):
    case = case_of(LONE, Random(f"lone {seed}"))
    expected = best(case)
    answer = plan(case.stock, case.orders, case.workshop)
    assert answer.cost == expected.cost
    assert [len(each) for each in batches(answer)] == fewest_batches(case, expected.cost)


def fewest_batches(case: Case, cost: Decimal) -> list[int]:
    """Return of how few batches the case's one order can be made at this cost, if it can ship."""
    needs = needs_of(case.orders[0])
    for many in range(1, 5):
        for some in combinations(sorted({each.batch for each in case.stock.bins}), many):
            stock = Stock(tuple(each for each in case.stock.bins if each.batch in some))
            if cheapest(stock, needs, case.workshop) == cost:
                return [many]
    return []


def test_lone_instruments_need_one_two_or_three_batches():
    found = set()
    for seed in range(40):
        case = case_of(LONE, Random(f"lone {seed}"))
        found.update(fewest_batches(case, best(case).cost))
    assert {1, 2, 3} <= found
