"""The market: which kinds may go into which classes of seats, and what each costs there."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from combwright.allocation.costs import Kinds
from combwright.allocation.eligible import Eligible
from combwright.allocation.labour import Labour, labour_of
from combwright.allocation.problem import Floats, Ints, Problem
from combwright.allocation.workshop import Workshop

#: Where more pairs than this are possible, only the cheapest for each class are looked at.
MOST_ARCS: Final = 2_500_000
_FEWEST_KINDS: Final = 100
_TIMES_WANTED: Final = 4
#: Pairs added to a class at once, and how much better a buy must be, in millionths.
_MOST_ADDED: Final = 60
_TINY: Final = 0.5


@dataclass(frozen=True, slots=True)
class Arcs:
    """Kinds that may go into classes, and what that costs; arrays of shape (arcs,), by class."""

    seat: Ints
    kind: Ints
    cost: Ints


@dataclass(frozen=True, slots=True)
class Market:
    """What plates cost where.

    Parameters
    ----------
    arcs : Arcs
        The pairs that are looked at.
    stock, walk : arrays of int, shape (kinds,)
        Plates of each kind, and its place on the walk.
    classes : int
        How many classes there are.
    every : Offers or None
        All pairs, where `arcs` holds only the cheapest; None where it holds all.
    """

    arcs: Arcs
    stock: Ints
    walk: Ints
    classes: int
    every: "Offers | None" = None

    def seat_prices(self, kind_price: Floats) -> Floats:
        """Return the least that one more seat of each class costs at some prices of plates.

        Parameters
        ----------
        kind_price : array, shape (kinds,)
            Added to what a plate costs; in millionths.

        Returns
        -------
        array, shape (classes,)
            0 for a class that nothing serves.
        """
        if self.every is not None:
            least = [(cost + kind_price[near]).min(initial=np.inf) for near, cost in self.every]
            price = np.array(least, dtype=float)
        else:
            price = np.full(self.classes, np.inf)
            np.minimum.at(price, self.arcs.seat, self.arcs.cost + kind_price[self.arcs.kind])
        return np.where(np.isfinite(price), price, 0.0)

    def widened(self, kind_price: Floats) -> "Market | None":
        """Return the market with pairs added that are better buys at some prices of plates.

        Returns
        -------
        Market or None
            None when there are none: what is cheapest here is the cheapest of all.
        """
        if self.every is None:
            return None
        starts = np.searchsorted(self.arcs.seat, np.arange(self.classes + 1))
        kinds, costs, more = [], [], 0
        for c, (near, cost) in enumerate(self.every):
            own = slice(int(starts[c]), int(starts[c + 1]))
            kind, paid = self.arcs.kind[own], self.arcs.cost[own]
            if len(kind):
                best = float((paid + kind_price[kind]).min())
                better = np.flatnonzero(cost + kind_price[near] < best - _TINY)[:_MOST_ADDED]
                kind, paid = np.append(kind, near[better]), np.append(paid, cost[better])
                more += len(better)
            kinds.append(kind)
            costs.append(paid)
        if not more:
            return None
        return replace(self, arcs=_arcs(kinds, costs))


@dataclass(frozen=True, slots=True)
class Offers:
    """Every kind that a class may take, and its cost there, worked out class by class."""

    problem: Problem
    kinds: Kinds
    eligible: Eligible
    labour: Labour

    def __iter__(self) -> Iterator[tuple[Ints, Ints]]:
        """Give for each class its kinds and what each costs."""
        for wanted, near in zip(self.problem.classes.pitch, self.eligible, strict=True):
            labour = self.labour.units(wanted - self.kinds.pitch[near])
            yield near, self.kinds.price[near] + labour


def _some(cost: Ints, most: int) -> Ints:
    """Pick the cheapest kinds, and as many others spread evenly: not all can have the cheapest."""
    cheapest = np.argpartition(cost, most // 2)[: most // 2]
    spread = np.linspace(0, len(cost) - 1, most - most // 2).astype(np.int64)
    return np.union1d(cheapest, spread)


def market_of(
    problem: Problem,
    kinds: Kinds,
    workshop: Workshop,
    seats: Ints | None = None,
    footholds: Callable[[], Mapping[int, Sequence[int]]] = dict,
) -> Market:
    """Return what plates cost where.

    Parameters
    ----------
    problem, kinds, workshop
        Who wants what, and what there is.
    seats : array of int, shape (classes,)
        About how many seats of each class will be filled: where there are too many pairs, only
        some times as many kinds are looked at for each class. All are where this is not given.
    footholds : callable
        Gives kinds that each class must keep then, so that its seats can be filled for certain.
    """
    eligible = Eligible(problem, workshop, kinds.pitch, kinds.slot, kinds.mount, kinds.arrival)
    offers = Offers(problem, kinds, eligible, labour_of(workshop))
    few = seats is not None and eligible.most_pairs() > MOST_ARCS
    wanted = np.zeros(len(problem.classes), dtype=np.int64) if seats is None else seats
    must = footholds() if few else {}
    near, costs = [], []
    for c, ((kind, cost), many) in enumerate(zip(offers, wanted.tolist(), strict=True)):
        if few and len(kind) > (most := _FEWEST_KINDS + _TIMES_WANTED * many):
            chosen = np.union1d(_some(cost, most), np.flatnonzero(np.isin(kind, must.get(c, ()))))
            kind, cost = kind[chosen], cost[chosen]
        near.append(kind)
        costs.append(cost)
    arcs = _arcs(near, costs)
    return Market(arcs, kinds.stock, kinds.walk, len(near), offers if few else None)


def _arcs(kinds: Sequence[Ints], costs: Sequence[Ints]) -> Arcs:
    """Join what each class may take into one list of arcs."""
    nothing = np.zeros(0, dtype=np.int64)
    seat = np.repeat(np.arange(len(kinds), dtype=np.int64), [len(kind) for kind in kinds])
    return Arcs(seat, np.concatenate([nothing, *kinds]), np.concatenate([nothing, *costs]))
