"""Is a plan one that the workshop could carry out? Checked seat by seat, apart from the planner.

A fast plan that takes a plate twice would be worth nothing, so every plan that is timed is judged.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

from benchmarks.merging import lies_in_rack, limits_mc
from combwright.allocation.answer import Made, Placed, Plan, Reservation
from combwright.allocation.orders import Copy, Order
from combwright.allocation.stock import Bin, Stock
from combwright.allocation.workshop import Workshop

Place = tuple[str, int, int, str]  # order, row, copy, place
#: Costs may be rounded to whole cents plate by plate.
ROUNDING = Decimal("0.005")


def faults(stock: Stock, orders: Sequence[Order], workshop: Workshop, plan: Plan) -> Iterator[str]:
    """Name everything in a plan that cannot be; nothing when it is sound."""
    bins = {each.code: each for each in stock.bins if lies_in_rack(each)}
    used: Counter[str] = Counter()
    value, cost = Decimal(0), Decimal(0)
    if [served.order for served in plan.served] != list(orders):
        yield "the orders are not answered one by one"
    for served in filter(lambda each: each.ready, plan.served):
        value += served.order.value
        cost += served.cost or 0
        yield from _incomplete(served.order, served.made)
        if sum(placed.cost for placed in _plates(served.made)) != served.cost:
            yield f"order {served.order.name} does not cost what its plates cost"
        for placed in _plates(served.made):
            used[placed.bin] += 1
            yield from _unfit(bins.get(placed.bin), placed, workshop)
    for code, count in used.items():
        if code in bins and count > bins[code].count:
            yield f"bin {code} holds {bins[code].count} plates and gives {count}"
    if value != plan.value or cost != plan.cost:
        yield f"sums {value} and {cost} differ from {plan.value} and {plan.cost}"
    if plan.value > plan.value_bound or plan.cost < plan.cost_bound:
        yield "a bound is on the wrong side"


def _plates(made: Iterable[Made]) -> Iterator[Placed]:
    for each in made:
        yield from each.seats
        yield from (kitted.placed for kitted in each.kit)


def _incomplete(order: Order, made: Sequence[Made]) -> Iterator[str]:
    """Name an order whose seats and kit are not all there."""
    wanted = Counter(_wanted(copy) for copy in order.copies)
    given = Counter(
        (m.row, m.copy, tuple(p.want for p in m.seats), tuple(k.placed.want for k in m.kit))
        for m in made
    )
    if wanted != given:
        yield f"order {order.name} is not complete"


def _wanted(copy: Copy) -> tuple[object, ...]:
    kit = tuple(each.want for each in copy.design.kit)
    return (copy.row, copy.copy, copy.design.seats, kit)


def _unfit(taken: Bin | None, placed: Placed, workshop: Workshop) -> Iterator[str]:
    """Name a plate that is no stock, does not fit, or is retuned too far or at a wrong price."""
    if taken is None:
        yield f"bin {placed.bin} has no plates to give"
        return
    want, shift = placed.want, placed.want.pitch_mc - taken.pitch_mc
    lower, raised = limits_mc(workshop)
    if not -lower <= shift <= raised or round(1000 * placed.retune_cents) != shift:
        yield f"a plate of bin {taken.code} is retuned by {shift} thousandths of a cent"
    if taken.slot_mm > want.takes_mm or want.mount not in ("any", taken.mount):
        yield f"a plate of bin {taken.code} does not fit hole {want.hole}"
    retune = workshop.retune
    cents = Decimal(abs(shift)) / 1000
    labour = retune.fixed + retune.each_cent * cents if cents > retune.free_cents else Decimal(0)
    if abs(taken.cost + labour - placed.cost) > ROUNDING:
        yield f"a plate of bin {taken.code} costs {taken.cost + labour} and not {placed.cost}"


def places(plan: Plan) -> dict[Place, Placed]:
    """Return every plate of a plan by where it goes."""
    found: dict[Place, Placed] = {}
    for served in plan.served:
        for made in served.made:
            named = (served.order.name, made.row, made.copy)
            for placed in made.seats:
                want = placed.want
                found[*named, f"{want.hole} {want.deck} {want.breath}"] = placed
            for number, kitted in enumerate(made.kit, start=1):
                found[*named, f"kit {number}"] = kitted.placed
    return found


def reservations(plan: Plan, names: Iterable[str]) -> list[Reservation]:
    """Return the plates a plan set aside for some orders."""
    wanted = set(names)
    return [
        Reservation(*place, bin=placed.bin, batch=placed.batch)
        for place, placed in places(plan).items()
        if place[0] in wanted
    ]


def moved(before: Sequence[Reservation], after: Plan) -> int:
    """Count the plates set aside before that a later plan puts elsewhere or leaves out."""
    now = places(after)
    return sum(
        (placed := now.get((r.order, r.row, r.copy, r.place))) is None or placed.bin != r.bin
        for r in before
    )
