"""What the tests of orders' pages begin with."""

from combwright.shop.orders import actions, customer_actions
from combwright.shop.orders.models import Order
from shop.rack.shelves import somebody


def a_customer(name="Ida Morrow", **more):
    return customer_actions.make_customer(somebody(), {"name": name, **more})


def a_draft(number="", *wishes, **facts):
    rows = list(wishes) or [{"key": "C", "layout": "standard"}]
    return actions.make_order(somebody(), {"number": number, **facts}, rows)


def again(order):
    return Order.objects.get(pk=order.pk)


def text(answer):
    return " ".join(answer.content.decode().split())


def words_of(order):
    return [step.words for step in order.steps.order_by("pk")]
