"""From chosen orders and placed plates to the answer people read: every seat with its plate."""

import time
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from types import MappingProxyType
from typing import Final

import numpy as np

from combwright.allocation.answer import Kitted, Made, Placed, Served
from combwright.allocation.fewer import Frugal
from combwright.allocation.handing import MOST_EXCHANGED, Handing
from combwright.allocation.labour import labour_of
from combwright.allocation.orders import Copy, Order, Want
from combwright.allocation.problem import Ints, Problem, money, money_units
from combwright.allocation.reservations import Kept, wants_in
from combwright.allocation.shelf import Shelf
from combwright.allocation.stock import Bin
from combwright.allocation.workshop import Workshop

#: Looking for fewer batches takes no longer than this.
MOST_SECONDS: Final = 2.0


class Builder:
    """Makes `Placed` and `Served`; one object serves all copies of the same seat and bin."""

    def __init__(self, workshop: Workshop, part_cost: Mapping[str, int]) -> None:
        self._labour = labour_of(workshop)
        self.part_cost = part_cost
        self._placed: dict[tuple[int, str], tuple[Placed, int]] = {}
        self._wants: list[Want] = []

    def placed(self, want: Want, plate: Bin) -> tuple[Placed, int]:
        """Return a plate in a seat, and its cost in millionths."""
        key = (id(want), plate.code)
        known = self._placed.get(key)
        if known is None:
            self._wants.append(want)  # keeps the want alive, so that its id stays its own
            retune = want.pitch_mc - plate.pitch_mc
            way, labour = self._labour.of(retune)
            cost = money_units(plate.cost) + labour
            placed = Placed(want, plate.code, plate.batch, retune / 1000, way, money(cost))
            known = self._placed[key] = (placed, cost)
        return known

    def served(self, order: Order, plates: Sequence[Sequence[Bin]]) -> Served:
        """Return an order with a plate for every want of every copy, seats before kit."""
        made, units = [], 0
        arrives: date | None = None
        for copy, bins in zip(order.copies, plates, strict=True):
            one, cost = self._made(copy, bins)
            made.append(one)
            units += cost
            days = [each.arrives for each in bins if each.arrives is not None]
            arrives = max([*days, arrives] if arrives else days, default=None)
        return Served(order, tuple(made), money(units), arrives)

    def _made(self, copy: Copy, bins: Sequence[Bin]) -> tuple[Made, int]:
        design = copy.design
        wants = wants_in(design)
        pairs = [self.placed(want, plate) for want, plate in zip(wants, bins, strict=True)]
        seats = tuple(placed for placed, _ in pairs[: len(design.seats)])
        kit = tuple(
            Kitted(spare.label, placed)
            for spare, (placed, _) in zip(design.kit, pairs[len(seats) :], strict=True)
        )
        cost = sum(cost for _, cost in pairs)
        cost += sum(self.part_cost.get(name, 0) * n for name, n in design.parts.items())
        return Made(copy.row, copy.copy, seats, kit), cost


def builder_of(problem: Problem, workshop: Workshop) -> Builder:
    """Return a builder with the problem's part costs."""
    costs = zip(problem.parts, problem.part_cost.tolist(), strict=True)
    return Builder(workshop, dict(costs))


def ready_places(problem: Problem, served: Ints) -> list[int]:
    """Return the places of the orders that ship, in the order given."""
    groups = problem.groups
    chosen = (groups.members[g][: served[g]] for g in np.flatnonzero(served).tolist())
    return sorted(place for members in chosen for place in members)


def hand_out(
    problem: Problem,
    shelf: Shelf,
    orders: Sequence[Order],
    places: Iterable[int],
    *,
    kept: Kept = MappingProxyType({}),
    seconds: float = MOST_SECONDS,
) -> dict[int, list[list[Bin]]]:
    """Give every copy of some orders its plates.

    Parameters
    ----------
    problem, shelf, orders
        As planned; the shelf holds what `kept` does not.
    places : iterable of int
        Places of the orders, in the order in which they are served.
    kept : mapping
        Plates that some seats have already.
    seconds : float
        How long to look for fewer batches in an instrument, at most.

    Returns
    -------
    dict
        For each order's place a list of bins for each copy, its seats before its kit.
    """
    total = sum(pool.total() for pool in shelf.pool)
    plain = Handing(shelf, exchange=total <= MOST_EXCHANGED)
    handing = Frugal(plain, time.monotonic() + seconds) if plain.exchange else plain
    out: dict[int, list[list[Bin]]] = {}
    for place in places:
        rank = int(problem.due_ranks[place])
        out[place] = []
        for number, copy in enumerate(orders[place].copies):
            has = kept.get((place, number), {})
            wants = wants_in(copy.design)
            seats = [problem.class_of[w, rank] for n, w in enumerate(wants) if n not in has]
            fresh = iter(handing.give(seats))
            plates = [has[n] if n in has else next(fresh) for n in range(len(wants))]
            out[place].append([problem.bins[plate] for plate in plates])
    return out


def total_cost(served: Iterable[Served]) -> Decimal:
    """Return what all ready orders cost."""
    return sum((each.cost for each in served if each.cost is not None), Decimal(0))
