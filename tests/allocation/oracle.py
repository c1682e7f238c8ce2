"""The planner's contract once more, in plain Python and for small racks only.

Nothing here knows how the planner works. The rules, from the contract:

* A plate fits a seat when its slot is no longer than the seat takes and the deck accepts its mount.
  With r = wanted - have (thousandths of a cent) it can be made to sound when
  `-lower_most <= r <= raise_most`, both inclusive (filing), or when it must come down by no more
  than `weight.lower_most_cents` (a weight). Held bins serve nobody, and a bin that arrives serves
  only orders due on that day or later, or undated ones.
* A plate in a seat costs its bin's cost, and beyond `free_cents` the cheaper allowed way's
  `fixed + each_cent x |cents|`. Counted parts cost what the parts table says.
* An order ships complete, or not at all. Promised orders ship always. Then the value of priority 1
  is as high as can be, then that of priority 2, and so on; then as many orders of value 0 as
  possible ship; then the cost is as low as can be.

Sets of orders are enumerated; whether a set fits is found by augmenting paths, what it costs by
an exact assignment on single plates. Each has a second, slower answer to be held against.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import combinations

import numpy as np
from scipy.optimize import linear_sum_assignment

from combwright.allocation.orders import Order, Want
from combwright.allocation.stock import Bin, Stock
from combwright.allocation.workshop import Workshop

#: Money as whole millionths, so that sums in floats are exact.
MICRO = 1_000_000


@dataclass(frozen=True)
class Case:
    """A small plan to be made."""

    stock: Stock
    orders: tuple[Order, ...]
    workshop: Workshop = Workshop()  # noqa: RUF009 (frozen)


@dataclass(frozen=True)
class Best:
    """What the contract asks of a case: worth by class, and the least cost of the best sets."""

    worth: tuple[Decimal, ...]
    value: Decimal
    cost: Decimal
    sets: tuple[tuple[int, ...], ...]


#: A want, and the day its order is due.
Need = tuple[Want, date | None]


def retune_ways(plate: Bin, want: Want, workshop: Workshop) -> dict[str, Decimal]:
    """Return what each allowed way to the wanted pitch costs; empty when there is none."""
    r = want.pitch_mc - plate.pitch_mc
    file, weight = workshop.retune, workshop.weight
    by_file = -round(1000 * file.lower_most_cents) <= r <= round(1000 * file.raise_most_cents)
    by_weight = -round(1000 * weight.lower_most_cents) <= r < 0
    if not by_file and not by_weight:
        return {}
    if abs(r) <= round(1000 * file.free_cents):
        return {"none": Decimal(0)}
    cents = Decimal(abs(r)) / 1000
    ways = {}
    if by_file:
        ways["file"] = file.fixed + file.each_cent * cents
    if by_weight:
        ways["weight"] = weight.fixed + weight.each_cent * cents
    return ways


def plate_cost(plate: Bin, need: Need, workshop: Workshop) -> Decimal | None:
    """Return what a plate in a seat costs, or None when it may not lie there."""
    want, due = need
    late = plate.arrives is not None and due is not None and due < plate.arrives
    if plate.held or late or plate.slot_mm > want.takes_mm:
        return None
    if want.mount not in ("any", plate.mount):
        return None
    ways = retune_ways(plate, want, workshop)
    return plate.cost + min(ways.values()) if ways else None


def needs_of(order: Order) -> list[Need]:
    """Return every plate an order wants, seats before kit, copy by copy."""
    found: list[Need] = []
    for copy in order.copies:
        found += [(want, order.due) for want in copy.design.seats]
        found += [(each.want, order.due) for each in copy.design.kit]
    return found


def parts_of(orders: Iterable[Order]) -> Counter[str]:
    """Return the parts that orders use together."""
    used: Counter[str] = Counter()
    for order in orders:
        for copy in order.copies:
            used.update(copy.design.parts)
    return +used


def parts_cost(stock: Stock, orders: Iterable[Order]) -> Decimal | None:
    """Return what the parts of orders cost together, or None when there are too few."""
    if stock.parts is None:
        return Decimal(0)
    total = Decimal(0)
    for name, many in parts_of(orders).items():
        part = stock.parts.get(name)
        if part is None or part.count < many:
            return None
        total += many * part.cost
    return total


def can_match(stock: Stock, needs: Sequence[Need], workshop: Workshop) -> bool:
    """Tell by augmenting paths whether every need gets a plate of its own."""
    serves = [
        [b for b, plate in enumerate(stock.bins) if plate_cost(plate, need, workshop) is not None]
        for need in needs
    ]
    holders: list[list[int]] = [[] for _ in stock.bins]

    def seated(need: int, seen: set[int]) -> bool:
        for b in serves[need]:
            if b in seen:
                continue
            seen.add(b)
            if len(holders[b]) < stock.bins[b].count:
                holders[b].append(need)
                return True
            for place, other in enumerate(holders[b]):
                if seated(other, seen):
                    holders[b][place] = need
                    return True
        return False

    return all(seated(need, set()) for need in range(len(needs)))


def can_match_by_hall(stock: Stock, needs: Sequence[Need], workshop: Workshop) -> bool:
    """Tell the same by Hall's condition: no set of needs wants more than what serves it."""
    for size in range(1, len(needs) + 1):
        for some in combinations(needs, size):
            if size > supply(stock, some, workshop):
                return False
    return True


