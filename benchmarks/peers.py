"""What the planner is compared with: the compact model in a good solver, and two ways of a day.

First come, first served takes orders as the file has them; the greedy takes the highest priority
first and then the most value for a plate. Both look for a matching of each order's seats and kit
into what is left, cheapest plates first, and give the order up only when there is none.
"""

import time
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

import highspy
import numpy as np
from numpy.typing import NDArray

from benchmarks.greedy import Racks
from benchmarks.merging import Merged, merged
from combwright.allocation.orders import Order
from combwright.allocation.stock import Stock
from combwright.allocation.workshop import Workshop


@dataclass(frozen=True, slots=True)
class Outcome:
    """How well somebody did; a bound or cost that the method does not give is None."""

    value: Decimal
    seconds: float
    bound: float | None = None
    cost: Decimal | None = None
    shipped: int = 0
    remark: str = ""


def compact_highs(
    stock: Stock, orders: Sequence[Order], workshop: Workshop, *, seconds: float
) -> Outcome:
    """Ship the most value by one integer programme with a flow from kinds to classes."""
    start = time.perf_counter()
    model = merged(stock, orders, workshop)
    solver = _load(model)
    groups = len(model.opened)
    shipped = np.zeros(groups, np.int64)
    bound = 0.0
    for priority in np.unique(model.priorities):
        _aim_at(solver, model, priority)
        left = seconds - (time.perf_counter() - start)
        solver.setOptionValue("time_limit", solver.getRunTime() + max(0.1, left))
        solver.run()
        bound += solver.getInfo().mip_dual_bound
        in_class = model.priorities == priority
        found = np.round(solver.getSolution().col_value[:groups]).astype(np.int64)
        shipped[in_class] = found[in_class]
        _hold_to(solver, model, in_class, shipped)
    return Outcome(
        value=sum((v * int(z) for v, z in zip(model.exact, shipped, strict=True)), Decimal(0)),
        seconds=time.perf_counter() - start,
        bound=bound,
        shipped=int(shipped.sum()),
        remark=f"{groups:,} integers, {len(model.pairs):,} flows",
    )


def first_come(
    stock: Stock, orders: Sequence[Order], workshop: Workshop, *, seconds: float
) -> Outcome:
    """Serve the orders in the order of the file."""
    return _one_by_one(stock, orders, workshop, range(len(orders)), seconds)


def value_for_a_plate(
    stock: Stock, orders: Sequence[Order], workshop: Workshop, *, seconds: float
) -> Outcome:
    """Serve the highest priority first, then the most value for a plate."""
    plates = [sum(len(c.design.seats) + len(c.design.kit) for c in o.copies) for o in orders]
    worth = [float(o.value) / max(1, n) for o, n in zip(orders, plates, strict=True)]
    turn = sorted(range(len(orders)), key=lambda i: (orders[i].priority, -worth[i], i))
    return _one_by_one(stock, orders, workshop, turn, seconds)


def _one_by_one(
    stock: Stock,
    orders: Sequence[Order],
    workshop: Workshop,
    turn: Sequence[int],
    seconds: float,
) -> Outcome:
    start = time.perf_counter()
    racks = Racks(stock, orders, workshop)
    value, shipped, tried = Decimal(0), 0, 0
    for index in turn:
        if time.perf_counter() - start > seconds:
            break
        tried += 1
        if racks.serve(index):
            value += orders[index].value
            shipped += 1
    cut = "" if tried == len(orders) else f"cut off after {tried:,} of {len(orders):,} orders"
    taken = time.perf_counter() - start
    return Outcome(value=value, seconds=taken, cost=racks.spent, shipped=shipped, remark=cut)


def _load(model: Merged) -> highspy.Highs:
    """Columns: orders shipped of each group, then plates of each pair. Rows: kinds, classes."""
    groups, kinds, pairs = len(model.opened), len(model.supply), len(model.pairs)
    endless = highspy.kHighsInf
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = groups + pairs, kinds + model.classes
    lp.sense_ = highspy.ObjSense.kMaximize
    lp.col_cost_ = np.zeros(lp.num_col_)
    lp.col_lower_ = np.zeros(lp.num_col_)
    lp.col_upper_ = np.concatenate([np.zeros(groups), np.full(pairs, endless)])
    lp.row_lower_ = np.concatenate([np.full(kinds, -endless), np.zeros(model.classes)])
    lp.row_upper_ = np.concatenate([model.supply * 1.0, np.full(model.classes, endless)])
    integer, real = highspy.HighsVarType.kInteger, highspy.HighsVarType.kContinuous
    lp.integrality_ = [integer] * groups + [real] * pairs
    _set_matrix(lp, *_entries(model))
    solver = highspy.Highs()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("mip_rel_gap", 0.0)
    solver.passModel(lp)
    return solver


def _entries(
    model: Merged,
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.float64]]:
    """Return row, column and size of each entry: flows leave kinds, and cover what is shipped."""
    groups, kinds, pairs = len(model.opened), len(model.supply), len(model.pairs)
    flows = np.arange(pairs) + groups
    wanted = np.array(
        [(kinds + c, g, -n) for g, bag in enumerate(model.bags) for c, n in bag], np.int64
    ).reshape(-1, 3)
    rows = np.concatenate([model.pairs[:, 0], kinds + model.pairs[:, 1], wanted[:, 0]])
    columns = np.concatenate([flows, flows, wanted[:, 1]])
    return rows, columns, np.concatenate([np.ones(2 * pairs), wanted[:, 2]])


def _set_matrix(
    lp: highspy.HighsLp,
    rows: NDArray[np.int64],
    columns: NDArray[np.int64],
    entries: NDArray[np.float64],
) -> None:
    order = np.lexsort((rows, columns))
    lp.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    starts = np.searchsorted(columns[order], np.arange(lp.num_col_ + 1))
    lp.a_matrix_.start_ = starts.astype(np.int32)
    lp.a_matrix_.index_ = rows[order].astype(np.int32)
    lp.a_matrix_.value_ = entries[order]


def _aim_at(solver: highspy.Highs, model: Merged, priority: int) -> None:
    """Let the orders of one priority ship, and count the value of these only."""
    for group, (value, rank) in enumerate(zip(model.values, model.priorities, strict=True)):
        solver.changeColCost(group, float(value) if rank == priority else 0.0)
        if rank == priority:
            solver.changeColBounds(group, 0.0, float(model.opened[group]))


def _hold_to(
    solver: highspy.Highs,
    model: Merged,
    in_class: NDArray[np.bool_],
    shipped: NDArray[np.int64],
) -> None:
    """Keep what a priority has reached while the next one is served."""
    columns = np.flatnonzero(in_class).astype(np.int32)
    values = model.values[in_class]
    reached = float(values @ shipped[in_class])
    solver.addRow(reached - 1e-6, highspy.kHighsInf, len(columns), columns, values)
