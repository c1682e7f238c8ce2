"""Cheaper orders of the same worth: choose again among equals, by what their plates cost.

Cost as a function of how many seats of each class are filled is convex, and the prices of a
cheapest placement give a plane below it [benders]. A programme over groups that holds all planes
met so far bounds the cost from below; its answers, placed, give costs that were reached.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import highspy
import numpy as np

from combwright.allocation.choosing import Choice
from combwright.allocation.costs import parts_cost
from combwright.allocation.hall import HallOracle
from combwright.allocation.market import Market
from combwright.allocation.placing import Placement, cheapest, prices_of
from combwright.allocation.problem import MOST_DECIMALS, Floats, Ints, Problem
from combwright.allocation.quiet import QuietHighs
from combwright.allocation.rows import Row

#: Fractional seats are counted in parts of this when a plane is looked for.
_GRAIN: Final = 64
_MONEY: Final = 10.0**MOST_DECIMALS
#: The relaxation is done when its bound rose by less than this share so many times in a row.
_NEAR: Final = 1e-6
_IDLE_ROUNDS: Final = 2
#: The first relaxation gets so long even when time is up: without it there is no bound at all.
_LEAST_SECONDS: Final = 1.0
#: No cheaper answer is looked for when the best is within this of its bound.
_ENOUGH: Final = 1e-7
#: After so long this is near enough.
_PATIENCE_SECONDS: Final = 8.0
_NEARLY_ENOUGH: Final = 1e-5
#: Whole orders are first looked for within this share of the relaxation's cost, then further out.
_FIRST_WIDTH: Final = 1e-5
_WIDER: Final = 6
#: Share of the time that the relaxation may take.
_RELAXED_SHARE: Final = 0.5


@dataclass(slots=True)
class Polished:
    """Orders served of each group, their plates, the cost and what no answer can undercut.

    Costs are in millionths and hold plates, labour and parts.
    """

    served: Ints
    placed: Placement
    cost: int
    bound: int


def polish(
    problem: Problem,
    oracle: HallOracle,
    choice: Choice,
    market: Market,
    *,
    until: float,
    told: Callable[[str], None] = lambda _: None,
) -> Polished:
    """Find cheaper orders with the same value in every class, and their plates.

    Parameters
    ----------
    problem, oracle, choice, market
        What was chosen so far, and what plates cost.
    until : float
        Give the best so far at this `time.monotonic()`.
    told : callable
        Called with what is being done.
    """
    told("placing plates")
    work = _Polish(problem, oracle, choice, market, until)
    work.reach(choice.served)
    told("looking for cheaper plates")
    work.relax()
    work.search()
    return work.best


def lower_bound(
    problem: Problem, oracle: HallOracle, choice: Choice, market: Market, *, until: float
) -> int:
    """Return what no answer of the chosen value can undercut, in millionths; as `polish`."""
    work = _Polish(problem, oracle, choice, market, until)
    work.reach(choice.served)
    work.relax()
    return work.best.bound


class _Polish:
    def __init__(
        self, problem: Problem, oracle: HallOracle, choice: Choice, market: Market, until: float
    ) -> None:
        self.problem, self.oracle, self.market, self.until = problem, oracle, market, until
        self.started = time.monotonic()
        self.parts = parts_cost(problem)
        groups = problem.groups
        self.low = groups.floor
        self.high = groups.size
        costs = [market.arcs.cost, self.parts] if market.every is None else [np.ones(1, int)]
        self.unit = int(np.gcd.reduce(np.concatenate(costs), initial=0)) or 1
        self.best: Polished
        self.columns = len(groups)
        self.model = self._model([*choice.rows, *choice.floors])

    def _model(self, rows: list[Row]) -> highspy.Highs:
        model, none = QuietHighs(), np.zeros(0, dtype=np.int32)
        empty = np.zeros(0)
        model.addCols(
            self.columns, self.parts / _MONEY, self.low.astype(float), self.high.astype(float),
            0, none, none, empty,
        )  # fmt: skip
        model.addCol(1.0, 0.0, highspy.kHighsInf, 0, none, empty)
        model.setOptionValue("presolve", "off")
        self.model = model
        for row in rows:
            self._add_row(row)
        return model

    def _add_row(self, row: Row) -> None:
        used = np.flatnonzero(row.weight).astype(np.int32)
        self.model.addRow(row.least, row.most, len(used), used, row.weight[used].astype(float))

    def _seats(self, served: Floats | Ints) -> Floats:
        return self.problem.demand(served)[: len(self.problem.classes)]

    def reach(self, served: Ints) -> bool:
        """Place an answer and take it if it is the cheapest yet; learn its plane."""
        seats = np.rint(self._seats(served)).astype(np.int64)
        placed = cheapest(self.market.arcs, seats, self.market.stock)
        if placed is None:
            return False
        cost = placed.cost + int(self.parts @ served)
        if not hasattr(self, "best"):
            self.best = Polished(served, placed, cost, 0)
        elif cost < self.best.cost:
            self.best = Polished(served, placed, cost, self.best.bound)
        self._add_plane(placed)
        return True

    def _add_plane(self, placed: Placement) -> None:
        prices = prices_of(self.market, placed)
        groups = self.problem.groups
        price = np.concatenate([prices.seat, np.zeros(len(self.problem.parts))])
        slope = np.zeros(self.columns)
        np.add.at(slope, groups.owner, groups.amount * price[groups.column])
        base = float(prices.kind @ self.market.stock)
        used = np.flatnonzero(slope).astype(np.int32)
        entries = np.append(used, np.int32(self.columns)), np.append(-slope[used] / _MONEY, 1.0)
        self.model.addRow(-base / _MONEY, highspy.kHighsInf, len(used) + 1, *entries)

    def relax(self) -> None:
        """Raise the bound with fractional orders until it hardly rises any more."""
        centre = self.best.served.astype(float)
        stop = self.started + _RELAXED_SHARE * (self.until - self.started)
        lowest, idle = -np.inf, 0
        while idle < _IDLE_ROUNDS and (time.monotonic() < stop or not np.isfinite(lowest)):
            answer = self._run(max(stop, time.monotonic() + _LEAST_SECONDS))
            if answer is None:
                return
            served, cost = answer
            idle = 0 if cost > lowest + _NEAR * abs(cost) else idle + 1
            lowest = max(lowest, cost)
            # Half way between the best answer and the lowest point lie the planes that matter.
            centre = 0.5 * centre + 0.5 * served
            seats = np.floor(self._seats(centre) * _GRAIN).astype(np.int64)
            placed = cheapest(self.market.arcs, seats, self.market.stock * _GRAIN)
            if placed is None:
                return
            self._add_plane(placed)

    def _run(self, stop: float) -> tuple[Floats, float] | None:
        model = self.model
        self._allow(stop - time.monotonic())
        model.run()
        if model.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            return None
        served = np.array(model.getSolution().col_value)[: self.columns]
        self._raise_bound(model.getInfo().objective_function_value)
        return served, model.getInfo().objective_function_value

    def _allow(self, seconds: float) -> None:
        # The limit counts from the model's first run on.
        limit = self.model.getRunTime() + max(seconds, 0.01)
        self.model.setOptionValue("time_limit", limit)

    def _raise_bound(self, cost: float) -> None:
        units = np.ceil((cost * (1 - 1e-9) - 1e-6) * _MONEY / self.unit) * self.unit
        self.best.bound = max(self.best.bound, min(int(units), self.best.cost))

    def search(self) -> None:
        """Ask for whole orders near the relaxation, ever further out, until none is cheaper.

        An answer that costs at most `width` more than the relaxation cannot serve a group otherwise
        than the relaxation does when one order of it costs more than `width`; most groups are
        settled that way, and the programme that is left is small.
        """
        width = _FIRST_WIDTH * self.best.cost / _MONEY
        while not self._done() and time.monotonic() < self.until:
            self._relaxed_again()
            answer = self._run(self.until)
            if answer is None:
                return
            lowest = answer[1]
            served, bound = self._run_whole(width)
            self._raise_bound(min(bound, lowest + width))
            if served is None or not self._learn(served):
                width *= _WIDER

    def _done(self) -> bool:
        patient = time.monotonic() - self.started < _PATIENCE_SECONDS
        share = _ENOUGH if patient else _NEARLY_ENOUGH
        return self.best.cost - self.best.bound <= share * self.best.cost

    def _relaxed_again(self) -> None:
        every = np.arange(self.columns, dtype=np.int32)
        kind = np.full(self.columns, highspy.HighsVarType.kContinuous.value, dtype=np.uint8)
        self.model.changeColsIntegrality(self.columns, every, kind)
        low, high = self.low.astype(float), self.high.astype(float)
        self.model.changeColsBounds(self.columns, every, low, high)
        self.model.setOptionValue("presolve", "off")

    def _run_whole(self, width: float) -> tuple[Ints | None, float]:
        """Run for whole orders within `width` of the relaxation just run; the answer, its bound."""
        model, every = self.model, np.arange(self.columns, dtype=np.int32)
        dearer = np.array(model.getSolution().col_dual, dtype=float)[: self.columns]
        moves = np.floor(width * (1 + 1e-6) / np.maximum(np.abs(dearer), width / 1e9))
        high = np.where(dearer > 0, np.minimum(self.high, self.low + moves), self.high)
        low = np.where(dearer < 0, np.maximum(self.low, self.high - moves), self.low)
        model.changeColsBounds(self.columns, every, low.astype(float), high.astype(float))
        whole = np.full(self.columns, highspy.HighsVarType.kInteger.value, dtype=np.uint8)
        model.changeColsIntegrality(self.columns, every, whole)
        model.setOptionValue("presolve", "choose")
        model.setOptionValue("mip_rel_gap", _ENOUGH / 4)
        if np.all((self.best.served >= low) & (self.best.served <= high)):
            model.setSolution(self.columns, every, self.best.served.astype(float))
        self._allow(self.until - time.monotonic())
        model.run()
        info = model.getInfo()
        if model.getModelStatus() == highspy.HighsModelStatus.kInfeasible:
            return None, np.inf
        bound = info.mip_dual_bound if np.isfinite(info.mip_dual_bound) else -np.inf
        if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
            return None, bound
        values: Floats = np.array(model.getSolution().col_value, dtype=float)
        return np.rint(values[: self.columns]).astype(np.int64), bound

    def _learn(self, served: Ints) -> bool:
        """Learn from an answer; say whether it was new."""
        broken = self.oracle.violated(self.problem.demand(served))
        for each in broken:
            self._add_row(Row(self.problem.use_of(each.columns), most=float(each.stock)))
        if broken:
            return True
        known = np.array_equal(served, self.best.served)
        return self.reach(served) and not known
