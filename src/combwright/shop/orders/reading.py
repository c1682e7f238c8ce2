"""Orders as the planner knows them: each wish read into the plates that one copy wants.

Equal wishes share one design; the planner's speed rests on it.
"""

from collections.abc import Iterable
from decimal import Decimal
from functools import cache
from typing import Final, cast

from django.utils.translation import gettext as _

from combwright.allocation.orders import Copy, Design
from combwright.allocation.orders import Order as PlannedOrder
from combwright.comb.changes import Change, KitLine, parse_changes, parse_kit
from combwright.comb.combs import Comb
from combwright.comb.layouts import Layout
from combwright.errors import CombwrightError
from combwright.files.wishes import Designs, What
from combwright.files.wishes import Wish as ReadWish
from combwright.notes.keys import parse_key
from combwright.notes.pitch import check_a4
from combwright.notes.temperament import Temperament, named_temperament
from combwright.shop.designs import queries as designs
from combwright.shop.orders.models import Order, Wish


class BadWishRow(CombwrightError):
    """A wish that cannot be built as it is written; it says which and why."""

    def __init__(self, wish: Wish, problem: str) -> None:
        where = {"order": wish.order.number, "row": wish.row, "problem": problem}
        super().__init__(_("Order %(order)s, row %(row)d: %(problem)s") % where)


class Reader:
    """Reads wishes, each layout, comb and text once; make one for each piece of work."""

    def __init__(self) -> None:
        self._designs: Final = Designs()
        self.layout: Final = cache(_layout)
        self.comb: Final = cache(_comb)
        self.changes: Final = cache(_changes)
        self.kit: Final = cache(_kit)
        self.temperament: Final = cache(_temperament)

    def wish(self, row: Wish) -> ReadWish:
        """Return a wish with its key, layout and the rest read.

        Raises
        ------
        CombwrightError
            If a part of it cannot be read; its text says what is wrong.
        """
        return ReadWish(
            key=parse_key(row.key),
            layout=self.layout(row.layout),
            comb=self.comb(row.comb),
            what=cast("What", row.what),
            changes=self.changes(row.changes),
            kit=self.kit(row.kit),
            temperament=self.temperament(row.temperament),
            a4_hz=check_a4(float(row.a4)),
        )

    def design(self, row: Wish) -> Design:
        """Return what one copy of a wish wants.

        Raises
        ------
        BadWishRow
            If it cannot be built as it is written.
        """
        try:
            return self._designs.of(self.wish(row))
        except CombwrightError as error:
            raise BadWishRow(row, str(error)) from error

    def check(self, row: Wish) -> None:
        """Make sure that a wish of no order yet can be built.

        Raises
        ------
        BadWish
            If its parts do not go together; it says which.
        CombwrightError
            If a part of it cannot be read.
        """
        self._designs.of(self.wish(row))

    def planned(self, order: Order) -> PlannedOrder:
        """Return an order as the planner knows it; its wishes must be loaded.

        Raises
        ------
        BadWishRow
            If one of its wishes cannot be built as it is written.
        """
        copies = tuple(
            Copy(row.row, number, self.design(row))
            for row in order.wishes.all()
            for number in range(1, row.quantity + 1)
        )
        return PlannedOrder(
            name=order.number,
            copies=copies,
            value=Decimal(order.value) * len(copies),
            priority=order.priority,
            promised=order.promised,
            due=order.due,
        )


def planned_orders(orders: Iterable[Order]) -> tuple[PlannedOrder, ...]:
    """Return orders as the planner knows them, in the order given."""
    reader = Reader()
    return tuple(reader.planned(order) for order in orders)


def _layout(code: str) -> Layout:
    return designs.layout(code)


def _comb(code: str) -> Comb:
    return designs.comb(code) if code else designs.usual_comb()


def _changes(text: str) -> tuple[Change, ...]:
    return parse_changes(text)


def _kit(text: str) -> tuple[KitLine, ...]:
    return parse_kit(text)


def _temperament(name: str) -> Temperament:
    return named_temperament(name)
