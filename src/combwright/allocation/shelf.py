"""Plates placed but not yet handed out: which bins serve a class, what may change places."""

import heapq
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from combwright.allocation.costs import Kinds
from combwright.allocation.market import Arcs
from combwright.allocation.placing import Placement
from combwright.allocation.problem import Problem


@dataclass(frozen=True, slots=True)
class Swap:
    """Two plates that may change places at no cost.

    Parameters
    ----------
    mine, other : int
        The bin of the plate given up and of the one taken instead.
    holder : int or None
        The class that holds the other plate; None when it lies idle.
    """

    mine: int
    other: int
    holder: int | None


@dataclass(slots=True)
class Shelf:
    """Plates still to be handed out, bin by bin.

    Parameters
    ----------
    problem, kinds, arcs
        What the placement was made from.
    pool : list of Counters
        For each class: how many plates of each bin were placed there.
    users : mapping of bin to Counter
        For each bin: how many of its plates were placed in each class.
    idle : list of int
        For each bin: how many of its plates were placed nowhere.
    kind_of, walk : lists of int
        For each bin: its kind, and its place on the walk.
    batch : list of str
        For each bin: its batch.
    there : list of Counters
        For each class: how many plates of each batch were placed there.
    starts : list of int
        Where each class's arcs begin.
    """

    problem: Problem
    kinds: Kinds
    arcs: Arcs
    pool: list[Counter[int]]
    users: dict[int, Counter[int]]
    idle: list[int]
    kind_of: list[int]
    walk: list[int]
    batch: list[str]
    there: list[Counter[str]]
    starts: list[int]
    _queues: dict[tuple[int, str], list[tuple[int, int]]] = field(default_factory=dict)
    _costs: dict[int, dict[int, int]] = field(default_factory=dict)
    _batches: dict[int, dict[str, list[int]]] = field(default_factory=dict)

    def costs(self, seat: int) -> Mapping[int, int]:
        """Return what each kind that may go into a class costs there, in millionths."""
        if seat not in self._costs:
            own = slice(self.starts[seat], self.starts[seat + 1])
            pairs = zip(self.arcs.kind[own].tolist(), self.arcs.cost[own].tolist(), strict=True)
            self._costs[seat] = dict(pairs)
        return self._costs[seat]

    def batches(self, seat: int) -> Mapping[str, list[int]]:
        """Return the bins that may serve a class, by batch, each in walking order."""
        if seat not in self._batches:
            found: dict[str, list[int]] = defaultdict(list)
            plates = (plate for kind in self.costs(seat) for plate in self.kinds.bins[kind])
            for plate in sorted(plates, key=self.walk.__getitem__):
                found[self.batch[plate]].append(plate)
            self._batches[seat] = dict(found)
        return self._batches[seat]

    def move(self, seat: int, plate: int, by: int) -> None:
        """Place one plate more, or one less, of a bin in a class."""
        pool, users, batch = self.pool[seat], self.users[plate], self.batch[plate]
        if by > 0 and plate not in pool:
            queue = self._queues.setdefault((seat, batch), [])
            heapq.heappush(queue, (self.walk[plate], plate))
        pool[plate] += by
        users[seat] += by
        self.there[seat][batch] += by
        if not pool[plate]:
            del pool[plate]
            del users[seat]
            if not self.there[seat][batch]:
                del self.there[seat][batch]

    def first(self, seat: int, batch: str) -> int | None:
        """Return the bin of a batch that comes first on the walk in a class, None for none."""
        queue = self._queues.get((seat, batch), [])
        while queue and queue[0][1] not in self.pool[seat]:
            heapq.heappop(queue)
        return queue[0][1] if queue else None

    def swap(self, swap: Swap) -> None:
        """Let two plates change places for a seat, which takes the other plate away."""
        if swap.holder is None:
            self.idle[swap.other] -= 1
            self.idle[swap.mine] += 1
        else:
            self.move(swap.holder, swap.other, -1)
            self.move(swap.holder, swap.mine, 1)

    def clear(self) -> None:
        """Take every plate out of its class; all lie idle then."""
        for plate, users in self.users.items():
            self.idle[plate] += users.total()
            users.clear()
        for pool, there in zip(self.pool, self.there, strict=True):
            pool.clear()
            there.clear()
        self._queues.clear()

    def take_idle(self, kind: int, many: int) -> Iterator[tuple[int, int]]:
        """Take so many idle plates of a kind, along the walk; give each bin and how many."""
        for plate in self.kinds.bins[kind]:
            taken = min(many, self.idle[plate])
            if taken:
                self.idle[plate] -= taken
                many -= taken
                yield plate, taken
            if not many:
                return

    def free_swap(self, seat: int, batch: str) -> Swap | None:
        """Find a plate of a batch that a class may have for one of its own at no cost."""
        costs = self.costs(seat)
        for other in self.batches(seat).get(batch, ()):
            gets = costs[self.kind_of[other]]
            for mine in self.pool[seat]:
                saved = costs[self.kind_of[mine]] - gets
                if self.idle[other] > 0 and not saved:
                    return Swap(mine, other, None)
                for holder in self.users.get(other, ()):
                    if holder != seat and self._costs_more(holder, mine, other) == saved:
                        return Swap(mine, other, holder)
        return None

    def _costs_more(self, seat: int, plate: int, than: int) -> int | None:
        costs = self.costs(seat)
        cost = costs.get(self.kind_of[plate])
        return None if cost is None else cost - costs[self.kind_of[than]]


def shelf_of(
    problem: Problem,
    kinds: Kinds,
    arcs: Arcs,
    placed: Placement,
    *,
    idle: Sequence[int] | None = None,
) -> Shelf:
    """Split a placement's flow among the bins of each kind, in walking order.

    `idle` says how many plates each bin has for it; all of them when it is not given.
    """
    kind_of = [0] * len(problem.bins)
    for kind, members in enumerate(kinds.bins):
        for plate in members:
            kind_of[plate] = kind
    shelf = Shelf(
        problem=problem,
        kinds=kinds,
        arcs=arcs,
        pool=[Counter() for _ in range(len(problem.classes))],
        users=defaultdict(Counter),
        idle=[each.count for each in problem.bins] if idle is None else list(idle),
        kind_of=kind_of,
        walk=kinds.turn.tolist(),
        batch=[each.batch for each in problem.bins],
        there=[Counter() for _ in range(len(problem.classes))],
        starts=np.searchsorted(arcs.seat, np.arange(len(problem.classes) + 1)).tolist(),
    )
    for arc in np.flatnonzero(placed.flow).tolist():
        for plate, taken in shelf.take_idle(int(arcs.kind[arc]), int(placed.flow[arc])):
            shelf.move(int(arcs.seat[arc]), plate, taken)
    return shelf
