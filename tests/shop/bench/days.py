"""What the bench's tests begin with: an order at each step of its way."""

from combwright.shop.bench import building, picking
from combwright.shop.plans import actions as plans
from combwright.shop.plans.faults import faults
from combwright.shop.plans.models import Taken
from combwright.shop.rack.models import Bin
from combwright.shop.rack.queries import ledger_faults
from shop.plans.days import a_plan, a_set, an_order
from shop.rack.shelves import somebody

__all__ = ["a_set", "an_order", "somebody"]


def sound():
    return [*faults(), *ledger_faults()] == []


def in_the_rack():
    return sum(Bin.objects.values_list("count", flat=True))


def out_for_orders():
    return Taken.objects.filter(state__in=(Taken.PICKED, Taken.FITTED)).count()


def set_aside(*orders):
    plans.set_aside(somebody(), a_plan())
    for each in orders:
        each.refresh_from_db()
    return orders[0] if len(orders) == 1 else orders


def being_picked(number="W-1", **more):
    order = set_aside(an_order(number, **more))
    picking.begin(somebody(), [order])
    order.refresh_from_db()
    return order


def pick_all(order):
    for each in Taken.objects.filter(order=order, state=Taken.ASIDE):
        picking.pick(somebody(), each)


def on_the_bench(number="W-1", **more):
    order = being_picked(number, **more)
    pick_all(order)
    picking.to_the_bench(somebody(), order)
    order.refresh_from_db()
    return order


def built(number="W-1", **more):
    order = on_the_bench(number, **more)
    for each in Taken.objects.filter(order=order, state=Taken.PICKED):
        if not each.place.startswith("kit"):
            building.fit(somebody(), each)
    building.finish(somebody(), order)
    order.refresh_from_db()
    return order


def plate_of(order, place):
    return Taken.objects.filter(order=order, place=place).exclude(state=Taken.GONE).get()
