"""Changing what a bin or an item says of itself; each change leaves a row that says what was there.

Counts are not changed here: the ledger does that.
"""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, Final

from django.db import transaction
from django.utils.translation import gettext as _

from combwright.shop.people.models import Person
from combwright.shop.rack.actions import NotSo
from combwright.shop.rack.models import Batch, Bin, Change, Item

#: What may be changed at any time.
BIN_FACTS: Final = frozenset({"walk", "cost", "cut", "slot_um", "mount", "millicents"})
ITEM_FACTS: Final = frozenset({"about", "walk", "cost"})
#: What may be changed while nothing has been written about it: it says what the plates are.
BIN_ROOTS: Final = frozenset({"midi", "batch"})
ITEM_ROOTS: Final = frozenset({"key", "layout", "batch", "part"})


def change_bin(
    person: Person, plate_bin: Bin, facts: Mapping[str, Any], *, note: str = ""
) -> Change | None:
    """Change a bin's own facts.

    Parameters
    ----------
    person : Person
        Who changes them.
    facts : mapping
        From a field's name to its new value; `batch` by its name. Other fields stay.

    Returns
    -------
    Change or None
        None when everything is so already.

    Raises
    ------
    NotSo
        If note or batch are to change and the bin has a ledger.
    """
    return _change(person, plate_bin, facts, BIN_FACTS, BIN_ROOTS, note)


def change_item(
    person: Person, item: Item, facts: Mapping[str, Any], *, note: str = ""
) -> Change | None:
    """Change an item's own facts; as `change_bin`."""
    return _change(person, item, facts, ITEM_FACTS, ITEM_ROOTS, note)


def hold_bin(person: Person, plate_bin: Bin, because: str) -> Change | None:
    """Keep a bin out of every plan and pick.

    Raises
    ------
    NotSo
        If no reason is given.
    """
    return _hold(person, plate_bin, because)


def hold_item(person: Person, item: Item, because: str) -> Change | None:
    """Keep an item from being opened or used; as `hold_bin`."""
    return _hold(person, item, because)


def release(person: Person, holder: Bin | Item) -> Change | None:
    """Let a bin or an item be used again."""
    return _change(person, holder, {"held": False}, frozenset({"held"}), frozenset(), "")


def _hold(person: Person, holder: Bin | Item, because: str) -> Change | None:
    if not because.strip():
        raise NotSo(_("Say why %s is held.") % holder.code)
    held = frozenset({"held"})
    return _change(person, holder, {"held": True}, held, frozenset(), because.strip())


@transaction.atomic
def _change(
    person: Person,
    holder: Bin | Item,
    facts: Mapping[str, Any],
    may: frozenset[str],
    roots: frozenset[str],
    note: str,
) -> Change | None:
    if unknown := set(facts) - may - roots:
        raise ValueError(f"no fact that is changed here: {', '.join(sorted(unknown))}")
    there = type(holder)._default_manager.select_for_update().get(pk=holder.pk)
    changed = {
        name: [before, after]
        for name, value in facts.items()
        if (before := _plain(getattr(there, name))) != (after := _plain(value))
    }
    if not changed:
        return None
    if roots & set(changed):
        _check_untouched(there)
    for name in changed:
        setattr(there, name, _stored(name, facts[name]))
    there.save(update_fields=list(changed))
    about = {"bin": there} if isinstance(there, Bin) else {"item": there}
    return Change.objects.create(made_by=person, facts=changed, note=note, **about)


def _check_untouched(holder: Bin | Item) -> None:
    if holder.count or holder.lines.exists():
        raise NotSo(
            _(
                "%(name)s has a ledger, so what it holds stays what it is; make another for "
                "other things."
            )
            % {"name": holder.code}
        )


def _plain(value: Any) -> Any:
    """Return a value as it is kept: what JSON can hold, and equal when nothing changed."""
    if isinstance(value, Batch):
        return value.code
    if isinstance(value, Decimal):
        return format(value.quantize(Decimal("0.01")), "f")
    return value


def _stored(name: str, value: Any) -> Any:
    return Batch.objects.get_or_create(code=value)[0] if name == "batch" else value
