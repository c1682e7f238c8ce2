"""Which orders ship: the most value, priority class by class, with a proof.

Orders of a class are chosen by a small integer programme over groups whose rows are the Hall sets
met so far. Each answer is put to the oracle; sets that it breaks become rows, and so on until an
answer breaks none: it is then the best of all, since leaving rows out can only flatter it.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from combwright.allocation.filling import fill, trim
from combwright.allocation.hall import HallOracle
from combwright.allocation.problem import Floats, Ints, Problem
from combwright.allocation.rows import Row, Solved, solve, whole_bound

_ENOUGH: Final = 1e-6
#: The first search looks at this share of the gap, and each next one this many times further.
_FIRST_WIDTH: Final = 16
_WIDER: Final = 4


@dataclass(frozen=True, slots=True)
class Stage:
    """One thing to make as large as possible, the earlier ones kept as large as they were.

    Parameters
    ----------
    name : str
        Shown while it is worked on.
    weight : array, shape (groups,)
        What one order of each group counts for.
    active : array of bool, shape (groups,)
        Groups that this stage may serve; those of earlier stages stay free, later ones wait.
    counts : bool
        Whether the weight is value.
    """

    name: str
    weight: Ints
    active: NDArray[np.bool_]
    counts: bool = True


@dataclass(slots=True)
class Choice:
    """How many orders of each group are served, the value, its bound and whether it is proven."""

    served: Ints
    value: int = 0
    bound: int = 0
    proven: bool = True
    rows: list[Row] = field(default_factory=list)
    floors: list[Row] = field(default_factory=list)


def stages_of(problem: Problem) -> list[Stage]:
    """Return the priority classes, highest first; then orders without value; then kept orders."""
    groups = problem.groups
    worth = groups.value > 0
    nothing = np.zeros(len(groups), dtype=bool)
    stages, so_far = [], nothing
    for priority in np.unique(groups.priority[worth]):
        this = worth & (groups.priority == priority)
        so_far = so_far | this
        weight = np.where(this, groups.value, 0)
        stages.append(Stage(f"choosing orders of priority {priority}", weight, so_far))
    if (~worth).any():
        weight = (~worth).astype(np.int64)
        stages.append(Stage("choosing orders without value", weight, ~nothing, False))
    if groups.kept.any():
        every = ~nothing
        stages.append(
            Stage("keeping what is set aside", groups.kept.astype(np.int64), every, False)
        )
    return stages


def choose(
    problem: Problem,
    oracle: HallOracle,
    *,
    until: float,
    told: Callable[[str], None] = lambda _: None,
) -> Choice:
    """Choose the orders that ship.

    Parameters
    ----------
    problem, oracle
        The orders, and the racks behind Hall's condition; the promised orders must fit.
    until : float
        Give the best so far at this `time.monotonic()`.
    told : callable
        Called with what is being done.
    """
    choice = Choice(served=problem.groups.floor.copy())
    stages = stages_of(problem)
    for turn, stage in enumerate(stages):
        told(stage.name)
        now = time.monotonic()
        share = max(until - now, 0.0) / (len(stages) - turn)
        _Search(problem, oracle, choice, stage, now + share).run()
    return choice


class _Search:
    """The work of one stage; improves `choice` in place."""

    def __init__(
        self, problem: Problem, oracle: HallOracle, choice: Choice, stage: Stage, until: float
    ) -> None:
        self.problem, self.oracle, self.choice, self.stage = problem, oracle, choice, stage
        self.until = until
        self.low = problem.groups.floor
        self.high = np.where(stage.active, problem.groups.size, self.low)
        current = stage.weight[stage.weight > 0]
        self.unit = int(np.gcd.reduce(current)) if len(current) else 1
        self.best = choice.served

    @property
    def value(self) -> int:
        return int(self.stage.weight @ self.best)

    def run(self) -> None:
        bound = int(self.stage.weight @ self.high)
        if bound > self.value:
            bound = self._search(bound)
        proven = bound <= self.value
        self.choice.served = self.best
        self.choice.floors.append(Row(self.stage.weight, least=float(self.value)))
        if self.stage.counts:
            self.choice.value += self.value
            self.choice.bound += max(bound, self.value)
            self.choice.proven &= proven

    def _search(self, bound: int) -> int:
        if self._offer(self.high):
            return bound
        self._start_from(self.high)
        width = 0.0
        while bound > self.value and time.monotonic() < self.until:
            relaxed = self._relax()
            if relaxed.served is None or not relaxed.done:
                break
            bound = self._lower(bound, relaxed.bound)
            if not width:
                self._start_from(np.floor(relaxed.served + _ENOUGH).astype(np.int64))
                width = (relaxed.bound - self.value) / _FIRST_WIDTH
            bound = self._lower(bound, self._search_near(relaxed, width))
            width *= _WIDER
        return bound

    def _search_near(self, relaxed: Solved, width: float) -> float:
        """Look for better answers worth at most `width` less than the relaxation.

        Such an answer cannot serve a group more or less than the relaxation does when a single
        order of it costs more than `width`; so most groups are settled, and what is left is small.

        Returns
        -------
        float
            What no answer can exceed, this near or further away.
        """
        width = min(width, relaxed.bound - self.value)
        low, high = self._near(relaxed, width)
        inside = bool(np.all((self.best >= low) & (self.best <= high)))
        answer = solve(
            self.stage.weight, low, high, [*self.choice.rows, *self.choice.floors],
            whole=True, seconds=self.until - time.monotonic(), start=self.best if inside else None,
        )  # fmt: skip
        if answer.served is not None:
            served = answer.served.astype(np.int64)
            if not self._offer(served):
                self._start_from(served)
        return max(answer.bound, relaxed.bound - width)

    def _near(self, relaxed: Solved, width: float) -> tuple[Ints, Ints]:
        assert relaxed.worth is not None
        worth, slack = np.abs(relaxed.worth), width * (1 + _ENOUGH) + _ENOUGH
        moves = np.floor(slack / np.maximum(worth, slack / 1e9))
        below, above = relaxed.worth < 0, relaxed.worth > 0
        high = np.where(below, np.minimum(self.high, self.low + moves), self.high)
        low = np.where(above, np.maximum(self.low, self.high - moves), self.low)
        return low.astype(np.int64), high.astype(np.int64)

    def _lower(self, bound: int, other: float) -> int:
        return min(bound, whole_bound(other, self.unit)) if other < bound else bound

    def _relax(self) -> Solved:
        """Solve without whole orders until no Hall set is broken."""
        while True:
            answer = solve(
                self.stage.weight, self.low, self.high, [*self.choice.rows, *self.choice.floors],
                whole=False, seconds=self.until - time.monotonic(),
            )  # fmt: skip
            if answer.served is None or not self._cut(answer.served):
                return answer

    def _cut(self, served: Floats | Ints) -> bool:
        """Make rows of the Hall sets that an answer breaks; say whether there were any."""
        broken = self.oracle.violated(self.problem.demand(served))
        self.choice.rows += [
            Row(self.problem.use_of(each.columns), most=float(each.stock)) for each in broken
        ]
        return bool(broken)

    def _offer(self, served: Ints) -> bool:
        """Take an answer when it breaks nothing; say whether it breaks nothing."""
        if self._cut(served):
            return False
        keeps = all(row.weight @ served >= row.least for row in self.choice.floors)
        if keeps and self.stage.weight @ served > self.value:
            self.best = served
        return True

    def _start_from(self, served: Ints) -> None:
        """Trim and fill an answer until it breaks nothing, then offer it.

        What earlier stages chose stays as it is; only this stage's orders are moved.
        """
        weight = self.stage.weight
        for _ in range(20):
            served = np.where(weight > 0, served, self.best)
            low = np.where(weight > 0, self.low, served)
            trimmed = trim(served, low, weight, self.choice.rows)
            filled = fill(trimmed, self.high, weight, self.choice.rows)
            if self._offer(filled):
                return
            served = filled
