"""What earlier reservations ask of a plan, by exact assignment on single plates.

A plate set aside stays when its place gets a plate of the same bin again. With the orders that
ship given, as many plates as possible stay, and then the cost is as low as it can be with that.
"""

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

import numpy as np
from scipy.optimize import linear_sum_assignment

from allocation.oracle import MICRO, Case, Need, micro, plate_cost
from combwright.allocation.answer import Made, Placed, Plan, Reservation
from combwright.allocation.orders import Order

#: More than any plan here costs, in millionths; sums stay exact in floats.
MOVED = 2**40

Place = tuple[str, int, int, str]


def place_of(kept: Reservation) -> Place:
    """Return where a reservation stands."""
    return kept.order, kept.row, kept.copy, kept.place


def places_of(order: Order) -> Iterator[tuple[Place, Need]]:
    """Yield the places of an order, seats before kit, copy by copy."""
    for copy in order.copies:
        for want in copy.design.seats:
            at = f"{want.hole} {want.deck} {want.breath}"
            yield (order.name, copy.row, copy.copy, at), (want, order.due)
        for number, each in enumerate(copy.design.kit, start=1):
            yield (order.name, copy.row, copy.copy, f"kit {number}"), (each.want, order.due)


def reservations(plan: Plan) -> list[Reservation]:
    """Return a plan's plates as an earlier plan's reservations."""
    return [
        Reservation(served.order.name, made.row, made.copy, place, placed.bin, placed.batch)
        for served in plan.served
        for made in served.made
        for place, placed in placed_by_place(made)
    ]


def placed_by_place(made: Made) -> Iterator[tuple[str, Placed]]:
    """Yield the plates of one copy with the name of their place."""
    for placed in made.seats:
        yield f"{placed.want.hole} {placed.want.deck} {placed.want.breath}", placed
    for number, kitted in enumerate(made.kit, start=1):
        yield f"kit {number}", kitted.placed


def kept_in(plan: Plan, keep: Iterable[Reservation]) -> int:
    """Count the reservations that a plan leaves where they are."""
    return len(set(reservations(plan)) & set(keep))


def is_reserved(case: Case, order: Order, keep: Iterable[Reservation]) -> bool:
    """Tell whether any plate set aside for an order is still there and may serve it."""
    reserved = {place_of(each): each.bin for each in keep}
    bins = {plate.code: plate for plate in case.stock.bins if plate.count}
    for place, need in places_of(order):
        plate = bins.get(reserved.get(place, ""))
        if plate is not None and plate_cost(plate, need, case.workshop) is not None:
            return True
    return False


def fewest_moves(
    case: Case, chosen: Iterable[int], keep: Sequence[Reservation]
) -> tuple[int, Decimal]:
    """Return how many reserved plates can stay when these orders ship, and the plates' cost then.

    Orders that do not ship together are the caller's mistake.
    """
    reserved = {place_of(each): each.bin for each in keep}
    wanted = [pair for i in chosen for pair in places_of(case.orders[i])]
    plates = [each for each in case.stock.bins for _ in range(min(each.count, len(wanted)))]
    if not wanted:
        return 0, Decimal(0)
    costs = np.full((len(wanted), len(plates)), np.inf)
    for i, (place, need) in enumerate(wanted):
        for j, plate in enumerate(plates):
            cost = plate_cost(plate, need, case.workshop)
            if cost is not None:
                costs[i, j] = micro(cost) + MOVED * (reserved.get(place) != plate.code)
    moved, money = divmod(int(costs[linear_sum_assignment(costs)].sum()), MOVED)
    return len(wanted) - moved, Decimal(money) / MICRO
