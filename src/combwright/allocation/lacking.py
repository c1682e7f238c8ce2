"""What each waiting order lacks beside all the ready ones."""

from collections.abc import Sequence

import numpy as np

from combwright.allocation.answer import Plan
from combwright.allocation.hall import HallOracle
from combwright.allocation.orders import Order
from combwright.allocation.sorting import build_problem
from combwright.allocation.stock import Stock
from combwright.allocation.wording import describe, listed, plates_in_words
from combwright.allocation.workshop import Workshop


def lacks_of(
    stock: Stock, orders: Sequence[Order], plan: Plan, workshop: Workshop
) -> dict[int, str]:
    """Say for each waiting order what would have to come in to build it beside the ready ones.

    Parameters
    ----------
    stock, orders, workshop
        What the plan was made from.
    plan : Plan
        One `Served` for each order.

    Returns
    -------
    dict
        From an order's place in the list to `1 plate of pitch F#5 that fits hole 5`, several
        joined by `and`.
    """
    problem = build_problem(stock, orders)
    oracle, groups = HallOracle(problem, workshop), problem.groups
    ready = np.array(
        [sum(plan.served[place].ready for place in members) for members in groups.members],
        dtype=np.int64,
    )
    texts: dict[int, str] = {}
    for group in np.flatnonzero(ready < groups.size).tolist():
        one = np.zeros(len(groups), dtype=np.int64)
        one[group] = 1
        own = problem.demand(one) > 0
        demand = problem.demand(ready + one)
        found = [
            plates_in_words(
                int(demand[each.columns].sum()) - each.stock, describe(problem, each, wanted=own)
            )
            for each in oracle.violated(demand)
        ]
        waiting = (place for place in groups.members[group] if not plan.served[place].ready)
        texts |= dict.fromkeys(waiting, listed(sorted(found)))
    return texts
