"""What the designer's tests begin with: an order with a wish, somebody at its page."""

from django.test import Client

from combwright.shop.orders import actions
from combwright.shop.orders.models import Wish
from combwright.shop.people.models import Person
from shop.rack.shelves import somebody


def a_wish(number="W-1", **wish):
    order = actions.make_order(somebody(), {"number": number}, [wish])
    return order.wishes.get()


def at_the_desk(role="owner", name=None):
    """Return a browser of somebody who has logged in."""
    client = Client()
    client.force_login(Person.objects.get(pk=somebody(role, name).pk))
    return client


class Page:
    """A wish's page, and its forms as a browser without JavaScript posts them."""

    def __init__(self, client, wish):
        self.client, self.wish = client, wish
        self.address = f"/orders/wish/{wish.pk}/"

    def get(self, **asked):
        return self.client.get(self.address, asked)

    def post(self, do, seat="5-lower", follow=True, **said):
        return self.client.post(self.address, {"do": do, "seat": seat, **said}, follow=follow)

    @property
    def facts(self):
        """What the draft says, as the page shows it."""
        return self.get().context["facts"]

    @property
    def stored(self):
        return Wish.objects.get(pk=self.wish.pk)
