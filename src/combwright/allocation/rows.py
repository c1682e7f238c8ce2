"""Small integer programmes over groups: how many orders of each, under a handful of rows.

HiGHS solves them [highs]. A programme has a column for each group and a row for each Hall set met
so far, which is few, so it stays small whatever the number of plates.
"""

from dataclasses import dataclass
from typing import Final

import highspy
import numpy as np

from combwright.allocation.problem import Floats, Ints
from combwright.allocation.quiet import QuietHighs

_STATUS = highspy.HighsModelStatus
#: Below this a computed bound is taken for the whole number under it.
_ROUNDING: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Row:
    """`least <= sum(weight x served) <= most`; weight has shape (groups,)."""

    weight: Ints
    least: float = -highspy.kHighsInf
    most: float = highspy.kHighsInf


@dataclass(frozen=True, slots=True)
class Solved:
    """A programme's answer.

    Parameters
    ----------
    served : array, shape (groups,), or None
        The best found; None when nothing was found.
    bound : float
        What no answer can exceed.
    done : bool
        Whether it was solved to the end.
    worth : array, shape (groups,)
        Of a relaxation: how much the bound falls with every order of a group that is served less
        than here (above 0) or more than here (below 0).
    """

    served: Floats | None
    bound: float
    done: bool
    worth: Floats | None = None


def solve(
    weight: Ints,
    low: Ints,
    high: Ints,
    rows: list[Row],
    *,
    whole: bool,
    seconds: float,
    start: Ints | None = None,
) -> Solved:
    """Maximise `sum(weight x served)` for `low <= served <= high` under rows.

    Parameters
    ----------
    weight, low, high : arrays of int, shape (groups,)
        What one order is worth, and how many are served at least and at most.
    rows : list of Row
        Conditions.
    whole : bool
        Whether orders are served whole; if not, the bound is the relaxation's.
    seconds : float
        Stop after this long.
    start : array, shape (groups,)
        An answer to begin with.
    """
    free = np.flatnonzero(high > low)
    if not len(free):
        return Solved(low.astype(float), float(weight @ low), True, np.zeros(len(low)))
    model = _model(weight, low, high, rows, free)
    model.setOptionValue("time_limit", max(seconds, 0.01))
    if whole:
        _ask_for_whole(model, weight[free], None if start is None else start[free])
    else:
        # Presolving one long row takes time that grows with its square; these need none.
        model.setOptionValue("presolve", "off")
    model.run()
    settled = float(weight @ low - weight[free] @ low[free])
    return _answer(model, low, free, base=settled, whole=whole)


def _ask_for_whole(model: highspy.Highs, weight: Ints, start: Ints | None) -> None:
    columns = np.arange(len(weight), dtype=np.int32)
    kinds = np.full(len(weight), highspy.HighsVarType.kInteger.value, dtype=np.uint8)
    model.changeColsIntegrality(len(weight), columns, kinds)
    model.setOptionValue("mip_rel_gap", 0.0)
    model.setOptionValue("mip_abs_gap", 0.999 * max(int(np.gcd.reduce(weight)), 1))
    if start is not None:
        model.setSolution(len(weight), columns, start.astype(float))


def _model(weight: Ints, low: Ints, high: Ints, rows: list[Row], free: Ints) -> highspy.Highs:
    model = QuietHighs()
    nothing, whole = np.zeros(0, dtype=np.int32), np.zeros(0)
    model.addCols(
        len(free), weight[free].astype(float), low[free].astype(float), high[free].astype(float),
        0, nothing, nothing, whole,
    )  # fmt: skip
    model.changeObjectiveSense(highspy.ObjSense.kMaximize)
    for row in rows:
        used = np.flatnonzero(row.weight[free]).astype(np.int32)
        # Orders that are not free use up some of the row before it begins.
        taken = float(row.weight @ low - row.weight[free] @ low[free])
        model.addRow(
            row.least - taken,
            row.most - taken,
            len(used),
            used,
            row.weight[free][used].astype(float),
        )
    return model


def _answer(model: highspy.Highs, low: Ints, free: Ints, *, base: float, whole: bool) -> Solved:
    info, status = model.getInfo(), model.getModelStatus()
    if status == _STATUS.kInfeasible:
        return Solved(None, -highspy.kHighsInf, True)
    done = status == _STATUS.kOptimal
    found = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    if whole:
        bound = info.mip_dual_bound
    else:
        bound = info.objective_function_value if done else highspy.kHighsInf
    served, worth = low.astype(float), np.zeros(len(low))
    if found:
        solution = model.getSolution()
        values = np.array(solution.col_value)
        served[free] = np.round(values) if whole else values
        worth[free] = 0.0 if whole else solution.col_dual
    return Solved(served if found else None, base + bound, done, worth)


def whole_bound(bound: float, unit: int) -> int:
    """Return the largest multiple of `unit` that a computed bound allows."""
    # Sums of doubles and the solver's own tolerances leave an error of about 1e-10 of the whole.
    slack = _ROUNDING * max(1.0, abs(bound) * 1e-4)
    return int(np.floor((bound + slack) / unit)) * unit
