"""The one place that writes the ledger, and the counts that it keeps beside its lines.

Bins and items are locked in the order of their keys, so that two people who touch the same ones
wait for one another and never for ever. Beside the count stands how many of it are set aside for
orders: those leave only through the order that they are set aside for.
"""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TypeVar

from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from combwright.errors import CombwrightError
from combwright.shop.people.models import Person
from combwright.shop.rack.models import Bin, Entry, Item, ItemLine, Line

#: What a ledger's line counts.
Holder = TypeVar("Holder", Bin, Item)
Changes = Mapping[int, int]


class NotSo(CombwrightError):
    """Something that cannot be done with the rack as it is."""


class NotEnough(NotSo):
    """More taken than a bin or an item holds."""

    def __init__(self, holder: Bin | Item, wanted: int) -> None:
        facts = {"name": holder.code, "count": holder.count, "wanted": wanted}
        if isinstance(holder, Bin):
            text = ngettext(
                "Bin %(name)s holds %(count)d plate; %(wanted)d cannot be taken from it.",
                "Bin %(name)s holds %(count)d plates; %(wanted)d cannot be taken from it.",
                holder.count,
            )
        else:
            text = _("Of %(name)s there are %(count)d; %(wanted)d cannot be taken.")
        super().__init__(text % facts)


class SetAside(NotSo):
    """Plates or items asked for that are set aside for orders."""

    def __init__(self, holder: Bin | Item, wanted: int) -> None:
        text = _(
            "Of %(name)s, which holds %(count)d, %(aside)d are set aside for orders; "
            "%(wanted)d cannot be taken. Free an order's plates first."
        )
        facts = {"name": holder.code, "count": holder.count, "aside": holder.aside}
        super().__init__(text % {**facts, "wanted": wanted})


@dataclass(frozen=True, slots=True)
class Aside:
    """What is set aside for orders besides, or released: from keys to so many more or fewer."""

    bins: Changes = field(default_factory=dict)
    items: Changes = field(default_factory=dict)


NOTHING_ASIDE = Aside()
#: The most that a bin or an item can hold; the databases' whole numbers end there.
MOST = 2**31 - 1


@transaction.atomic
def post(
    person: Person,
    why: str,
    changes: Changes,
    *,
    items: Changes | None = None,
    aside: Aside = NOTHING_ASIDE,
    note: str = "",
    corrects: Entry | None = None,
) -> Entry:
    """Write one entry with a line for each bin and each item that changes.

    Parameters
    ----------
    person : Person
        Who did it.
    why : str
        One of `Entry.WHYS`.
    changes : mapping of int to int
        From a bin's key to plates in (above 0) or out (below 0). A change of 0 is written too: a
        count that agreed is worth knowing.
    items : mapping of int to int or None
        The same for items.
    aside : Aside
        What is no longer set aside because it leaves with this entry, or is set aside with it.

    Raises
    ------
    NotEnough
        If a bin or an item would be less than nothing.
    SetAside
        If less would be left than is set aside.
    NotSo
        If there is no such bin or item.
    """
    bins = _locked(Bin, {*changes, *aside.bins})
    kept_whole = _locked(Item, {*(items or {}), *aside.items})
    entry = Entry.objects.create(made_by=person, why=why, note=note, corrects=corrects)
    Line.objects.bulk_create(
        Line(entry=entry, bin=each, change=change, after=each.count)
        for each, change in _changed(bins, changes, aside.bins)
    )
    ItemLine.objects.bulk_create(
        ItemLine(entry=entry, item=each, change=change, after=each.count)
        for each, change in _changed(kept_whole, items or {}, aside.items)
    )
    return entry


@transaction.atomic
def put_aside(aside: Aside) -> None:
    """Set bins' plates and items aside, or release them; nothing moves, so nothing is written down.

    Raises
    ------
    SetAside
        If there are not so many that are free.
    """
    _changed(_locked(Bin, aside.bins), {}, aside.bins)
    _changed(_locked(Item, aside.items), {}, aside.items)


def _locked(model: type[Holder], keys: Collection[int]) -> dict[int, Holder]:
    if not keys:
        return {}
    rows = model._default_manager.select_for_update().filter(pk__in=keys).order_by("pk")
    found = {each.pk: each for each in rows}
    if len(found) < len(keys):
        raise NotSo(_("Something of this is no longer there; look at the rack again."))
    return found


def _changed(
    there: Mapping[int, Holder], changes: Changes, aside: Changes
) -> Sequence[tuple[Holder, int]]:
    """Change counts and what is set aside; refuse what would be less than nothing."""
    alike: dict[tuple[int, int], list[int]] = defaultdict(list)
    for key, holder in there.items():
        change, more = changes.get(key, 0), aside.get(key, 0)
        if holder.count + change < 0:
            raise NotEnough(holder, -change)
        if holder.count + change < holder.aside + more:
            raise SetAside(holder, more - change)
        if holder.count + change > MOST:
            facts = {"name": holder.code, "most": MOST}
            raise NotSo(_("%(name)s cannot hold more than %(most)d.") % facts)
        holder.count += change
        holder.aside += more
        if change or more:
            alike[change, more].append(key)
    for model in {type(each) for each in there.values()}:
        # Many that change alike are one short query; a plan sets hundreds of bins' plates aside.
        for (change, more), keys in alike.items():
            model._default_manager.filter(pk__in=keys).update(
                count=F("count") + change, aside=F("aside") + more
            )
    return [(there[key], change) for key, change in sorted(changes.items())]
