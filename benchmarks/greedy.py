"""Racks that serve one order after another, cheapest plates first, and never look ahead."""

from array import array
from collections.abc import Sequence
from decimal import Decimal
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from benchmarks.merging import Bag, ClassBook, Things, kinds_of, limits_mc, serves
from combwright.allocation.orders import Order
from combwright.allocation.stock import Bin, Stock
from combwright.allocation.workshop import Workshop

#: Money in whole ten-thousandths while plates are compared.
UNIT = 10_000
#: Read one by one, an array of Python's is quick where NumPy's is slow and a list is large.
Whole: TypeAlias = "array[int]"


def _whole(numbers: NDArray[np.int64]) -> Whole:
    return array("q", numbers.astype(np.int64).tobytes())


class Racks:
    """What is left in the racks while orders are served one by one.

    Plates only ever leave, so a bag that found no matching once finds none later: it is
    remembered, and equal orders after it are refused at once.
    """

    def __init__(self, stock: Stock, orders: Sequence[Order], workshop: Workshop) -> None:
        book = ClassBook()
        self._bags: list[Bag] = [book.bag(order) for order in orders]
        self._classes = book.classes()
        self._kinds, self._unit_cost, self._left = _by_cost(stock)
        self._workshop = workshop
        self._choices: dict[int, tuple[Whole, Whole]] = {}
        self._tip: dict[int, int] = {}
        self._refused: set[Bag] = set()
        self._spent = 0

    @property
    def spent(self) -> Decimal:
        """Plates and labour of all orders served so far."""
        return Decimal(self._spent) / UNIT

    def serve(self, index: int) -> bool:
        """Take the plates of one order if all of them are there."""
        bag = self._bags[index]
        if bag in self._refused:
            return False
        placed = _Placing(self)
        if not all(placed.add(each) for each, count in bag for _ in range(count)):
            self._refused.add(bag)
            placed.give_back()
            return False
        self._spent += sum(self.cost(each, kind) for each, kind in placed.taken)
        return True

    def choices(self, each: int) -> tuple[Whole, Whole]:
        """Return the kinds that serve a class, cheapest first, and what each costs there."""
        if each not in self._choices:
            one = slice(each, each + 1)
            wanted = Things(
                self._classes.pitch[one], self._classes.length[one], self._classes.mount[one]
            )
            eligible = np.flatnonzero(serves(self._kinds, wanted, self._workshop)[:, 0])
            shift = wanted.pitch[0] - self._kinds.pitch[eligible]
            costs = self._unit_cost[eligible] + _labour(shift, self._workshop)
            by_cost = np.lexsort((np.abs(shift), costs))
            self._choices[each] = (_whole(eligible[by_cost]), _whole(costs[by_cost]))
        return self._choices[each]

    def take(self, each: int, held: dict[int, int]) -> int | None:
        """Take the cheapest plate for a class; `held` says what the order at hand has taken."""
        kinds, _ = self.choices(each)
        left = self._left
        at = tip = self._tip.get(each, 0)
        while at < len(kinds) and not left[kinds[at]]:
            # A kind is passed for good only when earlier orders emptied it.
            if at == tip and not held.get(kinds[at]):
                tip += 1
            at += 1
        self._tip[each] = tip
        if at == len(kinds):
            return None
        left[kinds[at]] -= 1
        return kinds[at]

    def give_back(self, kind: int) -> None:
        """Put a plate back."""
        self._left[kind] += 1

    def cost(self, each: int, kind: int) -> int:
        """Return what a plate of a kind costs in a class."""
        kinds, costs = self.choices(each)
        return costs[kinds.index(kind)]

    def fits(self, each: int, kind: int) -> bool:
        """Say whether a kind serves a class."""
        lower, raised = limits_mc(self._workshop)
        wanted, kinds = self._classes, self._kinds
        shift = wanted.pitch[each] - kinds.pitch[kind]
        return bool(
            -lower <= shift <= raised
            and kinds.length[kind] <= wanted.length[each]
            and wanted.mount[each] in (0, kinds.mount[kind])
        )


class _Placing:
    """The seats of one order, placed one by one; a seat may move to let another in."""

    def __init__(self, racks: Racks) -> None:
        self._racks = racks
        self._held: dict[int, int] = {}
        self.taken: list[tuple[int, int]] = []

    def add(self, each: int) -> bool:
        kind = self._find(each, set())
        if kind is None:
            return False
        self.taken.append((each, kind))
        return True

    def _find(self, each: int, tried: set[int]) -> int | None:
        """Return a kind for a class, moving seats placed before when there is no other way."""
        kind = self._racks.take(each, self._held)
        if kind is not None:
            self._held[kind] = self._held.get(kind, 0) + 1
            return kind
        for place, (other, kind) in enumerate(self.taken):
            if kind in tried or not self._racks.fits(each, kind):
                continue
            tried.add(kind)
            moved = self._find(other, tried)
            if moved is not None:
                self.taken[place] = (other, moved)
                return kind
        return None

    def give_back(self) -> None:
        for _, kind in self.taken:
            self._racks.give_back(kind)


def _by_cost(stock: Stock) -> tuple[Things, NDArray[np.int64], list[int]]:
    """Return kinds told apart by cost too, what a plate of each costs, and how many there are."""
    kinds, _, bins = kinds_of(stock)
    split = [_by_price(lots) for lots in bins]
    repeat = [len(prices) for prices in split]
    apart = Things(
        np.repeat(kinds.pitch, repeat),
        np.repeat(kinds.length, repeat),
        np.repeat(kinds.mount, repeat),
    )
    costs = [cost for prices in split for cost in prices]
    left = [count for prices in split for count in prices.values()]
    return apart, np.array(costs, np.int64), left


def _by_price(lots: list[Bin]) -> dict[int, int]:
    prices: dict[int, int] = {}
    for each in lots:
        cost = int(each.cost * UNIT)
        prices[cost] = prices.get(cost, 0) + each.count
    return prices


def _labour(shift_mc: NDArray[np.int64], workshop: Workshop) -> NDArray[np.int64]:
    """Return the labour of filing, in ten-thousandths; shape of `shift_mc`.

    The removable weight is not weighed against the file: it is off in the benchmark.
    """
    retune = workshop.retune
    away = np.abs(shift_mc)
    costs = int(retune.fixed * UNIT) + np.rint(float(retune.each_cent) * UNIT * away / 1000)
    return np.where(away <= round(1000 * retune.free_cents), 0, costs).astype(np.int64)
