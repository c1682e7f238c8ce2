"""Planning again beside plates that are set aside: as few of them as possible are moved.

Orders are chosen as if nothing were set aside, those with plates preferred among equals. If all
their plates can stay without loss of value, they do, and only the rest is planned. If not, every
plate that stays earns a bonus larger than any saving.
"""

import time
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

import numpy as np

from combwright.allocation.answer import Plan, Reservation, Served
from combwright.allocation.building import builder_of, hand_out, ready_places, total_cost
from combwright.allocation.choosing import Choice, choose
from combwright.allocation.costs import Kinds, kinds_of
from combwright.allocation.market import Arcs, market_of
from combwright.allocation.orders import Copy, Design, Order
from combwright.allocation.placing import Placement, cheapest_keeping
from combwright.allocation.planner import (
    CHOOSING_SHARE,
    Progress,
    Work,
    class_demand,
    plan_fresh,
    start_work,
    value_of,
)
from combwright.allocation.polishing import lower_bound
from combwright.allocation.problem import money
from combwright.allocation.promises import PromiseCannotBeKept
from combwright.allocation.reservations import Kept, usable, wants_in
from combwright.allocation.shelf import shelf_of
from combwright.allocation.shortages import shortages_of
from combwright.allocation.stock import Bin, Stock
from combwright.allocation.workshop import Workshop


def plan_keeping(
    stock: Stock,
    orders: Sequence[Order],
    workshop: Workshop,
    seconds: float,
    keep: Sequence[Reservation],
    progress: Progress | None,
) -> Plan:
    """Plan as `planner.plan`, with plates set aside.

    Raises
    ------
    PromiseCannotBeKept
        If the promised orders cannot all be filled.
    """
    started = time.monotonic()
    bare = start_work(stock, orders, workshop)
    kept = usable(bare.problem, orders, workshop, keep)
    work = start_work(stock, orders, workshop, kept=frozenset(place for place, _ in kept))
    choice = choose(work.problem, work.oracle, until=started + CHOOSING_SHARE * seconds)
    ready = set(ready_places(work.problem, choice.served))
    staying = {key: bins for key, bins in kept.items() if key[0] in ready}
    until = started + seconds
    rest = _plan_rest(stock, work, staying, until - time.monotonic(), progress)
    if rest is not None and _as_good(work, choice, rest):
        return _joined(work, choice, staying, rest)
    return _with_bonus(work, choice, staying, until)


def _as_good(work: Work, choice: Choice, rest: Plan) -> bool:
    """Say whether the rest's plan ships as much as was chosen, orders without value counted too."""
    groups = work.problem.groups
    worthless = int(choice.served[groups.value == 0].sum())
    shipped = sum(each.ready and not each.order.value for each in rest.served)
    return rest.value == value_of(work, choice.served) and shipped == worthless


def _plan_rest(
    stock: Stock, work: Work, staying: Kept, seconds: float, progress: Progress | None
) -> Plan | None:
    """Plan what the plates that stay leave over; None when that breaks a promise."""
    used = Counter(work.problem.bins[n].code for bins in staying.values() for n in bins.values())
    bins = tuple(replace(each, count=each.count - used[each.code]) for each in stock.bins)
    places = {place for place, _ in staying}
    orders = [
        _remainder(order, place, staying) if place in places else order
        for place, order in enumerate(work.orders)
    ]
    try:
        return plan_fresh(
            replace(stock, bins=bins), orders, work.workshop, max(seconds, 1.0), progress
        )
    except PromiseCannotBeKept:
        return None


def _remainder(order: Order, place: int, staying: Kept) -> Order:
    """Return an order that must be served, without the seats whose plates stay."""
    copies = tuple(
        replace(copy, design=_without(copy.design, staying.get((place, number), {})))
        for number, copy in enumerate(order.copies)
    )
    return replace(order, copies=copies, promised=True)


def _without(design: Design, bins: Mapping[int, int]) -> Design:
    first = len(design.seats)
    return Design(
        seats=tuple(want for n, want in enumerate(design.seats) if n not in bins),
        kit=tuple(spare for n, spare in enumerate(design.kit, start=first) if n not in bins),
        parts=design.parts,
    )