def supply(stock: Stock, needs: Iterable[Need], workshop: Workshop) -> int:
    """Return how many plates serve at least one of the needs."""
    some = list(needs)
    return sum(
        plate.count
        for plate in stock.bins
        if any(plate_cost(plate, need, workshop) is not None for need in some)
    )


def cheapest(stock: Stock, needs: Sequence[Need], workshop: Workshop) -> Decimal | None:
    """Return the least cost of plates for all needs, or None when they do not match."""
    if not needs:
        return Decimal(0)
    plates = [each for each in stock.bins for _ in range(min(each.count, len(needs)))]
    if len(plates) < len(needs):
        return None
    costs = np.full((len(needs), len(plates)), np.inf)
    for i, need in enumerate(needs):
        for j, plate in enumerate(plates):
            cost = plate_cost(plate, need, workshop)
            if cost is not None:
                costs[i, j] = micro(cost)
    if not can_match(stock, needs, workshop):
        return None
    rows, columns = linear_sum_assignment(costs)
    return Decimal(int(costs[rows, columns].sum())) / MICRO


def micro(money: Decimal) -> int:
    """Return money in whole millionths; it must be a whole number of them."""
    scaled = money * MICRO
    if scaled != int(scaled):
        raise ValueError(f"{money} is finer than a millionth")
    return int(scaled)


def feasible_sets(case: Case) -> Iterator[tuple[int, ...]]:
    """Yield every set of orders that can ship together, promised ones always among them."""
    promised = [i for i, order in enumerate(case.orders) if order.promised]
    free = [i for i, order in enumerate(case.orders) if not order.promised]

    def grow(chosen: list[int], start: int) -> Iterator[tuple[int, ...]]:
        if not ships(case, chosen):
            return
        yield tuple(sorted(chosen))
        for at in range(start, len(free)):
            yield from grow([*chosen, free[at]], at + 1)

    yield from grow(promised, 0)


def ships(case: Case, chosen: Iterable[int]) -> bool:
    """Tell whether these orders can ship together."""
    orders = [case.orders[i] for i in chosen]
    needs = [need for order in orders for need in needs_of(order)]
    return parts_cost(case.stock, orders) is not None and can_match(
        case.stock, needs, case.workshop
    )


def worth(orders: Sequence[Order], chosen: Iterable[int]) -> tuple[Decimal, ...]:
    """Return the value shipped, class by class, and last how many orders of value 0 ship."""
    classes = sorted({order.priority for order in orders})
    some = [orders[i] for i in chosen]
    values = [sum((o.value for o in some if o.priority == p), Decimal(0)) for p in classes]
    return (*values, Decimal(sum(o.value == 0 for o in some)))


def cost_of(case: Case, chosen: Iterable[int]) -> Decimal:
    """Return the least cost of a set of orders that ships."""
    orders = [case.orders[i] for i in chosen]
    needs = [need for order in orders for need in needs_of(order)]
    plates, parts = cheapest(case.stock, needs, case.workshop), parts_cost(case.stock, orders)
    if plates is None or parts is None:
        raise ValueError("these orders do not ship together")
    return plates + parts


def best(case: Case) -> Best | None:
    """Return what the best plan is worth and costs; None when a promise cannot be kept."""
    by_worth: dict[tuple[Decimal, ...], list[tuple[int, ...]]] = {}
    for chosen in feasible_sets(case):
        by_worth.setdefault(worth(case.orders, chosen), []).append(chosen)
    if not by_worth:
        return None
    top = max(by_worth)
    return Best(
        worth=top,
        value=sum(top[:-1], Decimal(0)),
        cost=min(cost_of(case, chosen) for chosen in by_worth[top]),
        sets=tuple(by_worth[top]),
    )


def best_by_trying(case: Case) -> tuple[tuple[Decimal, ...], Decimal] | None:
    """Return worth and cost again, by trying every plate for every seat; tiny cases only."""
    left = [each.count for each in case.stock.bins]
    found: list[tuple[tuple[Decimal, ...], Decimal]] = []

    def place(needs: list[Need], cost: Decimal, chosen: list[int], at: int) -> None:
        if not needs:
            decide(chosen, cost, at)
            return
        for b, plate in enumerate(case.stock.bins):
            extra = plate_cost(plate, needs[0], case.workshop)
            if extra is not None and left[b]:
                left[b] -= 1
                place(needs[1:], cost + extra, chosen, at)
                left[b] += 1

    def decide(chosen: list[int], cost: Decimal, at: int) -> None:
        if at == len(case.orders):
            parts = parts_cost(case.stock, [case.orders[i] for i in chosen])
            if parts is not None:
                found.append((worth(case.orders, chosen), cost + parts))
            return
        order = case.orders[at]
        place(needs_of(order), cost, [*chosen, at], at + 1)
        if not order.promised:
            decide(chosen, cost, at + 1)

    decide([], Decimal(0), 0)
    return max(found, key=lambda each: (each[0], -each[1])) if found else None
