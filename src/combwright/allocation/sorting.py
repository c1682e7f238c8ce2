"""Sorting orders into groups and their seats into classes: from what people wrote to arrays."""

from collections import Counter
from collections.abc import Sequence
from datetime import date
from decimal import Decimal

import numpy as np

from combwright.allocation.orders import BadOrders, Design, Order, Want
from combwright.allocation.problem import (
    MOST_DECIMALS,
    MOUNT_CODES,
    NANOMETRES,
    Groups,
    Problem,
    SeatClasses,
    money_units,
)
from combwright.allocation.stock import Stock


def build_problem(
    stock: Stock, orders: Sequence[Order], *, kept: frozenset[int] = frozenset()
) -> Problem:
    """Sort orders into groups and their seats into classes.

    Parameters
    ----------
    stock : Stock
        Held and empty bins are left out.
    orders : sequence of Order
        In file order.
    kept : set of int
        Places of orders that have plates set aside.

    Raises
    ------
    BadOrders
        If a value has more than six decimals.
    """
    bins = tuple(b for b in stock.bins if b.count > 0 and not b.held)
    arrivals = tuple(sorted({b.arrives for b in bins if b.arrives is not None}))
    due_ranks = np.array([due_rank(order.due, arrivals) for order in orders], dtype=np.int64)
    parts = _part_names(stock, orders)
    table = _Table(parts)
    scale = _value_decimals(orders)
    buckets: dict[tuple[int, int, int, bool], list[int]] = {}
    for place, order in enumerate(orders):
        bag = table.bag(order, int(due_ranks[place]))
        value = int(order.value.scaleb(scale)) if order.value else 0
        key = (bag, value, order.priority, place in kept)
        buckets.setdefault(key, []).append(place)
    shelf = stock.parts or {}
    return Problem(
        bins=bins,
        arrivals=arrivals,
        classes=table.classes(),
        wants=tuple(tuple(wants) for wants in table.wants),
        parts=parts,
        part_stock=np.array([shelf[p].count if p in shelf else 0 for p in parts], dtype=np.int64),
        part_cost=np.array(
            [money_units(shelf[p].cost) if p in shelf else 0 for p in parts], dtype=np.int64
        ),
        groups=_groups(buckets, table, orders),
        value_unit=Decimal(1).scaleb(-scale),
        class_of=table.class_of,
        due_ranks=due_ranks,
    )


def due_rank(due: date | None, arrivals: Sequence[date]) -> int:
    """Return how many of the days of arrival are early enough for an order due on a day."""
    return len(arrivals) if due is None else sum(day <= due for day in arrivals)


def _part_names(stock: Stock, orders: Sequence[Order]) -> tuple[str, ...]:
    if stock.parts is None:
        return ()
    designs = {id(copy.design): copy.design for order in orders for copy in order.copies}
    return tuple(sorted({name for design in designs.values() for name in design.parts}))


def _value_decimals(orders: Sequence[Order]) -> int:
    decimals = 0
    for value in {order.value for order in orders}:
        exponent = value.normalize().as_tuple().exponent
        if not isinstance(exponent, int) or -exponent > MOST_DECIMALS:
            raise BadOrders(f"The value {value} has too many decimals; give at most six.")
        decimals = max(decimals, -exponent)
    return decimals


class _Table:
    """Classes and bags as they are met; every distinct design is looked at once."""

    def __init__(self, parts: tuple[str, ...]) -> None:
        self.parts = parts
        self.keys: dict[tuple[int, int, int, int], int] = {}
        self.wants: list[list[Want]] = []
        self.class_of: dict[tuple[Want, int], int] = {}
        self.bags: dict[tuple[tuple[int, int], ...], int] = {}
        self._designs: dict[tuple[int, int], Counter[int]] = {}
        self._orders: dict[tuple[tuple[int, ...], int], int] = {}

    def bag(self, order: Order, rank: int) -> int:
        """Return the number of the bag that an order uses."""
        key = (tuple(id(copy.design) for copy in order.copies), rank)
        known = self._orders.get(key)
        if known is None:
            total: Counter[int] = Counter()
            for copy in order.copies:
                total.update(self._design(copy.design, rank))
            known = self.bags.setdefault(tuple(sorted(total.items())), len(self.bags))
            self._orders[key] = known
        return known

    def _design(self, design: Design, rank: int) -> Counter[int]:
        key = (id(design), rank)
        if key not in self._designs:
            wants = (*design.seats, *(spare.want for spare in design.kit))
            bag = Counter(self._class(want, rank) for want in wants)
            # Parts stand behind all classes, whose number is not known yet: below zero till then.
            bag.update(
                {self.parts.index(p) - len(self.parts): n for p, n in design.parts.items() if n}
                if self.parts
                else {}
            )
            self._designs[key] = bag
        return self._designs[key]

    def _class(self, want: Want, rank: int) -> int:
        known = self.class_of.get((want, rank))
        if known is None:
            takes = round(want.takes_mm * NANOMETRES)
            key = (want.pitch_mc, takes, MOUNT_CODES[want.mount], rank)
            known = self.keys.setdefault(key, len(self.keys))
            if known == len(self.wants):
                self.wants.append([])
            self.wants[known].append(want)
            self.class_of[want, rank] = known
        return known

    def classes(self) -> SeatClasses:
        rows = np.array(list(self.keys), dtype=np.int64).reshape(len(self.keys), 4)
        return SeatClasses(*(np.ascontiguousarray(column) for column in rows.T))


def _groups(
    buckets: dict[tuple[int, int, int, bool], list[int]], table: _Table, orders: Sequence[Order]
) -> Groups:
    last = date.max

    def turn(place: int) -> tuple[bool, date, int]:
        order = orders[place]
        return (not order.promised, order.due or last, place)

    bags = list(table.bags)
    columns = len(table.keys) + len(table.parts)
    uses = [bags[key[0]] for key in buckets]
    start = np.cumsum([0, *(len(use) for use in uses)], dtype=np.int64)
    entries = np.array([pair for use in uses for pair in use], dtype=np.int64).reshape(-1, 2)
    members = tuple(tuple(sorted(places, key=turn)) for places in buckets.values())
    return Groups(
        start=start,
        column=np.where(entries[:, 0] < 0, entries[:, 0] + columns, entries[:, 0]),
        amount=np.ascontiguousarray(entries[:, 1]),
        size=np.array([len(m) for m in members], dtype=np.int64),
        floor=np.array([sum(orders[p].promised for p in m) for m in members], dtype=np.int64),
        value=np.array([key[1] for key in buckets], dtype=np.int64),
        priority=np.array([key[2] for key in buckets], dtype=np.int64),
        kept=np.array([key[3] for key in buckets], dtype=bool),
        members=members,
    )
