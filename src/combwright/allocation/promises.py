"""Promised orders: kept before anything else is looked at, or the conflict named."""

from collections.abc import Sequence

import numpy as np

from combwright.allocation.hall import HallOracle
from combwright.allocation.orders import Order
from combwright.allocation.problem import Problem
from combwright.allocation.wording import describe, listed, plates_in_words
from combwright.errors import CombwrightError


class PromiseCannotBeKept(CombwrightError):
    """Promised orders that the stock cannot fill together."""


def check_promises(problem: Problem, oracle: HallOracle, orders: Sequence[Order]) -> None:
    """Make sure that all promised orders can be filled together.

    Raises
    ------
    PromiseCannotBeKept
        Naming the orders, pitches and holes that stand against each other.
    """
    groups = problem.groups
    if not groups.floor.any():
        return
    demand = problem.demand(groups.floor)
    broken = oracle.violated(demand)
    if not broken:
        return
    worst = max(broken, key=lambda each: demand[each.columns].sum() - each.stock)
    use = problem.use_of(worst.columns)
    names: list[str] = []
    for group in np.flatnonzero((use > 0) & (groups.floor > 0)):
        promised = groups.members[group][: groups.floor[group]]
        names += [orders[place].name for place in promised]
    names = list(dict.fromkeys(sorted(names)))
    wanted = int(demand[worst.columns].sum())
    thing = plates_in_words(wanted, describe(problem, worst, wanted=demand > 0))
    subject = (
        f"Promised order {names[0]} cannot be kept: it wants"
        if len(names) == 1
        else f"Promised orders {listed(names)} cannot all be kept: together they want"
    )
    raise PromiseCannotBeKept(
        f"{subject} {thing}, and there are {worst.stock}; "
        "get the missing ones in, or take a promise back."
    )
