"""Laws that hold for every rack and every list of orders, tried by hypothesis.

With several priority classes "more" is meant class by class, highest first: one more plate may let
a small order of priority 1 take what a large order of priority 2 had.
"""

from dataclasses import replace
from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from allocation.instances import bin_at, order_at
from allocation.oracle import worth
from combwright.allocation.answer import Plan
from combwright.allocation.orders import Copy, Order, Want
from combwright.allocation.planner import plan
from combwright.allocation.stock import Bin, Stock

MONEY = Decimal("0.000001")
midis = st.integers(60, 65)
quickly = settings(max_examples=40, deadline=None, derandomize=True, database=None)


@st.composite
def racks(draw, *, least: int = 0) -> tuple[Bin, ...]:
    made = st.tuples(
        midis,
        st.integers(1, 3),
        st.sampled_from(["1", "1.25", "3"]),
        st.sampled_from([0.0, 40.0, -30.0]),
    )
    rows = draw(st.lists(made, min_size=least, max_size=6))
    return tuple(
        bin_at(f"A-{n}", midi, count, cost=cost, cents=cents)
        for n, (midi, count, cost, cents) in enumerate(rows)
    )


@st.composite
def lists_of_orders(draw) -> tuple[Order, ...]:
    made = st.tuples(
        st.lists(midis, min_size=1, max_size=3),
        st.sampled_from(["0", "1", "2", "3.5"]),
        st.sampled_from([1, 5]),
    )
    rows = draw(st.lists(made, min_size=1, max_size=6))
    return tuple(
        order_at(chr(97 + n), wanted, value, priority=priority)
        for n, (wanted, value, priority) in enumerate(rows)
    )


def worth_of(answer: Plan, priorities: tuple[int, ...] = (1, 5)) -> tuple[Decimal, ...]:
    """Return the value of a plan class by class, and how many worthless orders it ships."""
    ready = [each.order for each in answer.served if each.ready]
    values = [sum((o.value for o in ready if o.priority == p), Decimal(0)) for p in priorities]
    return (*values, Decimal(sum(o.value == 0 for o in ready)))


@quickly
@given(racks(), lists_of_orders(), midis)
def test_another_plate_never_lowers_the_value(rack, orders, midi):
    before = plan(Stock(rack), orders)
    after = plan(Stock((*rack, bin_at("new", midi))), orders)
    assert worth_of(after) >= worth_of(before)


@quickly
@given(racks(least=1), lists_of_orders(), st.data())
def test_another_plate_in_a_bin_never_lowers_the_value(rack, orders, data):
    at = data.draw(st.integers(0, len(rack) - 1))
    fuller = [replace(b, count=b.count + (n == at)) for n, b in enumerate(rack)]
    before, after = plan(Stock(rack), orders), plan(Stock(tuple(fuller)), orders)
    assert worth_of(after) >= worth_of(before)


@quickly
@given(racks(), lists_of_orders(), st.data())
def test_one_order_less_never_raises_the_value(rack, orders, data):
    at = data.draw(st.integers(0, len(orders) - 1))
    before = plan(Stock(rack), orders)
    after = plan(Stock(rack), (*orders[:at], *orders[at + 1 :]))
    assert worth_of(after) <= worth_of(before)


@quickly
@given(racks(least=2), lists_of_orders(), st.data())
def test_the_order_of_the_bins_changes_neither_value_nor_cost(rack, orders, data):
    turned = data.draw(st.permutations(rack))
    one, other = plan(Stock(rack), orders), plan(Stock(tuple(turned)), orders)
    assert (one.value, worth_of(one)) == (other.value, worth_of(other))
    assert abs(one.cost - other.cost) <= MONEY


@quickly
@given(racks(least=1), lists_of_orders(), st.sampled_from([-12, 12, 24]))
def test_the_same_an_octave_away_is_worth_and_costs_the_same(rack, orders, steps):
    def moved(want: Want) -> Want:
        return replace(want, midi=want.midi + steps)

    away = [with_wants(order, moved) for order in orders]
    one = plan(Stock(rack), orders)
    other = plan(Stock(tuple(replace(b, midi=b.midi + steps) for b in rack)), away)
    assert worth_of(one) == worth_of(other)
    assert abs(one.cost - other.cost) <= MONEY
    assert [s.missing for s in one.shortages] == [s.missing for s in other.shortages]


def with_wants(order: Order, change) -> Order:
    """Return an order with every seat's want changed."""

    def changed(copy: Copy) -> Copy:
        seats = tuple(map(change, copy.design.seats))
        return replace(copy, design=replace(copy.design, seats=seats))

    return replace(order, copies=tuple(map(changed, order.copies)))


@quickly
@given(racks(least=1), lists_of_orders())
def test_values_doubled_double_the_value_and_leave_the_cost(rack, orders):
    one = plan(Stock(rack), orders)
    other = plan(Stock(rack), [replace(order, value=2 * order.value) for order in orders])
    assert other.value == 2 * one.value
    assert other.value_bound == 2 * one.value_bound
    assert abs(one.cost - other.cost) <= MONEY


@quickly
@given(racks(least=1), lists_of_orders())
def test_the_same_question_has_the_same_answer(rack, orders):
    assert plan(Stock(rack), orders) == plan(Stock(rack), orders)


@quickly
@given(racks(least=1), lists_of_orders())
def test_what_ships_together_ships_again_alone(rack, orders):
    """The ready orders of a plan, planned by themselves, all ship for the same cost."""
    first = plan(Stock(rack), orders)
    ready = [each.order for each in first.served if each.ready]
    again = plan(Stock(rack), ready)
    assert all(each.ready for each in again.served)
    assert worth(ready, range(len(ready)))[-1] == worth_of(first)[-1]
    assert abs(again.cost - first.cost) <= MONEY
