"""Plates set aside by an earlier plan, matched with today's orders and bins."""

from collections.abc import Mapping, Sequence
from typing import TypeAlias

from combwright.allocation.answer import Reservation
from combwright.allocation.eligible import suits
from combwright.allocation.orders import Design, Order, Want
from combwright.allocation.problem import Problem
from combwright.allocation.workshop import Workshop

#: For each order's place and number of copy: which of its wants has which of the problem's bins.
Kept: TypeAlias = Mapping[tuple[int, int], Mapping[int, int]]


def wants_in(design: Design) -> tuple[Want, ...]:
    """Return every plate a design wants, the instrument's before the kit's."""
    return (*design.seats, *(spare.want for spare in design.kit))


def place_name(design: Design, number: int) -> str:
    """Return what a design's want is called in a reservation: `3 upper blow` or `kit 1`."""
    if number < len(design.seats):
        want = design.seats[number]
        return f"{want.hole} {want.deck} {want.breath}"
    return f"kit {number - len(design.seats) + 1}"


def usable(
    problem: Problem, orders: Sequence[Order], workshop: Workshop, keep: Sequence[Reservation]
) -> Kept:
    """Match reservations with orders and bins; those that no longer fit are left out.

    A reservation falls away when its order, its seat or its bin is gone or held, when the bin has
    too few plates left, or when the plate no longer suits the seat.
    """
    where = {
        (order.name, copy.row, copy.copy): (place, number)
        for place, order in enumerate(orders)
        for number, copy in enumerate(order.copies)
    }
    bins = {each.code: n for n, each in enumerate(problem.bins)}
    left = [each.count for each in problem.bins]
    kept: dict[tuple[int, int], dict[int, int]] = {}
    for each in keep:
        key, plate = where.get((each.order, each.row, each.copy)), bins.get(each.bin)
        if key is None or plate is None or not left[plate]:
            continue
        design = orders[key[0]].copies[key[1]].design
        number = _numbers(design).get(each.place)
        if number is None or number in kept.get(key, {}):
            continue
        rank = int(problem.due_ranks[key[0]])
        if suits(problem, wants_in(design)[number], rank, problem.bins[plate], workshop):
            kept.setdefault(key, {})[number] = plate
            left[plate] -= 1
    return kept


def _numbers(design: Design) -> dict[str, int]:
    return {place_name(design, n): n for n in range(len(design.seats) + len(design.kit))}
