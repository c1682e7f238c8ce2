"""What is missing: the sets of seats and parts that want more than what serves them."""

from collections.abc import Sequence

import numpy as np

from combwright.allocation.answer import Shortage
from combwright.allocation.hall import HallOracle, HallSet
from combwright.allocation.orders import Order
from combwright.allocation.problem import Floats, Ints, Problem
from combwright.allocation.wording import describe, listed, plates_in_words


def shortages_of(
    problem: Problem, oracle: HallOracle, orders: Sequence[Order], served: Ints
) -> tuple[Shortage, ...]:
    """Return the sets that keep open orders from being ready, the largest first.

    Each set wants more than what serves it when all open orders are counted. Together the sets
    touch every order that waits: one that touched none of them could be built beside the others.
    """
    groups = problem.groups
    demand = problem.demand(groups.size)
    found = []
    for broken in oracle.violated(demand):
        use = problem.use_of(broken.columns)
        waiting = [
            place
            for group in np.flatnonzero((use > 0) & (served < groups.size))
            for place in groups.members[group][served[group] :]
        ]
        names = tuple(dict.fromkeys(orders[place].name for place in sorted(waiting)))
        if names:
            found.append(_shortage(problem, broken, demand, names))
    return tuple(sorted(found, key=lambda each: (-each.missing, each.text)))


def _shortage(
    problem: Problem, broken: HallSet, demand: Floats, names: tuple[str, ...]
) -> Shortage:
    wanted = int(demand[broken.columns].sum())
    missing = wanted - broken.stock
    described = describe(problem, broken, wanted=demand > 0)
    verb = "is" if missing == 1 else "are"
    waits = f"order {names[0]} waits" if len(names) == 1 else f"orders {listed(names)} wait"
    return Shortage(
        missing=missing,
        pitches=described.pitches,
        holes=described.holes,
        parts=described.parts,
        orders=names,
        text=(
            f"{plates_in_words(missing, described)} {verb} missing "
            f"({wanted} wanted, {broken.stock} there); {waits}."
        ),
    )
