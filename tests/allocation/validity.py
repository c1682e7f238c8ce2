"""Whether an answer is one at all: every rule of the contract, read off a plan line by line.

`faults` returns sentences; a plan without faults may still not be the best (see `oracle`).
"""

from collections import Counter
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from itertools import combinations

from allocation.oracle import (
    Case,
    Need,
    needs_of,
    parts_cost,
    parts_of,
    plate_cost,
    retune_ways,
    supply,
)
from combwright.allocation.answer import Made, Placed, Plan, Served, Shortage
from combwright.allocation.orders import Order
from combwright.notes.names import note_name

#: Beyond this many kinds of needs a shortage's set is not searched for.
MOST_KINDS = 12


def faults(case: Case, plan: Plan) -> list[str]:
    """Return everything in a plan that the contract forbids."""
    found = [*stock_faults(case, plan), *sum_faults(plan), *queue_faults(case, plan)]
    if [each.order for each in plan.served] != list(case.orders):
        found.append("the orders are not those given, in the order given")
    for served in plan.served:
        found += [f"{served.order.name}: {each}" for each in order_faults(case, served)]
    for shortage in plan.shortages:
        found += [f"{shortage.text}: {each}" for each in shortage_faults(case, plan, shortage)]
    found += naming_faults(plan)
    return found


def all_placed(made: Made) -> list[Placed]:
    """Return the plates of one copy, seats before kit."""
    return [*made.seats, *(each.placed for each in made.kit)]


def stock_faults(case: Case, plan: Plan) -> Iterator[str]:
    """No bin gives more than it holds, no part is used more than there are."""
    used = Counter(p.bin for s in plan.served for made in s.made for p in all_placed(made))
    counts = {plate.code: plate.count for plate in case.stock.bins}
    for code, many in used.items():
        if many > counts.get(code, 0):
            yield f"bin {code} gives {many} of {counts.get(code, 0)}"
    if parts_cost(case.stock, [s.order for s in plan.served if s.ready]) is None:
        yield "more parts are used than there are"


def sum_faults(plan: Plan) -> Iterator[str]:
    """Values and costs are the sums of the ready orders'."""
    ready = [each for each in plan.served if each.ready]
    if plan.value != sum((each.order.value for each in ready), Decimal(0)):
        yield f"the value {plan.value} is not the sum of the ready orders'"
    if plan.cost != sum((each.cost or Decimal(0) for each in ready), Decimal(0)):
        yield f"the cost {plan.cost} is not the sum of the ready orders'"
    if plan.value_bound < plan.value or plan.cost_bound > plan.cost:
        yield "a bound lies on the wrong side"


def order_faults(case: Case, served: Served) -> Iterator[str]:
    """An order that waits has nothing; a ready one has all its copies, seats and kit plates."""
    if not served.ready:
        if served.made or served.arrives:
            yield "waits but has plates"
        return
    copies = [(copy.row, copy.copy) for copy in served.order.copies]
    if [(made.row, made.copy) for made in served.made] != copies:
        yield f"does not have the copies {copies}"
        return
    for copy, made in zip(served.order.copies, served.made, strict=True):
        if tuple(placed.want for placed in made.seats) != copy.design.seats:
            yield "has other seats than its design"
        if [(k.label, k.placed.want) for k in made.kit] != [
            (k.label, k.want) for k in copy.design.kit
        ]:
            yield "has another kit than its design"
        for placed in all_placed(made):
            yield from placed_faults(case, placed, served.order.due)
    yield from cost_faults(case, served)


def cost_faults(case: Case, served: Served) -> Iterator[str]:
    """An order costs its plates and parts, and arrives with its last plate."""
    plates = [placed for made in served.made for placed in all_placed(made)]
    parts = parts_cost(case.stock, [served.order]) or Decimal(0)
    total = sum((placed.cost for placed in plates), parts)
    if served.cost != total:
        yield f"costs {served.cost}, its plates and parts {total}"
    arrivals = {plate.code: plate.arrives for plate in case.stock.bins}
    days = [day for placed in plates if (day := arrivals.get(placed.bin)) is not None]
    if served.arrives != max(days, default=None):
        yield f"arrives {served.arrives}, its last plate {max(days, default=None)}"


def placed_faults(case: Case, placed: Placed, due: date | None) -> Iterator[str]:
    """A plate may lie in its seat, and its line says rightly how it gets there."""
    plate = next((each for each in case.stock.bins if each.code == placed.bin), None)
    cost = plate_cost(plate, (placed.want, due), case.workshop) if plate else None
    if plate is None or cost is None:
        yield f"bin {placed.bin} may not serve {placed.want}"
        return
    if placed.cost != cost:
        yield f"bin {placed.bin} costs {placed.cost}, rightly {cost}"
    if placed.batch != plate.batch:
        yield f"bin {placed.bin} is of batch {plate.batch}, not {placed.batch}"
    r = placed.want.pitch_mc - plate.pitch_mc
    if abs(placed.retune_cents - r / 1000) > 1e-9:
        yield f"bin {placed.bin} is retuned by {placed.retune_cents}, rightly {r / 1000}"
    ways = retune_ways(plate, placed.want, case.workshop)
    if ways.get(placed.way) != min(ways.values()):
        yield f"bin {placed.bin} is retuned by {placed.way}, rightly {ways}"


