"""A way to fill every seat, whatever it costs, found on the merged network.

Where there are too many pairs of classes and kinds to look at, only some are. Those that this way
uses are always among them, so that the seats can be filled for certain.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator

import numpy as np

from combwright.allocation.costs import Kinds
from combwright.allocation.hall import Supply
from combwright.allocation.placing import transport
from combwright.allocation.problem import Ints, Problem


def footholds(problem: Problem, supply: Supply, kinds: Kinds, seats: Ints) -> dict[int, list[int]]:
    """Return for each class the kinds that one way of filling all seats takes.

    Parameters
    ----------
    problem, supply, kinds
        Who wants what, the merged network, and what there is.
    seats : array of int, shape (classes,)
        Seats to fill; they break no Hall set.
    """
    wanted = np.bincount(supply.class_node, seats, supply.classes).astype(np.int64)
    free = np.zeros(len(supply.tail), dtype=np.int64)
    flow = transport(supply.tail, supply.head, free, wanted, supply.stock)
    if flow is None:
        raise AssertionError("no Hall set is broken, yet the seats cannot be filled")
    given = _given(supply, kinds, flow, _mean_pitch(problem, supply))
    classes: dict[int, list[int]] = defaultdict(list)
    for c in np.argsort(problem.classes.pitch, kind="stable").tolist():
        classes[int(supply.class_node[c])].append(c)
    found: dict[int, list[int]] = defaultdict(list)
    for node, plates in given.items():
        plates.sort(key=lambda pair: int(kinds.pitch[pair[0]]))
        takers = [(c, int(seats[c])) for c in classes[node]]
        for kind, c, _many in _side_by_side(plates, takers):
            found[c].append(kind)
    return found


def _mean_pitch(problem: Problem, supply: Supply) -> np.ndarray:
    many = np.bincount(supply.class_node, minlength=supply.classes)
    total = np.bincount(supply.class_node, problem.classes.pitch, supply.classes)
    return np.asarray(total / np.maximum(many, 1))


def _given(
    supply: Supply, kinds: Kinds, flow: Ints, height: np.ndarray
) -> dict[int, list[tuple[int, int]]]:
    """Cut every merged kind's plates, low to high, into blocks for the merged classes it serves."""
    plates: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for kind in np.argsort(kinds.pitch, kind="stable").tolist():
        node = int(supply.bin_node[kinds.bins[kind][0]])
        plates[node].append((kind, int(kinds.stock[kind])))
    takers: dict[int, list[tuple[int, int]]] = defaultdict(list)
    used = np.flatnonzero(flow)
    for arc in used[np.argsort(height[supply.tail[used]], kind="stable")].tolist():
        takers[int(supply.head[arc])].append((int(supply.tail[arc]), int(flow[arc])))
    given: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for node, wants in takers.items():
        for kind, taker, many in _side_by_side(plates[node], wants):
            given[taker].append((kind, many))
    return given


def _side_by_side(
    plates: Iterable[tuple[int, int]], takers: Iterable[tuple[int, int]]
) -> Iterator[tuple[int, int, int]]:
    """Hand plates to takers, both in their order; give kind, taker and number of each block."""
    supply = iter(plates)
    kind, left = next(supply, (0, 0))
    for taker, wanted in takers:
        while wanted:
            while not left:
                kind, left = next(supply)
            many = min(left, wanted)
            yield kind, taker, many
            left -= many
            wanted -= many
