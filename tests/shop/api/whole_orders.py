"""An order on its way, as the API's tests begin with it: planned, picked, one plate seated."""

from combwright.shop.bench import building, picking
from combwright.shop.orders.models import Order
from combwright.shop.plans import actions as plan_actions
from combwright.shop.plans.models import Taken
from combwright.shop.register.models import Instrument
from shop.api.programs import somebody
from shop.plans.days import a_plan, a_set, an_order


def an_order_on_the_bench(number="W-0001"):
    """Return what it is called: the order, its plan, its instrument."""
    a_set("A", 2)
    order = an_order(number, key="A")
    plan = plan_actions.set_aside(somebody(), a_plan())
    order = Order.objects.get(pk=order.pk)
    picking.begin(somebody(), [order])
    for taken in Taken.objects.filter(order=order):
        picking.pick(somebody(), taken)
    order = picking.to_the_bench(somebody(), order)
    building.fit(somebody(), Taken.objects.filter(order=order).first())
    made = Instrument.objects.get(order=order)
    return {"order": number, "plan": str(plan.pk), "serial": made.serial}
