"""Hall's condition: a set of seat classes may not want more plates than all kinds that serve it.

Demands can be met exactly when no set breaks the condition [hall]; one maximum flow finds a set
that does. Plates that serve the same classes are one kind, and classes served by the same kinds
are one, so the network does not grow with the number of plates.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from ortools.graph.python.max_flow import SimpleMaxFlow

from combwright.allocation.eligible import Eligible, reach
from combwright.allocation.problem import NANOMETRES, Floats, Ints, Problem
from combwright.allocation.workshop import Workshop

#: Fractional demands are counted in parts of this.
_GRAIN: Final = 1 << 16
_TINY: Final = 1e-6


@dataclass(frozen=True, slots=True)
class HallSet:
    """Classes and parts that may together use no more than what serves them.

    Parameters
    ----------
    columns : array of bool, shape (classes + parts,)
        Which.
    stock : int
        How many plates or parts serve at least one of them.
    """

    columns: NDArray[np.bool_]
    stock: int


@dataclass(frozen=True, slots=True)
class Supply:
    """Who serves whom, merged.

    Parameters
    ----------
    class_node : array, shape (classes,)
        The merged class of each class.
    classes : int
        How many merged classes there are.
    tail, head : arrays, shape (arcs,)
        Merged class and merged kind of each pair that fits.
    stock : array, shape (kinds,)
        Plates of each merged kind; only kinds that serve someone.
    bin_node : array, shape (bins,)
        The merged kind of each bin; -1 for one that serves nobody.
    """

    class_node: Ints
    classes: int
    tail: Ints
    head: Ints
    stock: Ints
    bin_node: Ints


def merged_supply(problem: Problem, workshop: Workshop) -> Supply:
    """Merge plates by the classes they serve and classes by the plates that serve them."""
    cells, stock, cell_of = _cells(problem, workshop)
    pitch, slot, mount, arrival = cells.T
    tail, head = Eligible(problem, workshop, pitch, slot, mount, arrival).pairs()
    kind_node, kinds = _same_neighbours(head, tail, len(stock))
    class_node, classes = _same_neighbours(tail, kind_node[head], len(problem.classes))
    merged_tail, merged_head = _distinct(class_node[tail], kind_node[head])
    serving = np.unique(merged_head)
    total = np.bincount(kind_node, stock, kinds).astype(np.int64)
    number = np.full(kinds, -1, dtype=np.int64)
    number[serving] = np.arange(len(serving))
    return Supply(
        class_node=class_node,
        classes=classes,
        tail=merged_tail,
        head=number[merged_head],
        stock=total[serving],
        bin_node=number[kind_node[cell_of]],
    )


def _cells(problem: Problem, workshop: Workshop) -> tuple[Ints, Ints, Ints]:
    """Sort plates that no class can tell apart into cells.

    Returns
    -------
    (array of shape (cells, 4), array of shape (cells,), array of shape (bins,))
        Pitch, slot, mount and arrival of each cell; its plates; and the cell of each bin.
    """
    classes, (up, down) = problem.classes, reach(workshop)
    table = np.array(
        [
            (
                b.pitch_mc,
                round(b.slot_mm * NANOMETRES),
                1 if b.mount == "front" else 2,
                0 if b.arrives is None else problem.arrivals.index(b.arrives) + 1,
                b.count,
            )
            for b in problem.bins
        ],
        dtype=np.int64,
    ).reshape(-1, 5)
    edges = np.unique(np.concatenate([classes.pitch - up, classes.pitch + down + 1]))
    slots = np.unique(classes.takes)
    key = np.stack(
        [
            np.searchsorted(edges, table[:, 0], side="right"),
            np.searchsorted(slots, table[:, 1]),
            table[:, 2],
            table[:, 3],
        ],
        axis=1,
    )
    _, first, cell = np.unique(key, axis=0, return_index=True, return_inverse=True)
    count = np.bincount(cell.ravel(), table[:, 4], len(first)).astype(np.int64)
    return table[first, :4], count, cell.ravel().astype(np.int64)


def _same_neighbours(node: Ints, neighbour: Ints, nodes: int) -> tuple[Ints, int]:
    """Give nodes with the same set of neighbours the same number; return how many there are.

    Sets are told apart by two sums of 63 random bits for each member.
    """
    inner, outer = _distinct(node, neighbour)
    most = int(outer.max(initial=-1)) + 1
    marks = np.random.default_rng(most).integers(0, 2**63, size=(2, most), dtype=np.uint64)
    sums = np.zeros((2, nodes), dtype=np.uint64)
    for side in range(2):
        np.add.at(sums[side], inner, marks[side][outer])
    order = np.lexsort((sums[1], sums[0]))
    new = np.any(np.diff(sums[:, order], axis=1) != 0, axis=0)
    number = np.empty(nodes, dtype=np.int64)
    number[order] = np.concatenate([[0], np.cumsum(new)])[:nodes]
    return number, int(number.max(initial=-1)) + 1


def _distinct(first: Ints, second: Ints) -> tuple[Ints, Ints]:
    """Drop pairs that occur again."""
    span = int(second.max(initial=0)) + 1
    return np.divmod(np.unique(first * span + second), span)


class HallOracle:
    """Finds the sets that break Hall's condition, given how many of each class are wanted."""

    def __init__(self, problem: Problem, workshop: Workshop) -> None:
        self.problem = problem
        self.supply = merged_supply(problem, workshop)
        self._flow, self._arcs = self._network()

    def _network(self) -> tuple[SimpleMaxFlow, NDArray[np.int32]]:
        supply, flow = self.supply, SimpleMaxFlow()
        kinds = len(supply.stock)
        source, sink = supply.classes + kinds, supply.classes + kinds + 1
        plenty = int(supply.stock.sum()) * _GRAIN + 1
        arcs = flow.add_arcs_with_capacity(
            np.full(supply.classes, source, dtype=np.int32),
            np.arange(supply.classes, dtype=np.int32),
            np.zeros(supply.classes, dtype=np.int64),
        )
        flow.add_arcs_with_capacity(
            supply.tail.astype(np.int32),
            (supply.head + supply.classes).astype(np.int32),
            np.full(len(supply.tail), plenty, dtype=np.int64),
        )
        flow.add_arcs_with_capacity(
            np.arange(supply.classes, supply.classes + kinds, dtype=np.int32),
            np.full(kinds, sink, dtype=np.int32),
            supply.stock * _GRAIN,
        )
        # With no plates at all the solver would not know the sink.
        flow.add_arc_with_capacity(source, sink, 0)
        return flow, arcs

    def violated(self, demand: Floats) -> list[HallSet]:
        """Return sets that want more than what serves them, split where they share no plate.

        Parameters
        ----------
        demand : array, shape (classes + parts,)
            How many are wanted; may be fractional.

        Returns
        -------
        list of HallSet
            Empty when the demand can be met.
        """
        return [*self._plates(demand[: len(self.problem.classes)]), *self._parts(demand)]

    def _parts(self, demand: Floats) -> list[HallSet]:
        first, every = len(self.problem.classes), np.arange(len(demand))
        short = np.flatnonzero(demand[first:] > self.problem.part_stock + _TINY)
        return [HallSet(every == first + n, int(self.problem.part_stock[n])) for n in short]

    def _plates(self, demand: Floats) -> list[HallSet]:
        supply = self.supply
        if not len(demand):
            return []
        wanted = np.bincount(supply.class_node, demand, supply.classes)
        grains = np.floor(wanted * _GRAIN).astype(np.int64)
        self._flow.set_arcs_capacity(self._arcs, grains)
        kinds = len(supply.stock)
        self._flow.solve(supply.classes + kinds, supply.classes + kinds + 1)
        if self._flow.optimal_flow() == int(grains.sum()):
            return []
        side = np.asarray(self._flow.get_source_side_min_cut(), dtype=np.int64)
        inside = side[side < supply.classes]
        return [
            each
            for each in (self._set_of(piece) for piece in self._pieces(inside))
            if demand[each.columns[: len(demand)]].sum() > each.stock + _TINY
        ]

    def _pieces(self, inside: Ints) -> list[Ints]:
        """Split merged classes into pieces that share no kind."""
        supply = self.supply
        label = np.full(supply.classes + len(supply.stock), -1, dtype=np.int64)
        label[inside] = inside
        arcs = np.isin(supply.tail, inside)
        tail, head = supply.tail[arcs], supply.head[arcs] + supply.classes
        label[head] = supply.classes + len(supply.stock)
        while True:
            before = label.copy()
            np.minimum.at(label, head, label[tail])
            np.minimum.at(label, tail, label[head])
            if np.array_equal(before, label):
                break
        return [inside[label[inside] == root] for root in np.unique(label[inside])]

    def _set_of(self, merged: Ints) -> HallSet:
        """Return the set of some merged classes and of all others that only their kinds serve.

        The others may want nothing today; with them the set still stands when they do. Classes
        that no kind serves make a set of their own.
        """
        supply = self.supply
        serves = np.zeros(len(supply.stock), dtype=bool)
        serves[supply.head[np.isin(supply.tail, merged)]] = True
        others = np.bincount(supply.tail, ~serves[supply.head], supply.classes)
        inside = others == 0
        if serves.any():
            inside &= np.bincount(supply.tail, minlength=supply.classes) > 0
        columns = np.zeros(len(self.problem.classes) + len(self.problem.parts), dtype=bool)
        columns[: len(self.problem.classes)] = inside[supply.class_node]
        return HallSet(columns, int(supply.stock[serves].sum()))
