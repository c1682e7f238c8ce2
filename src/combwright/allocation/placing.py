"""Which plate goes into which seat: the cheapest way to fill given numbers of seats.

A transport problem, solved as a minimum-cost flow from classes to kinds [flows]. The prices that go
with it say what one more seat of a class would cost, which is what choosing cheaper orders needs.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from ortools.graph.python.min_cost_flow import SimpleMinCostFlow

from combwright.allocation.market import Arcs, Market
from combwright.allocation.problem import Floats, Ints

#: The flow solver multiplies costs by the number of nodes and adds them up along paths.
_LARGEST_PATH_COST: Final = 1 << 61


@dataclass(frozen=True, slots=True)
class Placement:
    """How many plates each arc carries, shape (arcs,), and what they cost in millionths."""

    flow: Ints
    cost: int


@dataclass(frozen=True, slots=True)
class Prices:
    """What one more seat of a class costs, and what one plate more of a kind would save.

    Parameters
    ----------
    seat, kind : arrays, shape (classes,), (kinds,)
        In millionths. For any numbers of seats `y` the cost is at least
        `seat @ y - kind @ stock`.
    """

    seat: Floats
    kind: Floats


def cheapest(arcs: Arcs, demand: Ints, stock: Ints, *, tie: Ints | None = None) -> Placement | None:
    """Fill seats at the least cost.

    Parameters
    ----------
    arcs : Arcs
        What may go where.
    demand, stock : arrays of int, shape (classes,), (kinds,)
        Seats to fill, and plates there are.
    tie : array of int, shape (kinds,)
        Smaller is better among equally cheap answers, as far as numbers of 64 bits allow.

    Returns
    -------
    Placement or None
        None when the seats cannot all be filled.
    """
    used = np.flatnonzero(demand[arcs.seat] > 0)
    total = int(demand.sum())
    if not len(used):
        return Placement(np.zeros(len(arcs.seat), dtype=np.int64), 0) if not total else None
    seat, kind, cost = arcs.seat[used], arcs.kind[used], arcs.cost[used]
    cost = cost // _unit(arcs.cost)
    if tie is not None and ties_fit(arcs, demand, tie):
        cost = cost * _tie_scale(demand, tie) + tie[kind]
    flow = _solve(seat, kind, cost, np.minimum(demand[seat], stock[kind]), demand, stock)
    if flow is None:
        return None
    carried = np.zeros(len(arcs.seat), dtype=np.int64)
    carried[used] = flow
    return Placement(carried, int(arcs.cost @ carried))


def cheapest_keeping(arcs: Arcs, demand: Ints, stock: Ints, reserved: Ints) -> Placement:
    """Fill seats so that as many plates as possible stay where they are, then at the least cost.

    Parameters
    ----------
    arcs, demand, stock
        As for `cheapest`; the seats can all be filled.
    reserved : array of int, shape (arcs,)
        How many plates lie on each arc already.
    """
    stays, nodes = np.flatnonzero(reserved), len(demand) + len(stock) + 1
    unit = _unit(arcs.cost)
    dearest = int(arcs.cost.max(initial=0)) // unit + 1
    # One plate that stays must outweigh any saving; no more than 64 bits hold, though.
    bonus = min(dearest * int(demand.sum()) + 1, _LARGEST_PATH_COST // (nodes * nodes))
    pick = np.concatenate([np.arange(len(arcs.seat)), stays])
    cost = arcs.cost[pick] // unit
    cost[len(arcs.seat) :] -= bonus
    most = np.concatenate([np.minimum(demand[arcs.seat], stock[arcs.kind]), reserved[stays]])
    flow = _solve(arcs.seat[pick], arcs.kind[pick], cost, most, demand, stock)
    if flow is None:
        raise AssertionError("the seats were said to be fillable")
    carried = flow[: len(arcs.seat)].copy()
    carried[stays] += flow[len(arcs.seat) :]
    return Placement(carried, int(arcs.cost @ carried))


def transport(seat: Ints, kind: Ints, cost: Ints, demand: Ints, stock: Ints) -> Ints | None:
    """Return the cheapest flow over arcs, shape (arcs,), or None when seats stay empty.

    Parameters
    ----------
    seat, kind, cost : arrays of int, shape (arcs,)
        Ends of each arc, and what one plate costs there.
    demand, stock : arrays of int, shape (seats,), (kinds,)
        Plates wanted, and plates there are.
    """
    unit = _unit(cost)
    most = np.minimum(demand[seat], stock[kind])
    return _solve(seat, kind, cost // unit, most, demand, stock)


def ties_fit(arcs: Arcs, demand: Ints, tie: Ints) -> bool:
    """Say whether `cheapest` can heed a tie among equally cheap answers: 64 bits must hold it."""
    nodes = len(demand) + len(tie) + 1
    unit = _unit(arcs.cost)
    largest = _tie_scale(demand, tie) * (int(arcs.cost.max(initial=0)) // unit + 1)
    return largest <= _LARGEST_PATH_COST // (nodes * nodes)


def _tie_scale(demand: Ints, tie: Ints) -> int:
    return int(demand.sum()) * int(tie.max(initial=0)) + 1


def _unit(cost: Ints) -> int:
    """Return the largest whole number that divides all costs."""
    return int(np.gcd.reduce(cost, initial=0)) or 1


def _solve(
    seat: Ints, kind: Ints, cost: Ints, most: Ints, demand: Ints, stock: Ints
) -> Ints | None:
    solver = SimpleMinCostFlow()
    seats, kinds = len(demand), len(stock)
    sink = seats + kinds
    arcs = solver.add_arcs_with_capacity_and_unit_cost(
        seat.astype(np.int32), (kind + seats).astype(np.int32), most, cost,
    )  # fmt: skip
    solver.add_arcs_with_capacity_and_unit_cost(
        np.arange(seats, sink, dtype=np.int32),
        np.full(kinds, sink, dtype=np.int32), stock, np.zeros(kinds, dtype=np.int64),
    )  # fmt: skip
    supplies = np.concatenate([demand, np.zeros(kinds, dtype=np.int64), [-demand.sum()]])
    solver.set_nodes_supplies(np.arange(sink + 1, dtype=np.int32), supplies)
    if solver.solve() != solver.OPTIMAL:
        return None
    return np.asarray(solver.flows(arcs), dtype=np.int64)


def prices_of(market: Market, placed: Placement) -> Prices:
    """Return the smallest prices that make a cheapest placement the cheapest.

    Kinds start at price 0; a kind that some seat would rather have than the plate it got becomes
    dearer until no seat would change, which ends because the placement is the cheapest.
    """
    arcs, classes, kinds = market.arcs, market.classes, len(market.stock)
    kind_price = np.zeros(kinds)
    carrying = placed.flow > 0
    seat_on, kind_on, cost_on = arcs.seat[carrying], arcs.kind[carrying], arcs.cost[carrying]
    wanted = np.full(classes, -np.inf)
    order = np.argsort(arcs.kind, kind="stable")
    seat, cost = arcs.seat[order], arcs.cost[order].astype(float)
    present, first = np.unique(arcs.kind[order], return_index=True)
    for _ in range(4 * (classes + kinds)):
        wanted[:] = -np.inf
        np.maximum.at(wanted, seat_on, cost_on + kind_price[kind_on])
        raised = np.maximum(np.maximum.reduceat(wanted[seat] - cost, first), 0.0)
        if np.array_equal(raised, kind_price[present]):
            break
        kind_price[present] = raised
    return Prices(market.seat_prices(kind_price), kind_price)
