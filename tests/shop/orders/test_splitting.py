from datetime import date

import pytest

from combwright.shop.orders import actions, splitting
from combwright.shop.orders.models import Order
from combwright.shop.orders.places import BadNumber, check_number
from combwright.shop.orders.states import State
from shop.orders.shelf import a_customer, a_draft, again, words_of
from shop.plans.days import a_plan, a_set, an_order
from shop.rack.shelves import somebody

pytestmark = [pytest.mark.django_db, pytest.mark.data]


def rows(order):
    return [(wish.row, wish.quantity, wish.key) for wish in order.wishes.order_by("row")]


def split(order, moves, due=None):
    seen = again(order).version
    return splitting.split_order(order, somebody(), moves, due=due, seen=seen)


def test_fifty_in_three_deliveries_are_three_orders_of_one():
    order = a_draft("W-0017", {"key": "C", "quantity": 50}, customer=a_customer(), priority=2)
    second = split(order, {1: 20}, date(2027, 2, 1))
    third = split(second, {1: 5}, date(2027, 3, 1))
    assert [each.number for each in (second, third)] == ["W-0017/2", "W-0017/3"]
    assert [rows(again(each))[0][1] for each in (order, second, third)] == [30, 15, 5]
    assert {second.part_of, third.part_of} == {order}
    assert second.customer == order.customer
    assert second.priority == 2
    assert (second.due, third.due) == (date(2027, 2, 1), date(2027, 3, 1))
    assert words_of(order)[-1] == "20 copies moved to W-0017/2"


def test_copies_of_several_rows_move_and_a_whole_row_moves_as_it_is():
    order = a_draft("", {"key": "C", "quantity": 2}, {"key": "A", "quantity": 3, "kit": "5 draw"})
    made = split(order, {1: 1, 2: 3})
    assert rows(order) == [(1, 1, "C")]
    assert rows(made) == [(1, 1, "C"), (2, 3, "A")]
    assert made.wishes.get(row=2).kit == "5 draw"


def test_a_split_of_an_open_order_is_open_and_tells_of_it():
    order = an_order("W-1", quantity=3)
    made = split(order, {1: 1})
    assert again(made).state == again(order).state == State.OPEN
    assert made.steps.filter(state=State.OPEN).count() == 1


@pytest.mark.parametrize(
    ("moves", "why"),
    [
        ({1: 3}, "All copies would move"),
        ({1: 4}, "Row 1 of W-1 has 3 copies; 4 cannot move"),
        ({}, "Say of one row at least"),
        ({1: 0}, "Say of one row at least"),
        ({7: 1}, "Row 7 of W-1 has 0 copies"),
        ({1: -1}, "cannot move"),
    ],
)
def test_what_cannot_be_split_is_refused_and_nothing_moves(moves, why):
    order = a_draft("W-1", {"key": "C", "quantity": 3})
    with pytest.raises(actions.NotSo, match=why):
        split(order, moves)
    assert rows(order) == [(1, 3, "C")]
    assert Order.objects.count() == 1


def test_an_order_with_plates_set_aside_is_not_split_and_loses_no_row():
    a_set(plates=2)
    order = an_order("W-1", quantity=2)
    from combwright.shop.plans.actions import set_aside

    set_aside(somebody(), a_plan())
    with pytest.raises(actions.NotSo, match="give its plates back"):
        split(order, {1: 1})
    with pytest.raises(actions.NotSo, match="give its plates back"):
        splitting.remove_wish(order, somebody(), order.wishes.get(), seen=again(order).version)
    assert rows(order) == [(1, 2, "C")]


def test_of_two_who_split_at_once_the_second_is_told():
    order = a_draft("W-1", {"key": "C", "quantity": 3})
    seen = order.version
    splitting.split_order(order, somebody(), {1: 1}, due=None, seen=seen)
    with pytest.raises(actions.ChangedMeanwhile):
        splitting.split_order(order, somebody(), {1: 1}, due=None, seen=seen)


def test_a_row_is_removed_but_not_the_last_of_an_open_order():
    order = an_order("W-1")
    with pytest.raises(actions.NotSo, match="is all that order W-1 holds"):
        splitting.remove_wish(order, somebody(), order.wishes.get(), seen=again(order).version)
    actions.back_to_draft(order, somebody())
    splitting.remove_wish(order, somebody(), order.wishes.get(), seen=again(order).version)
    assert rows(order) == []
    assert words_of(order)[-1] == "row 1 removed"


def test_a_copy_wants_the_same_and_is_neither_due_nor_promised_nor_open():
    order = an_order("W-1", key="A", quantity=4, due=date(2027, 1, 1), promised=True, priority=3)
    made = splitting.copy_order(order, somebody())
    assert rows(made) == rows(order)
    assert (made.state, made.due, made.promised, made.priority) == (State.DRAFT, None, False, 3)
    assert made.number != "W-1"
    assert words_of(made)[-1] == "made as a copy of W-1"


@pytest.mark.parametrize("number", ["W-0017/2", "17", "Ärger 5", "new-1", "a%b", "W#1", "x?y"])
def test_numbers_that_can_be_addresses(number):
    assert check_number(number) == number


@pytest.mark.parametrize(
    "number",
    ["", " W-1", "new", "customers/3", "Open/W-1", "/W", "W/", "W//2", "..", "W/../x", ".",
     "x" * 41, "a\nb", "a\u200bb"],
)  # fmt: skip
def test_numbers_that_no_page_could_be_found_by(number):
    with pytest.raises(BadNumber):
        check_number(number)
