"""A shop as plain arrays, written from the mathematics and not from the planner.

Plates of the same pitch, slot and mount are one kind; wants of the same pitch, room and mount rule
are one class; orders that want the same bag of classes for the same value are one group. Peers and
the judge read a shop through this, so that they share no code with what they are compared with.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from combwright.allocation.orders import Design, Order, Want
from combwright.allocation.stock import Bin, Stock
from combwright.allocation.workshop import Workshop

ROWS_AT_ONCE = 4096
MOUNT_CODES = {"any": 0, "front": 1, "rear": 2}
Bag = tuple[tuple[int, int], ...]  # (class, how many), sorted


@dataclass(frozen=True, slots=True)
class Things:
    """Kinds or classes: pitch in thousandths of a cent, slot or room in mm, mount code; (n,)."""

    pitch: NDArray[np.int64]
    length: NDArray[np.float64]
    mount: NDArray[np.int64]


class ClassBook:
    """Numbers every different want, and turns an order into its bag of classes."""

    def __init__(self) -> None:
        self._number: dict[tuple[int, float, int], int] = {}
        self._bags: dict[tuple[int, ...], Bag] = {}
        self._designs: dict[int, list[int]] = {}

    def number(self, want: Want) -> int:
        """Return the class of a want."""
        named = (want.pitch_mc, want.takes_mm, MOUNT_CODES[want.mount])
        return self._number.setdefault(named, len(self._number))

    def bag(self, order: Order) -> Bag:
        """Return the classes an order wants, all its copies and kits together."""
        named = tuple(id(copy.design) for copy in order.copies)
        if named not in self._bags:
            wanted: Counter[int] = Counter()
            for copy in order.copies:
                wanted.update(self._design(copy.design))
            self._bags[named] = tuple(sorted(wanted.items()))
        return self._bags[named]

    def _design(self, design: Design) -> list[int]:
        if id(design) not in self._designs:
            wants = [*design.seats, *(each.want for each in design.kit)]
            self._designs[id(design)] = [self.number(want) for want in wants]
        return self._designs[id(design)]

    def classes(self) -> Things:
        """Return all classes numbered so far."""
        return _things(list(self._number))


def _things(rows: Sequence[tuple[int, float, int]]) -> Things:
    pitch, length, mount = zip(*rows, strict=True) if rows else ((), (), ())
    return Things(np.array(pitch, np.int64), np.array(length, float), np.array(mount, np.int64))


def lies_in_rack(each: Bin) -> bool:
    """Say whether a bin's plates are stock today."""
    return each.count > 0 and not each.held and each.arrives is None


def kinds_of(stock: Stock) -> tuple[Things, NDArray[np.int64], list[list[Bin]]]:
    """Return the kinds in the rack, how many plates of each, and the bins of each."""
    bins: dict[tuple[int, float, int], list[Bin]] = {}
    for each in filter(lies_in_rack, stock.bins):
        named = (each.pitch_mc, each.slot_mm, MOUNT_CODES[each.mount])
        bins.setdefault(named, []).append(each)
    supply = np.array([sum(b.count for b in lots) for lots in bins.values()], np.int64)
    return _things(list(bins)), supply, list(bins.values())


def limits_mc(workshop: Workshop) -> tuple[int, int]:
    """Return how far a reed may be lowered and raised, in thousandths of a cent."""
    lower = max(workshop.retune.lower_most_cents, workshop.weight.lower_most_cents)
    return round(1000 * lower), round(1000 * workshop.retune.raise_most_cents)


def serves(kinds: Things, classes: Things, workshop: Workshop) -> NDArray[np.bool_]:
    """Say which kind may serve which class, shape (kinds, classes)."""
    lower, raised = limits_mc(workshop)
    shift = classes.pitch[None, :] - kinds.pitch[:, None]
    fits = kinds.length[:, None] <= classes.length[None, :]
    mounts = (classes.mount == 0)[None, :] | (classes.mount[None, :] == kinds.mount[:, None])
    return np.asarray((shift >= -lower) & (shift <= raised) & fits & mounts)


@dataclass(frozen=True, slots=True)
class Merged:
    """The compact model's numbers.

    Parameters
    ----------
    supply : array, shape (kinds,)
        Plates of kinds that differ in what they serve.
    pairs : array, shape (n, 2)
        Which kind serves which class.
    bags : tuple of Bag
        What each group wants of which class.
    values, priorities, opened : arrays, shape (groups,)
        Of one order; its priority; and how many orders the group has.
    exact : tuple of Decimal
        The values, exactly.
    classes : int
        How many classes there are.
    """

    supply: NDArray[np.int64]
    pairs: NDArray[np.int64]
    bags: tuple[Bag, ...]
    values: NDArray[np.float64]
    priorities: NDArray[np.int64]
    opened: NDArray[np.int64]
    exact: tuple[Decimal, ...]
    classes: int


def merged(stock: Stock, orders: Sequence[Order], workshop: Workshop) -> Merged:
    """Merge kinds that serve the same classes, classes served by the same kinds, equal orders."""
    book = ClassBook()
    bags = [book.bag(order) for order in orders]
    kinds, supply, _ = kinds_of(stock)
    rows, supply = _merged_kinds(kinds, supply, book.classes(), workshop)
    columns, class_of = np.unique(rows, axis=1, return_inverse=True)
    small: dict[Bag, Bag] = {bag: _renumbered(bag, class_of.ravel()) for bag in set(bags)}
    groups = Counter(
        (small[bag], order.value, order.priority) for bag, order in zip(bags, orders, strict=True)
    )
    named = list(groups)
    return Merged(
        supply=supply,
        pairs=np.argwhere(columns),
        bags=tuple(bag for bag, _, _ in named),
        values=np.array([float(value) for _, value, _ in named]),
        priorities=np.array([priority for _, _, priority in named], np.int64),
        opened=np.array(list(groups.values()), np.int64),
        exact=tuple(value for _, value, _ in named),
        classes=columns.shape[1],
    )


def _merged_kinds(
    kinds: Things, supply: NDArray[np.int64], classes: Things, workshop: Workshop
) -> tuple[NDArray[np.bool_], NDArray[np.int64]]:
    """Return one row of `serves` for each different row, with the plates of all its kinds."""
    found: dict[bytes, int] = {}
    width = len(classes.pitch)
    for start in range(0, len(supply), ROWS_AT_ONCE):
        part = slice(start, start + ROWS_AT_ONCE)
        some = Things(kinds.pitch[part], kinds.length[part], kinds.mount[part])
        packed = np.packbits(serves(some, classes, workshop), axis=1)
        for row, plates in zip(packed, supply[part].tolist(), strict=True):
            key = row.tobytes()
            found[key] = found.get(key, 0) + plates
    found.pop(bytes((width + 7) // 8), None)  # serves nothing
    packed = np.frombuffer(b"".join(found), np.uint8).reshape(len(found), -1)
    rows = np.unpackbits(packed, axis=1, count=width).astype(bool)
    return rows, np.array(list(found.values()), np.int64)


def _renumbered(bag: Bag, class_of: NDArray[np.int64]) -> Bag:
    wanted: Counter[int] = Counter()
    for each, count in bag:
        wanted[int(class_of[each])] += count
    return tuple(sorted(wanted.items()))