def _joined(work: Work, choice: Choice, staying: Kept, rest: Plan) -> Plan:
    """Put the plates that stay and the plan of the rest together."""
    every = {each.code: each for each in work.problem.bins}
    plates = {
        place: [
            _merged(work, copy, staying.get((place, number), {}), part, number, every)
            for number, copy in enumerate(part.order.copies)
        ]
        for place, part in enumerate(rest.served)
        if part.ready
    }
    # Plates that stay cost what they cost; the bound says how far the rest may be from its best.
    return _answer(work, choice, plates, lambda cost: cost - (rest.cost - rest.cost_bound))


def _merged(
    work: Work,
    copy: Copy,
    bins: Mapping[int, int],
    part: Served,
    number: int,
    every: Mapping[str, Bin],
) -> list[Bin]:
    made = part.made[number]
    fresh = iter([*made.seats, *(spare.placed for spare in made.kit)])
    count = len(bins) + len(wants_in(copy.design))
    return [
        work.problem.bins[bins[n]] if n in bins else every[next(fresh).bin] for n in range(count)
    ]


def _with_bonus(work: Work, choice: Choice, staying: Kept, until: float) -> Plan:
    """Place all plates anew, each that stays where it was earning more than any saving."""
    problem, kinds = work.problem, kinds_of(work.problem)
    market = market_of(problem, kinds, work.workshop)
    arcs = market.arcs
    on_arc = _arcs_of(work, kinds, arcs, staying)
    reserved = np.bincount(list(on_arc.values()), minlength=len(arcs.seat)).astype(np.int64)
    seats = class_demand(problem, choice.served)
    flow = cheapest_keeping(arcs, seats, market.stock, reserved).flow
    idle = [each.count for each in problem.bins]
    fixed: dict[tuple[int, int], dict[int, int]] = {}
    for (key, number), arc in on_arc.items():
        if flow[arc]:
            plate = staying[key][number]
            fixed.setdefault(key, {})[number] = plate
            flow[arc] -= 1
            idle[plate] -= 1
    shelf = shelf_of(problem, kinds, arcs, Placement(flow, 0), idle=idle)
    ready = ready_places(problem, choice.served)
    plates = hand_out(problem, shelf, work.orders, ready, kept=fixed)
    lowest = money(lower_bound(problem, work.oracle, choice, market, until=until))
    return _answer(work, choice, plates, lambda cost: min(lowest, cost))


def _arcs_of(
    work: Work, kinds: Kinds, arcs: Arcs, staying: Kept
) -> dict[tuple[tuple[int, int], int], int]:
    """Return the arc from class to kind of every plate that is set aside."""
    problem = work.problem
    pairs = zip(arcs.seat.tolist(), arcs.kind.tolist(), strict=True)
    arc_of = {pair: n for n, pair in enumerate(pairs)}
    kind_of = {plate: kind for kind, members in enumerate(kinds.bins) for plate in members}
    found = {}
    for (place, copy), bins in staying.items():
        wants, rank = wants_in(work.orders[place].copies[copy].design), problem.due_ranks[place]
        for number, plate in bins.items():
            seat = problem.class_of[wants[number], int(rank)]
            found[(place, copy), number] = arc_of[seat, kind_of[plate]]
    return found


def _answer(
    work: Work,
    choice: Choice,
    plates: Mapping[int, Sequence[Sequence[Bin]]],
    bound: Callable[[Decimal], Decimal],
) -> Plan:
    problem, builder = work.problem, builder_of(work.problem, work.workshop)
    served = tuple(
        builder.served(order, plates[place]) if place in plates else Served(order)
        for place, order in enumerate(work.orders)
    )
    groups = problem.groups
    counts = np.array([sum(p in plates for p in m) for m in groups.members], dtype=np.int64)
    value, cost = value_of(work, counts), total_cost(served)
    return Plan(
        served=served,
        shortages=shortages_of(problem, work.oracle, work.orders, counts),
        value=value,
        value_bound=max(choice.bound * problem.value_unit, value),
        proven=choice.proven,
        cost=cost,
        cost_bound=bound(cost),
    )
