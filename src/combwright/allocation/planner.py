"""The plan: which orders ship, and the plate of every seat.

First the most value, priority class by class; then, among all answers of that value, the least
cost; then the fewest batches in each instrument. docs/decisions/0003 tells how, and why so.
"""

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from combwright.allocation.answer import Plan, Reservation, Served
from combwright.allocation.building import builder_of, hand_out, ready_places, total_cost
from combwright.allocation.choosing import Choice, choose
from combwright.allocation.costs import Kinds, kinds_of
from combwright.allocation.footholds import footholds
from combwright.allocation.hall import HallOracle
from combwright.allocation.market import Market, market_of
from combwright.allocation.orders import Order
from combwright.allocation.placing import cheapest, prices_of, ties_fit
from combwright.allocation.polishing import Polished, polish
from combwright.allocation.problem import Ints, Problem, money
from combwright.allocation.promises import check_promises
from combwright.allocation.shelf import Shelf, shelf_of
from combwright.allocation.shortages import shortages_of
from combwright.allocation.sorting import build_problem
from combwright.allocation.stock import Stock
from combwright.allocation.turns import in_turn
from combwright.allocation.workshop import Workshop

#: Told what is being done, and which share of it is done, 0 to 1.
Progress = Callable[[str, float], None]
#: Share of the time that choosing orders may take; what it leaves goes to their cost.
CHOOSING_SHARE: Final = 0.6
#: By this share of the time no more better buys are looked for.
WIDENING_SHARE: Final = 0.7
_STEPS: Final = ("sorting orders", "choosing orders", "looking for cheaper plates", "handing out")


@dataclass(frozen=True, slots=True)
class Work:
    """What the steps of a plan share."""

    problem: Problem
    oracle: HallOracle
    workshop: Workshop
    orders: Sequence[Order]


def plan(
    stock: Stock,
    orders: Sequence[Order],
    workshop: Workshop = Workshop(),  # noqa: B008 (frozen)
    *,
    seconds: float = 60.0,
    keep: Sequence[Reservation] = (),
    progress: Progress | None = None,
) -> Plan:
    """Plan which orders can be built in full now, and which plate goes into which seat.

    Parameters
    ----------
    stock : Stock
        Bins and parts; held bins are left alone.
    orders : sequence of Order
        In file order.
    workshop : Workshop
        Retune limits and what labour costs.
    seconds : float
        Give the best answer so far after about this long; it says whether it is proven.
    keep : sequence of Reservation
        Plates set aside by an earlier plan: as few as possible are moved.
    progress : callable
        Told what is being done and which share of it is done.

    Returns
    -------
    Plan
        Orders that cannot be filled are part of it; see its shortages.

    Raises
    ------
    PromiseCannotBeKept
        If the promised orders cannot all be filled.
    BadOrders
        If a value has more than six decimals.
    """
    if keep:
        from combwright.allocation.keeping import plan_keeping

        return plan_keeping(stock, orders, workshop, seconds, keep, progress)
    return plan_fresh(stock, orders, workshop, seconds, progress)


def plan_fresh(
    stock: Stock,
    orders: Sequence[Order],
    workshop: Workshop,
    seconds: float,
    progress: Progress | None,
) -> Plan:
    """Plan with nothing set aside; as `plan`."""
    started, tell = time.monotonic(), progress or _silent
    tell(_STEPS[0], 0.0)
    work = start_work(stock, orders, workshop)
    tell(_STEPS[1], 0.1)
    choice = choose(
        work.problem, work.oracle,
        until=started + CHOOSING_SHARE * seconds, told=lambda text: tell(text, 0.15),
    )  # fmt: skip
    tell("pricing plates", 0.45)
    kinds = kinds_of(work.problem)
    market = _market(work, kinds, choice, started + WIDENING_SHARE * seconds)
    polished = polish(
        work.problem, work.oracle, choice, market,
        until=started + seconds, told=lambda text: tell(text, 0.5),
    )  # fmt: skip
    tell(_STEPS[3], 0.8)
    fair = in_turn(work.problem, work.oracle, market, polished)
    answer = _finish(work, choice, fair, final_shelf(work.problem, kinds, market, fair))
    tell(_STEPS[3], 1.0)
    return answer


def _silent(_text: str, _share: float) -> None:
    """Tell nobody."""


def start_work(
    stock: Stock,
    orders: Sequence[Order],
    workshop: Workshop,
    *,
    kept: frozenset[int] = frozenset(),
) -> Work:
    """Sort orders and stock, and make sure that promises can be kept.

    Raises
    ------
    PromiseCannotBeKept
        If the promised orders cannot all be filled.
    """
    problem = build_problem(stock, orders, kept=kept)
    oracle = HallOracle(problem, workshop)
    check_promises(problem, oracle, orders)
    return Work(problem, oracle, workshop, orders)


def _market(work: Work, kinds: Kinds, choice: Choice, until: float) -> Market:
    """Return a market that can fill the chosen orders' seats.

    Where there are too many pairs to look at, it holds those that fill all seats and, until some
    `time.monotonic()`, gains better buys at the prices of the cheapest placement so far.
    """
    seats = class_demand(work.problem, choice.served)
    market = market_of(
        work.problem, kinds, work.workshop, seats,
        lambda: footholds(work.problem, work.oracle.supply, kinds, seats),
    )  # fmt: skip
    while market.every is not None and time.monotonic() < until:
        placed = cheapest(market.arcs, seats, market.stock)
        wider = market.widened(prices_of(market, placed).kind) if placed else None
        if wider is None:
            break
        market = wider
    return market


def _finish(work: Work, choice: Choice, polished: Polished, shelf: Shelf) -> Plan:
    """Hand out the plates and put the answer together."""
    problem, orders = work.problem, work.orders
    bins = hand_out(problem, shelf, orders, ready_places(problem, polished.served))
    builder = builder_of(problem, work.workshop)
    served = tuple(
        builder.served(order, bins[place]) if place in bins else Served(order)
        for place, order in enumerate(orders)
    )
    return Plan(
        served=served,
        shortages=shortages_of(problem, work.oracle, orders, polished.served),
        value=value_of(work, polished.served),
        value_bound=max(choice.bound * problem.value_unit, value_of(work, polished.served)),
        proven=choice.proven,
        cost=total_cost(served),
        cost_bound=min(money(polished.bound), total_cost(served)),
    )


def final_shelf(problem: Problem, kinds: Kinds, market: Market, polished: Polished) -> Shelf:
    """Place the plates of the chosen orders once more, by the walk where costs are equal."""
    seats = class_demand(problem, polished.served)
    placed = polished.placed
    if ties_fit(market.arcs, seats, market.walk):
        placed = cheapest(market.arcs, seats, market.stock, tie=market.walk) or placed
    return shelf_of(problem, kinds, market.arcs, placed)


def class_demand(problem: Problem, served: Ints) -> Ints:
    """Return how many seats of each class the served orders fill, shape (classes,)."""
    return problem.demand(served)[: len(problem.classes)].round().astype(int)


def value_of(work: Work, served: Ints) -> Decimal:
    """Return what the served orders are worth."""
    return int(work.problem.groups.value @ served) * work.problem.value_unit
