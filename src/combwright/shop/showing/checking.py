"""A visitor's look around the demo shop: the proofs, then every room's first page."""

from collections.abc import Iterator
from typing import Final

from django.test import Client
from django.urls import NoReverseMatch, reverse

from combwright.shop.orders.models import Order
from combwright.shop.plans.faults import faults
from combwright.shop.plans.models import MadePlan
from combwright.shop.rack.item_queries import item_faults
from combwright.shop.rack.queries import ledger_faults
from combwright.shop.register.models import Instrument
from combwright.shop.repertoire.models import Melody, Repertoire
from combwright.shop.showing import ShopFault, quiet_log

_PAGES: Final = (
    "rack:heat", "rack:bins", "rack:stores", "rack:ledger", "designs:list", "today:next",
    "orders:list", "orders:customers", "plans:list", "bench:list", "register:list",
    "repertoire:list",
)  # fmt: skip


def look_around(link: str) -> None:
    """Prove that all adds up, let oneself in by a link, and open the rooms.

    Raises
    ------
    ShopFault
        If a page does not answer, or something does not add up.
    """
    for each in (*ledger_faults(), *item_faults()):
        raise ShopFault(f"{each.bin} does not hold what its ledger says.")
    for line in faults():
        raise ShopFault(f"The demo shop's orders do not add up: {line}.")
    with quiet_log():
        visitor = Client(headers={"host": "localhost"})
        visitor.post(link)
        for page in _addresses():
            answer = visitor.get(page)
            if answer.status_code != 200:
                raise ShopFault(
                    f"The demo shop's page {page} answers {answer.status_code}, not 200."
                )


def _addresses() -> Iterator[str]:
    for name in _PAGES:
        yield from _address(name)
    for order in Order.objects.exclude(taken=None).distinct()[:6]:
        yield from _address("orders:one", order.number)
        yield from _address("bench:build", order.pk)
    for instrument in Instrument.objects.all():
        yield from _address("register:one", instrument.serial)
        yield from _address("tuning:one", instrument.serial)
    for repertoire in Repertoire.objects.all():
        yield from _address("repertoire:one", repertoire.pk)
        yield from _address("choosing:match", repertoire.pk)
        yield from _address("choosing:swaps", repertoire.pk)
    for melody in Melody.objects.all():
        yield from _address("repertoire:tab", melody.pk)
    for made in MadePlan.objects.all():
        yield from _address("plans:one", made.pk)


def _address(name: str, *about: object) -> Iterator[str]:
    """Give a page's address where the room is built in."""
    try:
        yield reverse(name, args=about)
    except NoReverseMatch:
        return
