"""Turns among like orders: the earlier due ships first even where expected plates tell them apart.

Orders for the same thing fall into different groups when some expected plates come too late for the
earlier one. Of such orders the earlier due is served, if that costs nothing and breaks nothing.
"""

from collections import defaultdict
from dataclasses import dataclass
from typing import Final

import numpy as np

from combwright.allocation.hall import HallOracle
from combwright.allocation.market import Market
from combwright.allocation.placing import cheapest
from combwright.allocation.polishing import Polished
from combwright.allocation.problem import Ints, Problem

_Like = tuple[tuple[tuple[int, ...], ...], int, int]
#: Tries at the most; each is a placement.
_MOST_TRIES: Final = 200


@dataclass(slots=True)
class _Turns:
    problem: Problem
    oracle: HallOracle
    market: Market
    best: Polished
    tries: int = 0

    def swap(self, earlier: int, later: int) -> bool:
        """Serve one order of the earlier group instead of one of the later, if that is free."""
        self.tries += 1
        served = self.best.served.copy()
        served[[earlier, later]] += [1, -1]
        demand = self.problem.demand(served)
        if self.oracle.violated(demand):
            return False
        seats = demand[: len(self.problem.classes)].astype(np.int64)
        placed = cheapest(self.market.arcs, seats, self.market.stock)
        if placed is None or placed.cost > self.best.placed.cost:
            return False
        saved = self.best.placed.cost - placed.cost
        self.best = Polished(served, placed, self.best.cost - saved, self.best.bound)
        return True


def in_turn(problem: Problem, oracle: HallOracle, market: Market, polished: Polished) -> Polished:
    """Give orders that differ in nothing but their day the turn that their day gives them."""
    if not problem.arrivals:
        return polished
    turns = _Turns(problem, oracle, market, polished)
    for alike in _alike(problem).values():
        for earlier in alike:
            for later in reversed(alike):
                while _jumped(problem, turns.best.served, earlier, later):
                    if turns.tries >= _MOST_TRIES or not turns.swap(earlier, later):
                        break
    return turns.best


def _alike(problem: Problem) -> dict[_Like, list[int]]:
    """Return groups that want the same at the same worth, those with earlier days first."""
    groups, classes = problem.groups, problem.classes
    rows = np.stack([classes.pitch, classes.takes, classes.mount], axis=1).tolist()
    rows += [[-1 - n, 0, 0] for n in range(len(problem.parts))]
    found: dict[_Like, list[int]] = defaultdict(list)
    for group in range(len(groups)):
        own = slice(groups.start[group], groups.start[group + 1])
        pairs = zip(groups.column[own].tolist(), groups.amount[own].tolist(), strict=True)
        bag = tuple(sorted((*rows[column], amount) for column, amount in pairs))
        key = (bag, int(groups.value[group]), int(groups.priority[group]))
        found[key].append(group)
    return {key: sorted(each, key=lambda g: _rank(problem, g)) for key, each in found.items()}


def _rank(problem: Problem, group: int) -> int:
    columns = problem.groups.column[problem.groups.start[group] : problem.groups.start[group + 1]]
    seats: Ints = columns[columns < len(problem.classes)]
    return int(problem.classes.due[seats].max(initial=0))


def _jumped(problem: Problem, served: Ints, earlier: int, later: int) -> bool:
    """Say whether an order of the earlier group waits while one of the later ships."""
    if _rank(problem, earlier) >= _rank(problem, later):
        return False
    groups = problem.groups
    return bool(served[earlier] < groups.size[earlier] and served[later] > groups.floor[later])
