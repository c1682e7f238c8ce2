"""Changes of a bin's or an item's own facts, told in words."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from django.db.models import QuerySet
from django.utils.formats import number_format
from django.utils.translation import gettext as _

from combwright.notes.names import note_name
from combwright.shop.rack.models import (
    MICRONS_PER_MM,
    MILLICENTS_PER_CENT,
    Bin,
    Change,
    Item,
)

#: So many are shown with a bin or an item; the page of all of them is asked for.
SHOWN: Final = 20


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing that changed: what it is called, what it was, what it is since."""

    name: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Told:
    """A change in words."""

    change: Change
    facts: tuple[Fact, ...]


def changes_of(holder: Bin | Item) -> QuerySet[Change]:
    """Return the changes of a bin's or an item's own facts, newest first, with who made them."""
    return holder.changes.select_related("made_by").order_by("-id")


def told(holder: Bin | Item, changes: Sequence[Change] | QuerySet[Change]) -> tuple[Told, ...]:
    """Put changes of a bin or an item into words."""
    return tuple(Told(each, tuple(_facts(type(holder), each))) for each in changes)


def _facts(model: type[Bin] | type[Item], change: Change) -> Iterator[Fact]:
    for name, (before, after) in change.facts.items():
        label = str(model._meta.get_field(name).verbose_name)  # type: ignore[union-attr]
        yield Fact(label, _words(name, before), _words(name, after))


def _words(name: str, value: Any) -> str:
    if value is None or value == "":
        return "–"
    if name == "held":
        return _("yes") if value else _("no")
    if name == "midi":
        return note_name(value)
    if name == "mount":
        return str(dict(Bin.MOUNTS).get(value, value))
    if name == "slot_um":
        return f"{number_format(Decimal(value) / MICRONS_PER_MM)} mm"
    if name == "millicents":
        return number_format(Decimal(value) / MILLICENTS_PER_CENT)
    if name == "cost":
        return number_format(Decimal(value), 2)
    return str(value)


def shown(holder: Bin | Item, *, all_of_them: bool = False) -> dict[str, Any]:
    """Return what a page shows of the changes: the newest, or all; and whether there are more."""
    found = list(changes_of(holder)[: None if all_of_them else SHOWN + 1])
    more = not all_of_them and len(found) > SHOWN
    return {"changes": told(holder, found[:SHOWN] if more else found), "more_changes": more}
