"""The life of an order, action by action, with the proof after every step."""

import pytest

from combwright.shop.bench import building, picking, sending
from combwright.shop.orders.models import Order
from combwright.shop.orders.states import State
from combwright.shop.plans import actions
from combwright.shop.plans.faults import faults
from combwright.shop.plans.models import Taken
from combwright.shop.rack.models import Bin
from combwright.shop.rack.queries import ledger_faults
from shop.plans.days import a_plan, a_set, an_order
from shop.rack.shelves import somebody

pytestmark = [pytest.mark.django_db, pytest.mark.data]


def sound():
    return [*faults(), *ledger_faults()] == []


def plates():
    return sum(Bin.objects.values_list("count", flat=True))


def test_an_order_goes_from_wish_to_parcel_and_every_plate_is_accounted_for():
    a_set("C", 2)
    order, me = an_order("W-1", kit="5 draw"), somebody()
    actions.set_aside(me, a_plan())
    order.refresh_from_db()
    assert order.state == State.ASIDE
    assert sum(Bin.objects.values_list("aside", flat=True)) == 21
    assert sound()
    picking.begin(me, [order])
    for each in Taken.objects.filter(order=order):
        picking.pick(me, each)
        picking.pick(me, each)
    assert plates() == 40 - 21
    picking.to_the_bench(me, order)
    for each in Taken.objects.filter(order=order).exclude(place__startswith="kit"):
        building.fit(me, each)
    building.finish(me, order)
    assert sound()
    sending.send(me, order, tracking="parcel 1")
    order.refresh_from_db()
    assert order.state == State.SENT
    assert order.instruments.get().fitted.count() == 20
    assert sound()


def test_a_cancelled_order_gives_every_plate_back():
    bins = a_set("C", 1, cents=-20)
    order, me = an_order("W-1"), somebody()
    actions.set_aside(me, a_plan())
    picking.begin(me, [order])
    for each in Taken.objects.filter(order=order):
        picking.pick(me, each)
    picking.to_the_bench(me, order)
    building.fit(me, Taken.objects.get(order=order, place="3 upper blow"))
    sending.cancel(me, order, because="changed their mind")
    assert plates() == 20
    assert sound()
    bins["3 blow"].refresh_from_db()
    assert bins["3 blow"].count == 0  # it was filed to pitch, so its bin would lie
    assert Bin.objects.get(code__contains="filed").millicents == 0
    assert Order.objects.get().state == State.CANCELLED


def test_what_is_not_there_is_replaced_by_the_best_that_is_free():
    a_set("C", 1)
    a_set("C", 1, batch="b2", cents=10)
    order, me = an_order("W-1"), somebody()
    actions.set_aside(me, a_plan())
    picking.begin(me, [order])
    gone = picking.not_there(me, Taken.objects.get(order=order, place="5 lower draw"))
    best = picking.options(gone)[0]
    assert best.bin == "b2-C-5d"
    new = picking.substitute(me, gone, best.bin)
    assert picking.pick(me, new).state == Taken.PICKED
    assert sound()


def test_of_two_plans_that_want_the_same_plates_the_second_is_told_what_changed():
    a_set("C", 1)
    me = somebody()
    an_order("W-1", value=3)
    first, second = a_plan(), a_plan()
    actions.set_aside(me, first)
    with pytest.raises(actions.PlanIsOld, match=r"order W-1 was changed"):
        actions.set_aside(me, second)
    assert sound()


def test_planning_again_moves_nothing_that_is_set_aside_and_a_pinned_plate_stays():
    a_set("C", 2)
    a_set("C", 2, batch="b2")
    order, me = an_order("W-1"), somebody()
    actions.set_aside(me, a_plan())
    pinned = Taken.objects.get(order=order, place="4 upper blow")
    actions.pin(me, pinned, pinned=True)
    before = dict(Taken.objects.values_list("place", "bin__code"))
    an_order("W-2", value=9)
    actions.set_aside(me, a_plan())
    assert sound()
    assert dict(Taken.objects.filter(order=order).values_list("place", "bin__code")) == before
    assert actions.undo(me, Order.objects.get(number="W-2").taken.first().plan) == 2
    assert sum(Bin.objects.values_list("aside", flat=True)) == 0
    assert sound()
