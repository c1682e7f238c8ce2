"""The demo shop: an invented workshop's rack in a shop of its own, to look at and to try.

Nobody has a password in it; whoever starts it is let in by a link that works once.
"""

import logging
from collections.abc import Iterable
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


def check(link: str) -> None:
    """Let oneself in by the link and look at the rack, as a visitor would.

    Raises
    ------
    ShopFault
        If a page does not answer, or a bin does not hold what its ledger says.
    """
    from django.test import Client

    from combwright.shop.rack.queries import ledger_faults

    faults = list(ledger_faults())
    if faults:
        raise ShopFault(f"Bin {faults[0].bin} does not hold what its ledger says.")
    logging.disable(logging.INFO)  # nobody wants to read that the check let itself in
    visitor = Client(headers={"host": "localhost"})
    visitor.post(link)
    for page in ("/rack/", "/rack/bins/", "/rack/ledger/"):
        answer = visitor.get(page)
        if answer.status_code != 200:
            raise ShopFault(f"The demo shop's page {page} answers {answer.status_code}, not 200.")
    logging.disable(logging.NOTSET)
