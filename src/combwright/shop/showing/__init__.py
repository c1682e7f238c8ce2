"""The demo shop: an invented workshop's rack and order book in a shop of its own, to try things in.

Nobody has a password in it; whoever starts it is let in by a link that works once.
"""

import logging
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import Final

import django
from django.core.management import call_command

from combwright.allocation.stock import Bin
from combwright.errors import CombwrightError

_LINK_HOURS: Final = 12
_NAME: Final = "demo-owner"


class ShopFault(CombwrightError):
    """A shop that was set up and does not answer as it should."""


def set_up(bins: Iterable[Bin]) -> str:
    """Set the demo shop up where it is not yet, and return the path of a link that lets one in.

    Parameters
    ----------
    bins : iterable of Bin
        What its rack holds at first.
    """
    django.setup()
    call_command("migrate", verbosity=0, interactive=False)
    from django.db import transaction

    from combwright.shop.people.actions import make_link
    from combwright.shop.people.models import Person
    from combwright.shop.people.roles import Role
    from combwright.shop.people.views import link_address

    owner = Person.objects.filter(name=_NAME).first()
    if owner is None:
        # As a whole or not at all: whoever is there finds a full shop.
        with quiet_log(), transaction.atomic():
            owner = Person.objects.join(_NAME, "Demo owner", Role.OWNER, None)
            _fill(owner.pk, bins)
    return link_address(make_link(owner, _LINK_HOURS))


def _fill(owner: int, bins: Iterable[Bin]) -> None:
    from combwright.shop.people.models import Person
    from combwright.shop.showing.day import a_day
    from combwright.shop.showing.ordering import take_orders
    from combwright.shop.showing.playing import load_tunes
    from combwright.shop.showing.stocking import stock_up

    person = Person.objects.get(pk=owner)
    stock_up(person, bins)
    take_orders(person)
    a_day(person)
    load_tunes(person)


@contextmanager
def quiet_log() -> Iterator[None]:
    """Keep from the log what happens inside: nobody wants to read that the demo made itself."""
    before = logging.root.manager.disable
    logging.disable(logging.INFO)
    try:
        yield
    finally:
        logging.disable(before)


def check(link: str) -> None:
    """Let oneself in by the link and look around, as a visitor would.

    Raises
    ------
    ShopFault
        If a page does not answer, or something does not add up.
    """
    from combwright.shop.showing.checking import look_around

    look_around(link)
