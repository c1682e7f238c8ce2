"""Orders divided, copied and made smaller; each is done as a whole or not at all."""

from collections.abc import Mapping
from datetime import date
from typing import Final

from django.db import transaction
from django.utils.translation import gettext as _

from combwright.shop.orders.actions import (
    NotSo,
    advance,
    check_changeable,
    locked,
    make_order,
    tell,
)
from combwright.shop.orders.models import Order, Wish
from combwright.shop.orders.places import check_number
from combwright.shop.orders.states import State
from combwright.shop.people.models import Person

#: What a copy of an order takes along; when it is due and promised is agreed on anew.
_COPIED: Final = ("customer", "priority", "value", "price", "note")
#: What a delivery takes along; what the whole costs stays with the first.
_DELIVERED: Final = ("customer", "priority", "value", "promised", "note")
#: The fields that say what a row wants.
OF_A_WISH: Final = (
    "what", "quantity", "key", "layout", "changes", "kit", "temperament", "a4", "comb",
)  # fmt: skip


@transaction.atomic
def remove_wish(order: Order, person: Person, wish: Wish, *, seen: int) -> None:
    """Take a row out of an order.

    Raises
    ------
    NotSo
        If the order is too far on, plates were taken for the row before, or it is the last one of
        an open order; or as `locked`.
    """
    there = locked(order, seen=seen)
    check_changeable(there)
    gone = there.wishes.filter(pk=wish.pk).first()
    if gone is None:
        raise NotSo(_("Order %(number)s has no such row any more.") % {"number": there.number})
    if there.state == State.OPEN and there.wishes.count() == 1:
        raise NotSo(
            _("Row %(row)d is all that order %(number)s holds; take the order back to be designed "
              "first, or cancel it.") % {"row": gone.row, "number": there.number}
        )  # fmt: skip
    _check_untouched(gone)
    row = gone.row
    gone.delete()
    _changed(there, person, _("row %d removed") % row)


def _check_untouched(wish: Wish) -> None:
    if wish.taken.exists() or wish.instruments.exists():
        raise NotSo(
            _("Plates were taken for row %d before, and what became of them is kept with it; leave "
              "one copy of it here, or cancel the order.") % wish.row
        )  # fmt: skip


def _changed(order: Order, person: Person, words: str) -> None:
    order.version += 1
    order.save(update_fields=["version"])
    tell(order, person, words)


@transaction.atomic
def copy_order(order: Order, person: Person) -> Order:
    """Make a new order, still to be designed, that wants what another one wants."""
    facts = {name: getattr(order, name) for name in _COPIED}
    if order.customer is not None and order.customer.erased_at is not None:
        facts["customer"] = None
    rows: list[Mapping[str, object]] = [_said(wish) for wish in order.wishes.all()]
    made = make_order(person, facts, rows)
    tell(made, person, _("made as a copy of %s") % order.number)
    return made


@transaction.atomic
def split_order(
    order: Order, person: Person, moves: Mapping[int, int], *, due: date | None, seen: int
) -> Order:
    """Move copies into an order of their own, a further delivery; return that.

    Parameters
    ----------
    order : Order
        A draft or an open order.
    person : Person
        Who splits it.
    moves : mapping of int to int
        From a row to how many copies of it move; rows of which none moves may be left out.
    due : date or None
        When the new one is due.
    seen : int
        The version that the person looked at.

    Raises
    ------
    NotSo
        If the order is too far on, nothing or everything would move, or more of a row than it has;
        or as `locked`.
    """
    there = locked(order, seen=seen)
    check_changeable(there)
    wishes = list(there.wishes.order_by("row"))
    moving = {row: n for row, n in moves.items() if n}
    _check_moves(there, wishes, moving)
    facts = {name: getattr(there, name) for name in _DELIVERED}
    made = Order.objects.create(
        number=_delivery_number(there), part_of=there.part_of or there, due=due, made_by=person,
        **facts,
    )  # fmt: skip
    for wish in wishes:
        _move(wish, made, moving.get(wish.row, 0))
    copies = sum(moving.values())
    tell(made, person, _("split off %(from)s: %(n)d copies") % {"from": there, "n": copies})
    if there.state == State.OPEN:
        advance(made, State.OPEN, person, _("opened for planning"))
    _changed(there, person, _("%(n)d copies moved to %(to)s") % {"n": copies, "to": made.number})
    return made


def _check_moves(order: Order, wishes: list[Wish], moving: Mapping[int, int]) -> None:
    there = {wish.row: wish.quantity for wish in wishes}
    for row, copies in moving.items():
        if not 0 < copies <= there.get(row, 0):
            raise NotSo(
                _("Row %(row)d of %(number)s has %(there)d copies; %(n)d cannot move.")
                % {"row": row, "number": order, "there": there.get(row, 0), "n": copies}
            )
    if not moving:
        raise NotSo(_("Say of one row at least how many copies move."))
    if sum(moving.values()) == sum(there.values()):
        raise NotSo(_("All copies would move; leave one at least in %s.") % order.number)


def _move(wish: Wish, made: Order, copies: int) -> None:
    if not copies:
        return
    if copies == wish.quantity:
        _check_untouched(wish)
        _put(made, wish.row, wish, copies)
        wish.delete()
        return
    _put(made, wish.row, wish, copies)
    wish.quantity -= copies
    wish.save(update_fields=["quantity"])


def _put(order: Order, row: int, wish: Wish, quantity: int) -> Wish:
    return Wish.objects.create(order=order, row=row, **_said(wish) | {"quantity": quantity})


def _said(wish: Wish) -> dict[str, object]:
    return {name: getattr(wish, name) for name in OF_A_WISH}


def _delivery_number(order: Order) -> str:
    """Return the first order's number with a slash and the delivery's: the first is number one."""
    # Locked, so that two deliveries split at once do not get one number.
    first = locked(order.part_of) if order.part_of else order
    taken = set(
        Order.objects.filter(number__startswith=f"{first.number}/").values_list("number", flat=True)
    )
    n = 2
    while f"{first.number}/{n}" in taken:
        n += 1
    return check_number(f"{first.number}/{n}")
