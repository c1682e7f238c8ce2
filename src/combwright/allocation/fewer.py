"""Fewer batches in one instrument, whatever else has to change places, as long as it costs nothing.

Handing out exchanges two plates at a time. Where that leaves an instrument of several batches, one
more placement tells whether some smaller set of batches serves it at the same total cost.
"""

import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, islice
from typing import Final

import numpy as np

from combwright.allocation.handing import Handing
from combwright.allocation.placing import transport
from combwright.allocation.problem import Ints
from combwright.allocation.shelf import Shelf

#: Sets of batches that are tried for one instrument.
_MOST_SETS: Final = 24


@dataclass(slots=True)
class Frugal:
    """Hands out plates as `Handing` does, then tries smaller sets of batches until a time."""

    handing: Handing
    until: float

    def give(self, seats: Sequence[int]) -> list[int]:
        """Take a plate for each seat of one instrument; see `Handing.give`."""
        shelf = self.handing.shelf
        given = self.handing.give(seats)
        used = {shelf.problem.bins[plate].batch for plate in given}
        if len(used) < 2 or time.monotonic() > self.until:
            return given
        for seat, plate in zip(seats, given, strict=True):
            shelf.move(seat, plate, 1)
        trial = _Trial(shelf, seats)
        for batches in islice(self._smaller(seats, len(used)), _MOST_SETS):
            better = trial.give(batches)
            if better is not None:
                return better
            if time.monotonic() > self.until:
                break
        for seat, plate in zip(seats, given, strict=True):
            shelf.move(seat, plate, -1)
        return given

    def _smaller(self, seats: Sequence[int], used: int) -> Iterator[tuple[str, ...]]:
        """Return sets of fewer batches, each of which could serve every seat by itself."""
        choices = [set(self.handing.shelf.batches(seat)) for seat in set(seats)]
        every = sorted(set().union(*choices))
        for size in range(1, used):
            for batches in combinations(every, size):
                if all(each.intersection(batches) for each in choices):
                    yield batches


class _Trial:
    """Everything still on the shelf placed anew, one instrument's seats apart from the others."""

    def __init__(self, shelf: Shelf, seats: Sequence[int]) -> None:
        self.shelf, self.seats = shelf, seats
        self.classes = len(shelf.pool)
        self.own = sorted(set(seats))
        total = np.array([pool.total() for pool in shelf.pool], dtype=np.int64)
        mine = np.array([list(seats).count(seat) for seat in self.own], dtype=np.int64)
        total[self.own] -= mine
        self.demand = np.concatenate([total, mine])
        self.stock = np.zeros(len(shelf.kinds.stock), dtype=np.int64)
        self.cost = 0
        for plate, kind in enumerate(shelf.kind_of):
            users = shelf.users[plate]
            self.stock[kind] += shelf.idle[plate] + sum(users.values())
            self.cost += sum(many * shelf.costs(seat)[kind] for seat, many in users.items())

    def give(self, batches: Sequence[str]) -> list[int] | None:
        """Return plates of these batches for the seats; None when that would cost more."""
        arcs, kinds = self.shelf.arcs, self.shelf.kinds
        names = [self.shelf.problem.bins[members[0]].batch for members in kinds.bins]
        allowed = np.isin(names, list(batches))
        pick = [np.flatnonzero(self.demand[arcs.seat] > 0)]
        apart = [arcs.seat[pick[0]]]
        for number, seat in enumerate(self.own):
            mine = np.flatnonzero((arcs.seat == seat) & allowed[arcs.kind])
            pick.append(mine)
            apart.append(np.full(len(mine), self.classes + number, dtype=np.int64))
        arc, seat_node = np.concatenate(pick), np.concatenate(apart)
        flow = transport(seat_node, arcs.kind[arc], arcs.cost[arc], self.demand, self.stock)
        if flow is None or int(arcs.cost[arc] @ flow) > self.cost:
            return None
        return self._settle(arcs.kind[arc], seat_node, flow)

    def _settle(self, kind: Ints, seat_node: Ints, flow: Ints) -> list[int]:
        """Put the new placement on the shelf and take the instrument's plates off it."""
        shelf = self.shelf
        shelf.clear()
        mine: dict[int, list[int]] = {seat: [] for seat in self.own}
        for arc in np.flatnonzero(flow).tolist():
            node, many = int(seat_node[arc]), int(flow[arc])
            for plate, taken in shelf.take_idle(int(kind[arc]), many):
                if node < self.classes:
                    shelf.move(node, plate, taken)
                else:
                    mine[self.own[node - self.classes]] += [plate] * taken
        return [mine[seat].pop() for seat in self.seats]
