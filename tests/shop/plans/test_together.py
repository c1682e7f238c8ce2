"""Many who plan at once: no plate is taken twice, and who comes second is told what changed."""

import multiprocessing
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from contextlib import suppress
from threading import Barrier

import pytest
from django.db import connection, connections

from combwright.errors import CombwrightError
from combwright.shop.bench import picking
from combwright.shop.orders.models import Order
from combwright.shop.orders.states import State
from combwright.shop.plans import actions
from combwright.shop.plans.faults import faults
from combwright.shop.plans.models import MadePlan, Taken
from combwright.shop.rack import actions as rack
from combwright.shop.rack.models import Bin
from combwright.shop.rack.queries import ledger_faults
from shop.plans.days import a_plan, a_set, an_order
from shop.plans.hands import HANDS, one_hand, process
from shop.rack.shelves import somebody

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.data]


def at_once(*works):
    """Do all of it at the same moment; return what each gave, or was refused with."""
    gate = Barrier(len(works))

    def one(work):
        try:
            gate.wait()
            return work()
        except CombwrightError as error:
            return error
        finally:
            connections.close_all()

    with ThreadPoolExecutor(len(works)) as pool:
        return list(pool.map(one, works))


def threads():
    with ThreadPoolExecutor(HANDS) as pool:
        return list(pool.map(one_hand, range(HANDS)))


def processes():
    database = connection.settings_dict["NAME"]
    connections.close_all()
    spawned = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(HANDS, mp_context=spawned) as pool:
        return list(pool.map(process, range(HANDS), [database] * HANDS))


def sound():
    assert [*faults(), *ledger_faults()] == []


@pytest.mark.parametrize("hands", [threads, processes])
def test_many_who_plan_set_aside_and_undo_never_take_a_plate_twice(hands):
    somebody()
    a_set("C", 3)
    for n in range(5):
        an_order(f"W-{n}", value=n)
    refused = [each for some in hands() for each in some]
    sound()
    assert MadePlan.objects.exclude(set_aside_at=None).exists()
    for each in refused:
        assert "the shop has changed" in each


def test_of_many_who_set_aside_plans_of_the_same_plates_one_does():
    me = somebody()
    a_set("C", 1)
    an_order("W-0", value=3)
    an_order("W-1", value=3)
    plans = [a_plan() for _ in range(4)]
    said = at_once(*[lambda each=each: actions.set_aside(me, each) for each in plans])
    assert sum(isinstance(each, MadePlan) for each in said) == 1
    told = [str(each) for each in said if isinstance(each, actions.PlanIsOld)]
    assert len(told) == 3
    assert all("was changed" in each for each in told)
    assert sum(Bin.objects.values_list("aside", flat=True)) == 20
    sound()


def test_one_plan_is_set_aside_once_however_many_press_the_button():
    me = somebody()
    a_set("C", 2)
    for n in range(2):
        an_order(f"W-{n}")
    made = a_plan()
    said = at_once(*[lambda: actions.set_aside(me, made)] * 4)
    assert sum(isinstance(each, MadePlan) for each in said) == 1
    assert sum("set aside before" in str(each) for each in said) == 3
    assert Taken.objects.count() == 40
    sound()


def test_scrapping_moving_and_counting_the_same_bins_meanwhile_leaves_all_backed():
    me = somebody()
    bins = list(a_set("C", 2).values())
    spare = list(a_set("C", 1, batch="b2").values())
    for n in range(3):
        an_order(f"W-{n}")
    made = a_plan()

    def scrapping():
        for each in bins[::-1]:
            try_to(rack.scrap, me, each, 1, note="x")

    def moving():
        for here, there in zip(bins, spare, strict=True):
            try_to(rack.move, me, here, there, 2)

    def counting():
        for each in bins:
            try_to(rack.count, me, each, 1)

    def try_to(act, *args, **more):
        with suppress(rack.NotSo):
            act(*args, **more)

    [said, *_others] = at_once(lambda: actions.set_aside(me, made), scrapping, moving, counting)
    sound()
    taken = Taken.objects.filter(state=Taken.ASIDE).count()
    assert sum(Bin.objects.values_list("aside", flat=True)) == taken
    assert taken == (60 if isinstance(said, MadePlan) else 0)


def test_undoing_while_picking_begins_gives_back_what_nobody_picks():
    me, packer = somebody(), somebody("packer")
    a_set("C", 4)
    orders = [an_order(f"W-{n}") for n in range(4)]
    made = actions.set_aside(me, a_plan())

    def picking_two():
        return [begun(orders[3]), begun(orders[0])]

    def begun(order):
        try:
            picking.begin(packer, [order])
        except CombwrightError as error:
            return str(error)
        return picking.pick(packer, Taken.objects.filter(order=order).first()).state

    [given_back, picked] = at_once(lambda: actions.undo(me, made), picking_two)
    sound()
    begun_now = Order.objects.filter(state=State.PICKING).count()
    assert begun_now == picked.count(Taken.PICKED)
    assert given_back == 4 - begun_now
    assert Taken.objects.filter(order__state=State.PICKING).count() == 20 * begun_now
    assert Taken.objects.filter(order__state=State.OPEN).count() == 0
    left = [each for each in picked if each != Taken.PICKED]
    assert all("plates set aside" in each for each in left)


def test_substitutes_while_the_plan_is_undone_wait_for_each_other_and_not_for_ever():
    me, packer = somebody(), somebody("packer")
    a_set("C", 3)
    a_set("C", 3, batch="b2", cents=5)
    orders = [an_order(f"W-{n}") for n in range(2)]
    made = actions.set_aside(me, a_plan())
    picking.begin(packer, [orders[0]])

    def replacing():
        for each in Taken.objects.filter(order=orders[0]).order_by("-pk"):
            gone = picking.not_there(packer, each)
            picking.substitute(packer, gone, gone.bin.code.replace("b1", "b2"))

    assert at_once(replacing, lambda: actions.undo(me, made)) == [None, 1]
    sound()
