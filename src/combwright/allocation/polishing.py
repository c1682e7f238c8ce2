"""Cheaper orders of the same worth: choose again among equals, by what their plates cost.

Cost as a function of how many seats of each class are filled is convex, and the prices of a
cheapest placement give a plane below it [benders]. A programme over groups that holds all planes
met so far bounds the cost from below; its answers, placed, give costs that were reached.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from combwright.allocation.choosing import Choice
from combwright.allocation.cost_model import MONEY, CostModel
from combwright.allocation.costs import parts_cost
from combwright.allocation.hall import HallOracle
from combwright.allocation.market import Market
from combwright.allocation.placing import Placement, cheapest, prices_of
from combwright.allocation.problem import Floats, Ints, Problem
from combwright.allocation.rows import Row

#: Fractional seats are counted in parts of this when a plane is looked for.
_GRAIN: Final = 64
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
    told("looking for cheaper plates")
    work.relax()
    work.search()
    return work.best


def lower_bound(
    problem: Problem, oracle: HallOracle, choice: Choice, market: Market, *, until: float
) -> int:
    """Return what no answer of the chosen value can undercut, in millionths; as `polish`."""
    work = _Polish(problem, oracle, choice, market, until)
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
        self.floors = choice.floors
        rows = [*choice.rows, *choice.floors]
        self.model = CostModel(self.parts, groups.floor, groups.size, rows)
        costs = [market.arcs.cost, self.parts] if market.every is None else [np.ones(1, int)]
        self.unit = int(np.gcd.reduce(np.concatenate(costs), initial=0)) or 1
        first = self._reached(choice.served)
        if first is None:
            raise AssertionError("no Hall set is broken, yet the seats cannot be filled")
        self.best = first

    def _seats(self, served: Floats | Ints) -> Floats:
        return self.problem.demand(served)[: len(self.problem.classes)]

    def _reached(self, served: Ints) -> Polished | None:
        """Place an answer that breaks no Hall set, and learn its plane.

        None when it cannot be placed, which is so only in a market that holds some pairs of all.
        """
        seats = np.rint(self._seats(served)).astype(np.int64)
        placed = cheapest(self.market.arcs, seats, self.market.stock)
        if placed is None:
            return None
        self._add_plane(placed)
        return Polished(served, placed, placed.cost + int(self.parts @ served), 0)

    def _add_plane(self, placed: Placement) -> None:
        prices, groups = prices_of(self.market, placed), self.problem.groups
        price = np.concatenate([prices.seat, np.zeros(len(self.problem.parts))])
        slope = np.zeros(len(groups))
        np.add.at(slope, groups.owner, groups.amount * price[groups.column])
        self.model.add_plane(slope, float(prices.kind @ self.market.stock))

    def relax(self) -> None:
        """Raise the bound with fractional orders until it hardly rises any more."""
        centre = self.best.served.astype(float)
        stop = self.started + _RELAXED_SHARE * (self.until - self.started)
        lowest, idle = -np.inf, 0
        while idle < _IDLE_ROUNDS and (time.monotonic() < stop or not np.isfinite(lowest)):
            answer = self.model.relaxed(max(stop - time.monotonic(), _LEAST_SECONDS))
            if answer is None:
                return
            served, cost = answer
            self._raise_bound(cost)
            idle = 0 if cost > lowest + _NEAR * abs(cost) else idle + 1
            lowest = max(lowest, cost)
            # Half way between the best answer and the lowest point lie the planes that matter.
            centre = 0.5 * centre + 0.5 * served
            seats = np.floor(self._seats(centre) * _GRAIN).astype(np.int64)
            placed = cheapest(self.market.arcs, seats, self.market.stock * _GRAIN)
            if placed is None:
                return
            self._add_plane(placed)

    def _raise_bound(self, cost: float) -> None:
        if not np.isfinite(cost):
            return
        units = np.ceil((cost * (1 - 1e-9) - 1e-6) * MONEY / self.unit) * self.unit
        self.best.bound = max(self.best.bound, min(int(units), self.best.cost))

    def search(self) -> None:
        """Ask for whole orders near the relaxation, ever further out, until none is cheaper."""
        width = _FIRST_WIDTH * self.best.cost / MONEY
        while not self._done() and time.monotonic() < self.until:
            relaxed = self.model.relaxed(self.until - time.monotonic())
            if relaxed is None:
                return
            self._raise_bound(relaxed[1])
            left = self.until - time.monotonic()
            served, bound = self.model.near(width, left, start=self.best.served, gap=_ENOUGH / 4)
            self._raise_bound(min(bound, relaxed[1] + width))
            learned = served is not None and self._learn(served, bound)
            if not learned and relaxed[1] + width > self.best.cost / MONEY:
                return  # every cheaper answer was within reach, and there is none
            # A dearer answer than was looked for, or one that costs what was claimed, teaches
            # nothing new: then the next look goes further.
            if not learned or bound > relaxed[1] + width:
                width *= _WIDER

    def _done(self) -> bool:
        patient = time.monotonic() - self.started < _PATIENCE_SECONDS
        share = _ENOUGH if patient else _NEARLY_ENOUGH
        return self.best.cost - self.best.bound <= share * self.best.cost

    def _learn(self, served: Ints, claimed: float) -> bool:
        """Learn from an answer; say whether it breaks a Hall set or costs more than claimed."""
        broken = self.oracle.violated(self.problem.demand(served))
        for each in broken:
            self.model.add_row(Row(self.problem.use_of(each.columns), most=float(each.stock)))
        if broken:
            return True
        if any(row.weight @ served < row.least for row in self.floors):
            return False  # within the solver's tolerance of the value, but not of that value
        if np.array_equal(served, self.best.served):
            return False
        reached = self._reached(served)
        if reached is None:
            return False
        if reached.cost < self.best.cost:
            reached.bound = self.best.bound
            self.best = reached
        return reached.cost / MONEY > claimed * (1 + 1e-9) + 1e-6
