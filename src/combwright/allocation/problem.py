"""Orders and bins as arrays: seat classes, groups of identical orders, and what each group uses.

A seat class is a wanted pitch, the longest slot its seat takes, the mount its deck accepts and how
late it may be filled. A group is all open orders that use the same bag of classes and parts, are
worth the same and have the same priority. Parts are classes of their own, each served by one kind.
"""

from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Final

import numpy as np
from numpy.typing import NDArray

from combwright.allocation.orders import Want
from combwright.allocation.stock import Bin

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

#: Lengths are compared as whole nanometres, so that 12.8 equals 12.8 however it was computed.
NANOMETRES: Final = 1_000_000
MOUNT_CODES: Final = {"any": 0, "front": 1, "rear": 2}
MOST_DECIMALS: Final = 6


@dataclass(frozen=True, slots=True)
class SeatClasses:
    """Seat classes, one entry each, shape (classes,): pitch in thousandths of a cent, slot in nm.

    `due` counts the days of arrival, among the stock's, that are early enough.
    """

    pitch: Ints
    takes: Ints
    mount: Ints
    due: Ints

    def __len__(self) -> int:
        return len(self.pitch)


@dataclass(frozen=True, slots=True)
class Groups:
    """Groups of identical orders; which columns each uses, and how many, in compressed rows.

    Parameters
    ----------
    start : array, shape (groups + 1,)
        Where each group's entries begin in `column` and `amount`.
    column, amount : arrays, shape (entries,)
        Class or part, and how many of it one order uses. Columns from `len(classes)` on are parts.
    size, floor : arrays, shape (groups,)
        Open orders, and those among them that are promised.
    value, priority : arrays, shape (groups,)
        What one order is worth, in the problem's whole units; its priority.
    kept : array of bool, shape (groups,)
        Whether the orders have plates set aside by an earlier plan.
    members : tuple of tuples of int
        Places in the list of orders, first to be served first.
    """

    start: Ints
    column: Ints
    amount: Ints
    size: Ints
    floor: Ints
    value: Ints
    priority: Ints
    kept: NDArray[np.bool_]
    members: tuple[tuple[int, ...], ...]

    def __len__(self) -> int:
        return len(self.size)

    @property
    def owner(self) -> Ints:
        """The group of each entry, shape (entries,)."""
        return np.repeat(np.arange(len(self), dtype=np.int64), np.diff(self.start))


@dataclass(frozen=True, slots=True)
class Problem:
    """All that the planner computes with.

    Parameters
    ----------
    bins : tuple of Bin
        Those that may be used: not held, not empty.
    arrivals : tuple of dates
        Days on which expected plates arrive, early to late.
    classes, wants : SeatClasses, tuple of tuples
        The seat classes, and the distinct wants behind each of them.
    parts : tuple of str
        Names of the parts that are counted; `part_stock` and `part_cost` go with them.
    groups : Groups
        The orders.
    value_unit : Decimal
        What one whole unit of value is worth.
    """

    bins: tuple[Bin, ...]
    arrivals: tuple[date, ...]
    classes: SeatClasses
    wants: tuple[tuple[Want, ...], ...]
    parts: tuple[str, ...]
    part_stock: Ints
    part_cost: Ints
    groups: Groups
    value_unit: Decimal
    class_of: dict[tuple[Want, int], int] = field(repr=False)
    due_ranks: Ints

    def demand(self, served: Floats | Ints) -> Floats:
        """Return how many of each class and part the served orders use, shape (columns,)."""
        groups = self.groups
        weights = groups.amount * np.asarray(served, float)[groups.owner]
        columns = len(self.classes) + len(self.parts)
        return np.bincount(groups.column, weights, columns).astype(float)

    def use_of(self, columns: NDArray[np.bool_]) -> Ints:
        """Return how many of the marked classes and parts one order of each group uses."""
        groups = self.groups
        weights = groups.amount * columns[groups.column]
        return np.bincount(groups.owner, weights, len(groups)).astype(np.int64)


def money_units(amount: Decimal) -> int:
    """Return money in whole millionths, the planner's smallest unit."""
    return round(amount.scaleb(MOST_DECIMALS))


def money(units: int) -> Decimal:
    """Return millionths as money."""
    return Decimal(int(units)).scaleb(-MOST_DECIMALS)
