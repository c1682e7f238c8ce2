"""What is missing: the sets of seats and parts that want more than what serves them.

All open orders together may want so much that one set takes in the whole rack, which helps nobody.
So the sets that want most for what there is are looked for first, and a wider set is named only for
orders that no narrower one explains.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from combwright.allocation.answer import Shortage
from combwright.allocation.hall import HallOracle, HallSet
from combwright.allocation.orders import Order
from combwright.allocation.problem import Floats, Ints, Problem
from combwright.allocation.wording import describe, listed, plates_in_words

#: How many times over a set must be wanted to be found at each look.
_TIMES_WANTED: Final = (16.0, 8.0, 5.0, 3.5, 2.5, 2.0, 1.7, 1.4, 1.25, 1.12, 1.05, 1.0)


@dataclass(frozen=True, slots=True)
class _Waiting:
    """Orders that are not ready, as places, by group."""

    places: tuple[tuple[int, ...], ...]

    def touching(self, use: Ints) -> set[int]:
        """Return the places of waiting orders that use some of a set."""
        return {place for group in np.flatnonzero(use) for place in self.places[group]}


def shortages_of(
    problem: Problem, oracle: HallOracle, orders: Sequence[Order], served: Ints
) -> tuple[Shortage, ...]:
    """Return the sets that keep open orders from being ready, the largest first.

    Each set wants more than what serves it when all open orders are counted. Together the sets
    touch every order that waits: one that touched none of them could be built beside the others.

    Parameters
    ----------
    problem, oracle, orders
        As planned.
    served : array of int, shape (groups,)
        How many orders of each group are ready.
    """
    groups = problem.groups
    demand = problem.demand(groups.size)
    members = zip(groups.members, served.tolist(), strict=True)
    waiting = _Waiting(tuple(each[count:] for each, count in members))
    found = []
    for hall_set, places in _telling(problem, oracle, demand, waiting):
        names = tuple(dict.fromkeys(orders[place].name for place in sorted(places)))
        found.append(shortage_of(problem, hall_set, demand, names))
    return tuple(sorted(found, key=lambda each: (-each.missing, each.text)))


def _telling(
    problem: Problem, oracle: HallOracle, demand: Floats, waiting: _Waiting
) -> Iterable[tuple[HallSet, set[int]]]:
    """Give sets, the most wanted first, that explain orders which no earlier one explained.

    A note that nothing at all serves is always given: it has to come in, whatever else is missing.
    """
    unexplained = {place for places in waiting.places for place in places}
    told: set[bytes] = set()
    for times in _TIMES_WANTED:
        broken = [
            part for each in oracle.violated(demand / times) for part in _parted(problem, each)
        ]
        for hall_set in sorted(broken, key=lambda each: int(each.columns.sum())):
            touched = waiting.touching(problem.use_of(hall_set.columns))
            name = hall_set.columns.tobytes()
            if name not in told and touched and (touched & unexplained or not hall_set.stock):
                yield hall_set, touched
                told.add(name)
                unexplained -= touched
        if not unexplained:
            return


def _parted(problem: Problem, hall_set: HallSet) -> list[HallSet]:
    """Split a set that nothing serves note by note: each note is a shortage of its own."""
    first = len(problem.classes)
    if hall_set.stock or not hall_set.columns[:first].any():
        return [hall_set]
    notes: dict[int, list[int]] = {}
    for column in np.flatnonzero(hall_set.columns[:first]).tolist():
        notes.setdefault(problem.wants[column][0].midi, []).append(column)
    every = np.arange(len(hall_set.columns))
    return [HallSet(np.isin(every, columns), 0) for _, columns in sorted(notes.items())]


def shortage_of(
    problem: Problem, hall_set: HallSet, demand: Floats, names: tuple[str, ...] = ()
) -> Shortage:
    """Return a set that wants too much as people read it, with the orders that wait for it.

    Parameters
    ----------
    problem, hall_set
        The set.
    demand : array, shape (classes + parts,)
        How many of each class and part are wanted.
    names : tuple of str
        The orders; none where it is one wish that asks.
    """
    wanted = int(demand[hall_set.columns].sum())
    missing = wanted - hall_set.stock
    described = describe(problem, hall_set, wanted=demand > 0)
    verb = "is" if missing == 1 else "are"
    waits = f"; {_waiters(names)}" if names else ""
    return Shortage(
        missing=missing,
        pitches=described.pitches,
        holes=described.holes,
        parts=described.parts,
        orders=names,
        text=(
            f"{plates_in_words(missing, described)} {verb} missing "
            f"({wanted} wanted, {hall_set.stock} there){waits}."
        ),
    )


def _waiters(names: tuple[str, ...]) -> str:
    return f"order {names[0]} waits" if len(names) == 1 else f"orders {listed(names)} wait"
