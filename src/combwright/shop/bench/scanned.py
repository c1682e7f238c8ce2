"""Picking by a label: a bin's code takes its next plate, a plate's code that very plate."""

from collections.abc import Sequence

from django.db import transaction
from django.utils.translation import gettext as _

from combwright.shop.bench import picking
from combwright.shop.bench.picking import NotThus
from combwright.shop.bench.trays import Place, places
from combwright.shop.orders.models import Order
from combwright.shop.papers.found import nothing_is_called, things
from combwright.shop.papers.written import BIN, PLATE
from combwright.shop.people.models import Person
from combwright.shop.plans.models import Taken
from combwright.shop.rack.models import Plate


@transaction.atomic
def pick_scanned(person: Person, orders: Sequence[Order], text: str) -> tuple[Taken, str]:
    """Pick the plate that a label's text names, for one of some orders.

    Returns
    -------
    Taken, str
        What was picked, and in words which tray it goes into.

    Raises
    ------
    NotThus
        If the text names nothing that these orders want; it says why.
    """
    wanted = [p for p in places(orders) if p.order.state in picking.PICKED_IN]
    found = [each for each in things(text) if each.letter in (BIN, PLATE)]
    if not found:
        raise NotThus(_not_here(text))
    for each in found:
        plate = Plate.objects.filter(code=each.code).first() if each.letter == PLATE else None
        code = each.code if plate is None else _where(plate)
        here = [p for p in wanted if p.taken is not None and p.taken.bin.code == code]
        if place := next((p for p in here if p.state == Taken.ASIDE), None):
            return _picked(person, place, plate)
    raise NotThus(_nothing_more(found[0].code, here))


def _picked(person: Person, place: Place, plate: Plate | None) -> tuple[Taken, str]:
    if place.taken is None:
        raise TypeError("A place that is set aside has a plate.")
    picked = picking.pick(person, place.taken, plate=plate)
    facts = {"bin": picked.bin.code, "place": place.name, "tray": place.tray}
    return picked, _("From bin %(bin)s for %(place)s: into tray %(tray)s.") % facts


def _where(plate: Plate) -> str:
    if plate.bin is None:
        facts = {"plate": plate.code, "why": plate.left_because}
        raise NotThus(_("Plate %(plate)s has left the rack: %(why)s.") % facts)
    return plate.bin.code


def _not_here(text: str) -> str:
    if not things(text):
        return nothing_is_called(text)
    return _("%(text)s is neither a bin nor a plate; scan one of those.") % {"text": text.strip()}


def _nothing_more(code: str, here: Sequence[Place]) -> str:
    if here:
        return _("All that is wanted of %s is picked already.") % code
    return _("Nothing of %s is wanted on this walk; look at the bin's name again.") % code
