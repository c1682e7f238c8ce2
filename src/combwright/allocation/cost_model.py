"""The programme that bounds what chosen orders cost: a column for each group, one for plates' cost.

Its rows are the Hall sets and values that were found while choosing, and planes below the cost of
plates [benders]; it is small, and HiGHS solves it [highs]. Money is in whole currency units here,
so that numbers stay near one.
"""

from typing import Final

import highspy
import numpy as np

from combwright.allocation.problem import MOST_DECIMALS, Floats, Ints
from combwright.allocation.quiet import QuietHighs
from combwright.allocation.rows import Row

MONEY: Final = 10.0**MOST_DECIMALS
_LARGEST_WEIGHT: Final = 1000.0
_STATUS: Final = highspy.HighsModelStatus
_KIND: Final = highspy.HighsVarType


class CostModel:
    """Least cost over numbers of orders, fractional or whole.

    Parameters
    ----------
    parts : array of int, shape (groups,)
        What one order costs in parts, in millionths.
    low, high : arrays of int, shape (groups,)
        How many orders are served at least and at most.
    rows : list of Row
        Conditions.
    """

    def __init__(self, parts: Ints, low: Ints, high: Ints, rows: list[Row]) -> None:
        self.low, self.high = low, high
        self.columns = len(low)
        self.every = np.arange(self.columns, dtype=np.int32)
        self.model = QuietHighs()
        none, empty = np.zeros(0, dtype=np.int32), np.zeros(0)
        self.model.addCols(
            self.columns, parts / MONEY, low.astype(float), high.astype(float),
            0, none, none, empty,
        )  # fmt: skip
        self.model.addCol(1.0, 0.0, highspy.kHighsInf, 0, none, empty)
        for row in rows:
            self.add_row(row)

    def add_row(self, row: Row) -> None:
        """Add a condition."""
        used = np.flatnonzero(row.weight).astype(np.int32)
        # Values may run to millions a piece; rows of such numbers make the solver slow.
        scale = max(float(np.abs(row.weight).max(initial=0)) / _LARGEST_WEIGHT, 1.0)
        weights = row.weight[used] / scale
        self.model.addRow(row.least / scale, row.most / scale, len(used), used, weights)

    def add_plane(self, slope: Floats, base: float) -> None:
        """Add that plates cost at least `slope @ served - base`, in millionths."""
        used = np.flatnonzero(slope).astype(np.int32)
        entries = np.append(used, np.int32(self.columns)), np.append(-slope[used] / MONEY, 1.0)
        self.model.addRow(-base / MONEY, highspy.kHighsInf, len(used) + 1, *entries)

    def relaxed(self, seconds: float) -> tuple[Floats, float] | None:
        """Return fractional numbers of orders, shape (groups,), and their cost; None on a time-out.

        What follows with `near` looks around this answer.
        """
        self._shape(_KIND.kContinuous, self.low, self.high)
        # Presolving long rows takes time that grows with their square; this needs none.
        self._run("off", seconds)
        if self.model.getModelStatus() != _STATUS.kOptimal:
            return None
        values: Floats = np.array(self.model.getSolution().col_value, dtype=float)
        return values[: self.columns], float(self.model.getInfo().objective_function_value)

    def near(
        self, width: float, seconds: float, *, start: Ints, gap: float
    ) -> tuple[Ints | None, float]:
        """Look for whole orders that cost at most `width` more than the relaxation just solved.

        Such an answer cannot serve a group otherwise than the relaxation does when one order of it
        costs more than `width`: most groups are settled that way, and what is left is small.

        Returns
        -------
        (array of int or None, float)
            The best found, and what no answer within `width` can undercut: infinity for none.
        """
        dearer = np.array(self.model.getSolution().col_dual, dtype=float)[: self.columns]
        moves = np.floor(width * (1 + 1e-6) / np.maximum(np.abs(dearer), width / 1e9))
        high = np.where(dearer > 0, np.minimum(self.high, self.low + moves), self.high)
        low = np.where(dearer < 0, np.maximum(self.low, self.high - moves), self.low)
        self._shape(_KIND.kInteger, low, high)
        self.model.setOptionValue("mip_rel_gap", gap)
        if np.all((start >= low) & (start <= high)):
            self.model.setSolution(self.columns, self.every, start.astype(float))
        self._run("choose", seconds)
        return self._whole_answer()

    def _whole_answer(self) -> tuple[Ints | None, float]:
        info = self.model.getInfo()
        if self.model.getModelStatus() == _STATUS.kInfeasible:
            return None, np.inf
        bound = info.mip_dual_bound if np.isfinite(info.mip_dual_bound) else -np.inf
        if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
            return None, bound
        values: Floats = np.array(self.model.getSolution().col_value, dtype=float)
        return np.rint(values[: self.columns]).astype(np.int64), bound

    def _shape(self, kind: highspy.HighsVarType, low: Ints, high: Ints) -> None:
        kinds = np.full(self.columns, kind.value, dtype=np.uint8)
        self.model.changeColsIntegrality(self.columns, self.every, kinds)
        low, high = low.astype(float), high.astype(float)
        self.model.changeColsBounds(self.columns, self.every, low, high)

    def _run(self, presolve: str, seconds: float) -> None:
        self.model.setOptionValue("presolve", presolve)
        # The limit counts from the model's first run on.
        self.model.setOptionValue("time_limit", self.model.getRunTime() + max(seconds, 0.01))
        self.model.run()
