"""Orders for programs: sent in, followed, cancelled."""

from http import HTTPStatus
from typing import Final

from django.db.models import QuerySet
from django.utils.translation import gettext as _
from ninja import Path, Query, Router

from combwright.shop.api import problems
from combwright.shop.api.gate import Called
from combwright.shop.api.operations import reads, writes
from combwright.shop.api.order_actions import refusing, take_in
from combwright.shop.api.order_given import OrderIn, OrdersAsked, WhyCancelled
from combwright.shop.api.order_told import Orders, OrderTold, OrderWhole
from combwright.shop.api.order_words import AskedOrder
from combwright.shop.api.problems import Problem
from combwright.shop.bench import sending
from combwright.shop.orders.models import Order, Step
from combwright.shop.people.roles import May
from combwright.shop.plans.models import Taken
from combwright.shop.register.models import Instrument

router = Router(tags=["Orders"])
_MOST_STEPS: Final = 200
_MOST_PLATES: Final = 5_000


def _orders() -> QuerySet[Order]:
    return Order.objects.select_related("part_of", "customer")


def _the_order(number: str) -> Order:
    found = _orders().filter(number=number).first()
    if found is None:
        raise Problem(problems.NOT_THERE, _("There is no order %(order)r.") % {"order": number})
    return found


@reads(router, "/orders", May.ORDER, Orders)
def list_orders(asked: Query[OrdersAsked]) -> Orders:
    """List orders in the order of their making."""
    found = _orders().filter(pk__gt=asked.after).order_by("pk")
    if asked.state is not None:
        found = found.filter(state=asked.state)
    if asked.changed_since is not None:
        changed = Step.objects.filter(at__gte=asked.changed_since).order_by().values("order_id")
        found = found.filter(pk__in=changed)
    part = list(found[: asked.limit + 1])
    last = part[asked.limit - 1].pk if len(part) > asked.limit else None
    return Orders(orders=[OrderTold.of(each) for each in part[: asked.limit]], next=last)


@writes(router, "/orders", May.ORDER, OrderWhole)
def make_order(request: Called, body: OrderIn) -> OrderWhole:
    """Take an order in and open it for planning, or keep it as a draft.

    An order with an outer key that came before is not made again: the answer is the one there is,
    as it is now.
    """
    made = take_in(request.auth.person, body)
    return _whole(_the_order(made.number))


# Before the one below, which would take the whole rest of an address for a number.
@writes(router, "/orders/{path:order}/cancel", May.ORDER, OrderWhole, status=HTTPStatus.OK)
def cancel_order(request: Called, order: Path[AskedOrder], body: WhyCancelled) -> OrderWhole:
    """Cancel an order: what was set aside is free again, what was picked or built in goes back."""
    there = _the_order(order)
    with refusing():
        sending.cancel(request.auth.person, there, because=body.because)
    return _whole(_the_order(order))


@reads(router, "/orders/{path:order}", May.ORDER, OrderWhole)
def show_order(order: Path[AskedOrder]) -> OrderWhole:
    """Show an order: its state, timeline, wishes, plates and instruments."""
    return _whole(_the_order(order))


def _whole(order: Order) -> OrderWhole:
    steps = Step.objects.filter(order=order).select_related("by")[:_MOST_STEPS]
    taken = Taken.objects.filter(order=order).exclude(state=Taken.GONE)
    taken = taken.select_related("wish", "bin", "batch").order_by("wish__row", "copy", "pk")
    instruments = Instrument.objects.filter(order=order).select_related("order", "wish")
    return OrderWhole.whole(
        order, list(steps), list(taken[:_MOST_PLATES]), list(instruments.order_by("pk"))
    )
