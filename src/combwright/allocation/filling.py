"""Quick answers under rows: take back orders until every row holds, then add what still fits."""

import numpy as np

from combwright.allocation.problem import Ints
from combwright.allocation.rows import Row


def _limits(rows: list[Row]) -> tuple[Ints, Ints]:
    """Return the weights, shape (rows, groups), and limits of the rows that bound from above."""
    upper = [row for row in rows if np.isfinite(row.most)]
    weights = np.array([row.weight for row in upper], dtype=np.int64)
    return weights, np.array([row.most for row in upper], dtype=np.int64)


def trim(served: Ints, low: Ints, weight: Ints, rows: list[Row]) -> Ints:
    """Take back the orders worth least for what they use until no row is broken.

    Parameters
    ----------
    served, low, weight : arrays of int, shape (groups,)
        The answer, what must stay, and what one order is worth.
    rows : list of Row
        Conditions; those from above are kept.
    """
    answer = served.copy()
    for row in rows:
        if not np.isfinite(row.most):
            continue
        excess = int(row.weight @ answer) - int(row.most)
        if excess <= 0:
            continue
        users = np.flatnonzero((row.weight > 0) & (answer > low))
        for group in users[np.argsort(weight[users] / row.weight[users], kind="stable")]:
            back = min(int(answer[group] - low[group]), -(-excess // int(row.weight[group])))
            answer[group] -= back
            excess -= back * int(row.weight[group])
            if excess <= 0:
                break
    return answer


def fill(served: Ints, high: Ints, weight: Ints, rows: list[Row]) -> Ints:
    """Add the orders worth most for what they use of scarce sets, as long as every row holds.

    Parameters
    ----------
    served, high, weight : arrays of int, shape (groups,)
        The answer, how many there are, and what one order is worth.
    rows : list of Row
        Conditions; those from above are kept.
    """
    answer = served.copy()
    weights, most = _limits(rows)
    open_groups = np.flatnonzero((high > answer) & (weight > 0))
    if not len(most):
        answer[open_groups] = high[open_groups]
        return answer
    room = most - weights @ answer
    use = weights[:, open_groups].sum(axis=0)
    ranked = open_groups[np.argsort(-weight[open_groups] / np.maximum(use, 0.5), kind="stable")]
    columns = np.ascontiguousarray(weights[:, ranked].T)
    # Most groups have no room at all: one look at the whole table finds the few that have.
    for turn in np.flatnonzero((columns <= room).all(axis=1)):
        column, group = columns[turn], ranked[turn]
        used = column > 0
        fits = int((room[used] // column[used]).min()) if used.any() else int(high[group])
        more = min(fits, int(high[group] - answer[group]))
        if more > 0:
            answer[group] += more
            room -= more * column
    return answer
