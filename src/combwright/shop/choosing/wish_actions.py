"""A row of an answer made into a wish: in a new draft order, or in one that is there."""

from collections.abc import Mapping
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from combwright.shop.choosing.actions import NotSo
from combwright.shop.choosing.models import Answer, MadeWish
from combwright.shop.orders import actions as orders
from combwright.shop.orders.models import Order, Wish
from combwright.shop.orders.reading import Reader
from combwright.shop.orders.states import State
from combwright.shop.people.models import Person


@transaction.atomic
def make_wish(
    person: Person, answer: Answer, row: int, key: str, order: Order | None
) -> tuple[Wish, bool]:
    """Make a row of an answer into a wish; return it, and whether it was made just now.

    Parameters
    ----------
    row : int
        Which row of the answer, from 0.
    key : str
        The key of the instrument, where the row leaves it open.
    order : Order or None
        A draft to put it into; None for a new one, for the repertoire's customer.

    Raises
    ------
    NotSo
        If there is no such row or answer, or the order is no draft any more.
    CombwrightError
        If the instrument cannot be built as the row says.
    """
    there = Answer.objects.select_for_update().filter(pk=answer.pk).first()
    if there is None:
        raise NotSo(_("This answer was thrown away meanwhile."))
    facts = facts_of(there, row, key)
    made = there.wishes.filter(row=row, key=facts["key"]).select_related("wish__order").first()
    if made is not None:
        return made.wish, False
    Reader().check(Wish(**facts))
    wish = _in_new_order(person, there, facts) if order is None else _in(order, person, facts)
    MadeWish.objects.create(answer=there, row=row, key=facts["key"], wish=wish, made_by=person)
    return wish, True


def facts_of(answer: Answer, row: int, key: str) -> dict[str, Any]:
    """Return the fields of a wish that a row of an answer stands for.

    Raises
    ------
    NotSo
        If there is no such row.
    """
    rows = rows_of(answer)
    if not 0 <= row < len(rows):
        raise NotSo(_("This answer has no row %d; look at it again.") % (row + 1))
    said = rows[row]
    return {
        "layout": said["layout"], "key": said["key"] or key, "changes": said["changes"],
        "comb": said.get("comb", ""),
    }  # fmt: skip


def rows_of(answer: Answer) -> list[Mapping[str, Any]]:
    """Return the rows of an answer that can each become a wish."""
    said = answer.said or {}
    return list(said.get("layouts" if answer.kind == Answer.MATCH else "wishes", ()))


def _in_new_order(person: Person, answer: Answer, facts: Mapping[str, Any]) -> Wish:
    who = answer.repertoire.customer
    order = orders.make_order(person, {"customer": who} if who else {}, [facts])
    return order.wishes.select_related("order").get()


def _in(order: Order, person: Person, facts: Mapping[str, Any]) -> Wish:
    now = orders.locked(order)
    if now.state != State.DRAFT:
        raise NotSo(
            _("Order %s is no draft any more; choose another one, or a new one.") % now.number
        )
    return orders.save_wish(now, person, None, facts, seen=now.version)
