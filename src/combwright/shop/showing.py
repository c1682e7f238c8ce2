"""The demo shop: an invented workshop's rack in a shop of its own, to look at and to try.

Nobody has a password in it; whoever starts it is let in by a link that works once.
"""

import logging
from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import TYPE_CHECKING, Final

import django
from django.core.management import call_command

from combwright.allocation.stock import Bin
from combwright.errors import CombwrightError

if TYPE_CHECKING:
    from combwright.shop.rack.item_actions import NewItem

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
    from combwright.shop.people.actions import make_link
    from combwright.shop.people.models import Person
    from combwright.shop.people.roles import Role
    from combwright.shop.people.views import link_address

    owner = Person.objects.filter(name=_NAME).first()
    if owner is None:
        owner = Person.objects.join(_NAME, "Demo owner", Role.OWNER, None)
        _fill(owner.pk, bins)
    return link_address(make_link(owner, _LINK_HOURS))


def _fill(owner: int, bins: Iterable[Bin]) -> None:
    from django.db import transaction

    from combwright.shop.people.models import Person
    from combwright.shop.rack import actions
    from combwright.shop.rack.item_actions import make_item
    from combwright.shop.rack.models import MICRONS_PER_MM, MILLICENTS_PER_CENT, Entry

    person = Person.objects.get(pk=owner)
    with transaction.atomic():
        counts = {}
        for each in bins:
            new = actions.NewBin(
                code=each.code,
                midi=each.midi,
                slot_um=round(each.slot_mm * MICRONS_PER_MM),
                mount=each.mount,
                millicents=round(each.cents * MILLICENTS_PER_CENT),
                cut=each.cut,
                walk=each.walk,
                cost=each.cost,
            )
            counts[actions.make_bin(new, each.batch).pk] = each.count
        actions.post(person, Entry.RECEIVED, counts, note="the demo's rack")
        for new_item, came in _store():
            make_item(person, new_item, came=came, note="the demo's store")


def _store() -> Iterator[tuple["NewItem", int]]:
    """Give what the demo's store holds at first, and how many of each."""
    from combwright.shop.rack.item_actions import NewItem
    from combwright.shop.rack.models import Item

    for key, came in (("G", 3), ("A", 1)):
        yield NewItem(
            f"Set in {key}", Item.SET, key=key, layout="standard", batch=f"unsliced {key}",
            walk=f"S-{key}", cost=Decimal("38.00"),
        ), came  # fmt: skip
    yield NewItem(
        "Old one in D", Item.DONOR, about="cover dented, 5 draw dead", key="D",
        layout="natural-minor", batch="donors", walk="S-9", cost=Decimal("6.00"),
    ), 1  # fmt: skip
    for name, part, cost, came in (
        ("Combs, pear wood", "comb", "7.50", 24),
        ("Covers, brass", "cover", "3.20", 60),
        ("Screws, 8 mm", "screw", "0.05", 400),
        ("Gaskets, 0.15 mm", "gasket", "0.12", 1_500),
        ("Boxes for kits", "box", "0.90", 35),
    ):
        yield NewItem(name, Item.PART, part=part, walk=f"P-{part}", cost=Decimal(cost)), came


def check(link: str) -> None:
    """Let oneself in by the link and look at the rack, as a visitor would.

    Raises
    ------
    ShopFault
        If a page does not answer, or a bin does not hold what its ledger says.
    """
    from django.test import Client

    from combwright.shop.rack.item_queries import item_faults
    from combwright.shop.rack.queries import ledger_faults

    faults = [*ledger_faults(), *item_faults()]
    if faults:
        raise ShopFault(f"{faults[0].bin} does not hold what its ledger says.")
    logging.disable(logging.INFO)  # nobody wants to read that the check let itself in
    visitor = Client(headers={"host": "localhost"})
    visitor.post(link)
    for page in ("/rack/", "/rack/bins/", "/rack/stores/", "/rack/ledger/"):
        answer = visitor.get(page)
        if answer.status_code != 200:
            raise ShopFault(f"The demo shop's page {page} answers {answer.status_code}, not 200.")
    logging.disable(logging.NOTSET)
