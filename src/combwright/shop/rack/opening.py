"""What lies in a set or a donor before it is opened: its plates, and the bins proposed for them."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any, Final

from django.db.models import QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from combwright.comb.layouts import Layout
from combwright.comb.seats import Seat
from combwright.notes.keys import parse_key
from combwright.shop.designs import queries as designs
from combwright.shop.rack import sets
from combwright.shop.rack.models import Bin, Entry, Item

_CENT: Final = Decimal("0.01")
_LONGEST_NOTE: Final = Entry._meta.get_field("note").max_length or 300


def layout_of(item: Item) -> Layout:
    """Return a set's or a donor's layout in C.

    Raises
    ------
    NoSuchDesign
        If the shop does not have it any more.
    """
    return designs.layout(item.layout)


def seats_of(item: Item) -> Sequence[Seat]:
    """Return the seats that a set's or a donor's plates come from, sounding in its key."""
    return layout_of(item).in_key(parse_key(item.key)).seats


def proposal(item: Item, place: str, cost: Decimal) -> list[dict[str, Any]]:
    """Return what to fill in for each plate, as `sets.proposal` does; `batch` must be loaded."""
    said = {"key": item.key, "batch": _batch(item), "place": place, "cost": cost}
    # A tick is no number: a 0 would be shown as ticked.
    return [{**plate, "lost": False} for plate in sets.proposal(said, layout_of(item))]


def _batch(item: Item) -> str:
    return item.batch.code if item.batch else ""


def cost_of_a_plate(item: Item) -> Decimal:
    """Return what one plate costs when the item's cost is shared among its plates."""
    return (item.cost / max(len(seats_of(item)), 1)).quantize(_CENT)


def not_there(codes: Sequence[str]) -> set[str]:
    """Return those of the names that no bin has; one query."""
    return set(codes) - set(Bin.objects.filter(code__in=codes).values_list("code", flat=True))


def parts_for(item: Item) -> QuerySet[Item]:
    """Return the parts that an opened item's other parts may go to: a donor's, and no set's."""
    parts = Item.objects.filter(kind=Item.PART).order_by("part", "code")
    return parts if item.kind == Item.DONOR else parts.none()


def note_of(item: Item, lost: Sequence[str], said: str = "") -> str:
    """Return the ledger's note for an opened item: whose plates, which were lost, what was said.

    Parameters
    ----------
    lost : sequence of str
        The plates that did not come out whole, by the holes they were cut for.
    """
    words = [_("%(name)s, in %(key)s") % {"name": item.code, "key": item.key}]
    if lost:
        text = ngettext("%(n)d plate lost: %(which)s", "%(n)d plates lost: %(which)s", len(lost))
        words.append(text % {"n": len(lost), "which": ", ".join(lost)})
    words += [said] if said else []
    note = "; ".join(words)
    return note if len(note) <= _LONGEST_NOTE else note[: _LONGEST_NOTE - 1] + "…"