def queue_faults(case: Case, plan: Plan) -> Iterator[str]:
    """Of identical orders the earlier due, then the earlier in the file, is served."""
    queue = [(s.order.due or date.max, at, s) for at, s in enumerate(plan.served)]
    for due, at, waits in queue:
        for other_due, other_at, ready in queue:
            jumped = ready.ready and not waits.ready and (due, at) < (other_due, other_at)
            if jumped and same_wish(waits.order, ready.order) and could_take(case, waits, ready):
                yield f"{ready.order.name} at {other_at} is served before its like at {at}"


def same_wish(one: Order, other: Order) -> bool:
    """Tell whether two orders are identical but for name and day."""
    return [c.design for c in one.copies] == [c.design for c in other.copies] and (
        (one.value, one.priority, one.promised) == (other.value, other.priority, other.promised)
    )


def could_take(case: Case, waits: Served, ready: Served) -> bool:
    """Tell whether every plate of a ready order would have come in time for the waiting one."""
    arrivals = {plate.code: plate.arrives for plate in case.stock.bins}
    due = waits.order.due or date.max
    plates = [placed.bin for made in ready.made for placed in all_placed(made)]
    return all((arrivals[code] or date.min) <= due for code in plates)


def naming_faults(plan: Plan) -> Iterator[str]:
    """Every waiting order is named by a shortage; the largest shortage stands first."""
    named = {name for shortage in plan.shortages for name in shortage.orders}
    for name in {s.order.name for s in plan.served if not s.ready} - named:
        yield f"{name} waits and no shortage names it"
    missing = [shortage.missing for shortage in plan.shortages]
    if missing != sorted(missing, reverse=True):
        yield f"shortages are not in order: {missing}"


def shortage_faults(case: Case, plan: Plan, shortage: Shortage) -> Iterator[str]:
    """A shortage misses what open orders want of it beyond what serves it, and says who waits."""
    if shortage.missing < 1 or str(shortage.missing) not in shortage.text:
        yield f"misses {shortage.missing}"
    waiting = {s.order.name for s in plan.served if not s.ready}
    if not shortage.orders or not set(shortage.orders) <= waiting:
        yield f"names {shortage.orders}, of which not all wait"
    if bool(shortage.parts) == bool(shortage.pitches):
        yield "is of both plates and parts, or of neither"
    elif shortage.parts:
        if shortage.missing != (lacking := parts_lacking(case, shortage.parts)):
            yield f"misses {shortage.missing} parts, rightly {lacking}"
    elif list(shortage.pitches) != [n for n in map(note_name, range(128)) if n in shortage.pitches]:
        yield f"does not name its pitches from low to high: {shortage.pitches}"
    elif shortage.missing not in (sizes := possible_sizes(case, shortage)):
        yield f"misses {shortage.missing}; sets of these pitches and holes miss {sorted(sizes)}"


def parts_lacking(case: Case, names: tuple[str, ...]) -> int:
    """Return how many of some parts all orders want beyond those in stock."""
    demand, parts = parts_of(case.orders), case.stock.parts or {}
    return sum(demand[name] - (parts[name].count if name in parts else 0) for name in names)


def possible_sizes(case: Case, shortage: Shortage) -> set[int]:
    """Return what every set of seats with a shortage's pitches and holes misses.

    A shortage does not say which seats exactly it is about, so all sets that fit its words are
    tried; seats that the same bins serve go together when there are too many.
    """
    kinds: dict[object, list[Need]] = {}
    everything = [need for order in case.orders for need in needs_of(order)]
    inside = [
        (want, due)
        for want, due in everything
        if want.note in shortage.pitches and want.hole in shortage.holes
    ]
    for fine in (True, False):
        kinds = {}
        for need in inside:
            bins = tuple(
                b.code for b in case.stock.bins if plate_cost(b, need, case.workshop) is not None
            )
            key = (bins, need[0].note, need[0].hole) if fine else bins
            kinds.setdefault(key, []).append(need)
        if len(kinds) <= MOST_KINDS:
            break
    sizes = set()
    for many in range(1, len(kinds) + 1):
        for some in combinations(kinds.values(), many):
            needs = [need for kind in some for need in kind]
            notes, holes = {w.note for w, _ in needs}, {w.hole for w, _ in needs}
            if notes == set(shortage.pitches) and holes == set(shortage.holes):
                sizes.add(len(needs) - supply(case.stock, needs, case.workshop))
    return sizes
