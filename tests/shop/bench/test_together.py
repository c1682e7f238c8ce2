"""Several at one order at once: nothing is lost, nothing doubled, nobody waits for ever."""

import pytest

from combwright.shop.bench import building, picking, sending
from combwright.shop.orders.states import State
from combwright.shop.plans.models import Taken
from combwright.shop.rack.models import Bin, Entry
from combwright.shop.rack.plate_actions import label_plates
from combwright.shop.register.models import Fitted, Instrument
from shop.bench.days import (
    a_set,
    an_order,
    being_picked,
    in_the_rack,
    on_the_bench,
    out_for_orders,
    plate_of,
    set_aside,
    sound,
)
from shop.bench.hands import at_once, each_of
from shop.rack.shelves import somebody

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.data]


def plates(order):
    return list(Taken.objects.filter(order=order).order_by("pk"))


def test_two_who_pick_one_order_take_each_plate_once():
    a_set("C", 2)
    order, me, you = being_picked(), somebody(), somebody("packer")
    there = plates(order)
    refused = at_once(
        each_of(lambda t: picking.pick(me, t), there),
        each_of(lambda t: picking.pick(you, t), there[::-1]),
    )
    assert refused == [0, 0]
    assert Entry.objects.filter(why=Entry.PICKED).count() == 20
    assert in_the_rack() == 20
    assert sound()


def test_one_labelled_plate_goes_into_one_tray():
    bins = a_set("C", 2)
    [labelled] = label_plates(bins["5 draw"], 1)
    order, me = being_picked(quantity=2), somebody()
    first, second = Taken.objects.filter(order=order, place="5 lower draw").order_by("pk")
    told = at_once(
        lambda: picking.pick(me, first, plate=labelled),
        lambda: picking.pick(me, second, plate=labelled),
    )
    assert sum(isinstance(each, str) and "scan one from there" in each for each in told) == 1
    assert Taken.objects.filter(plate=labelled).count() == 1
    assert sound()


def test_picking_while_the_order_is_put_back_leaves_every_plate_in_the_rack():
    a_set("C", 2)
    order, me = being_picked(), somebody()
    there = plates(order)
    at_once(
        each_of(lambda t: picking.pick(me, t), there),
        lambda: picking.put_order_back(somebody("packer"), order),
    )
    order.refresh_from_db()
    assert order.state == State.OPEN
    assert in_the_rack() == 40
    assert sum(Bin.objects.values_list("aside", flat=True)) == 0
    assert sound()


def test_two_who_seat_the_same_plates_build_one_instrument():
    a_set("C", 1)
    order, me, you = on_the_bench(), somebody(), somebody("maker")
    there = plates(order)
    told = at_once(
        each_of(lambda t: building.fit(me, t), there),
        each_of(lambda t: building.fit(you, t), there),
    )
    assert told == [0, 0]
    assert Instrument.objects.count() == 1
    assert Fitted.objects.filter(taken_out_at=None).count() == 20
    assert sound()


def test_a_cancelled_order_gives_back_what_is_picked_meanwhile():
    a_set("C", 1)
    order, me = being_picked(), somebody()
    there = plates(order)
    at_once(
        each_of(lambda t: picking.pick(me, t), there),
        lambda: sending.cancel(somebody("office"), order, because="moved away"),
    )
    order.refresh_from_db()
    assert order.state == State.CANCELLED
    assert in_the_rack() == 20
    assert out_for_orders() == 0
    assert sound()


def test_cancelling_many_orders_that_share_their_bins_never_stands_still():
    a_set("C", 6, cents=-20)
    orders = set_aside(*(an_order(f"W-{n}") for n in range(1, 5)))
    me = somebody()
    picking.begin(me, orders)
    # Each order holds other bins' plates picked than the next: locked in turn, they would cross.
    for n, order in enumerate(orders):
        for each in plates(order)[n % 2 :: 2]:
            picking.pick(me, each)
    at_once(*(lambda o=o: sending.cancel(me, o, because="x") for o in orders))
    assert in_the_rack() == 120
    assert sum(Bin.objects.values_list("aside", flat=True)) == 0
    assert sound()


def test_plates_filed_to_one_pitch_at_once_lie_in_one_bin():
    a_set("C", 3)
    orders = [on_the_bench(f"W-{n}") for n in range(1, 4)]
    me, pitch = somebody(), 77 * 100_000 + 7_500  # F5 and 7.5 cents
    taken = [plate_of(order, "5 lower draw") for order in orders]
    homes = at_once(*(lambda t=t: building.put_back_filed(me, t, pitch_mc=pitch) for t in taken))
    assert {home.code for home in homes} == {"b1-C-5d filed 1"}
    assert Bin.objects.get(code="b1-C-5d filed 1").count == 3
    assert in_the_rack() + out_for_orders() == 60
    assert sound()


def test_the_last_free_plate_takes_the_place_of_one_that_is_gone_and_not_of_two():
    a_set("C", 2)
    a_set("C", 1, batch="b2", cents=5)
    orders, me = set_aside(an_order("W-1"), an_order("W-2")), somebody()
    picking.begin(me, orders)
    gone = [picking.not_there(me, plate_of(order, "5 lower draw")) for order in orders]
    told = at_once(*(lambda g=g: picking.substitute(me, g, "b2-C-5d") for g in gone))
    assert sum(isinstance(each, str) for each in told) == 1
    assert Bin.objects.get(code="b2-C-5d").aside == 1
    assert sound()
