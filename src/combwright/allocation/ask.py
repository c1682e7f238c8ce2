"""Whether a wish can be built now, and if not, what is missing."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from combwright.allocation.answer import Buildable, Reservation
from combwright.allocation.building import builder_of, hand_out
from combwright.allocation.costs import kinds_of
from combwright.allocation.eligible import reach
from combwright.allocation.hall import HallOracle
from combwright.allocation.market import market_of
from combwright.allocation.orders import Copy, Design, Order
from combwright.allocation.placing import cheapest
from combwright.allocation.reservations import wants_in
from combwright.allocation.shelf import shelf_of
from combwright.allocation.shortages import shortage_of
from combwright.allocation.sorting import build_problem
from combwright.allocation.stock import Stock
from combwright.allocation.workshop import Workshop

_ASKED: Final = "the wish"


def can_build(
    stock: Stock,
    design: Design,
    workshop: Workshop = Workshop(),  # noqa: B008 (frozen)
    *,
    keep: Sequence[Reservation] = (),
) -> Buildable:
    """Say whether one wish can be built from what is free now.

    Parameters
    ----------
    stock : Stock
        Bins and parts; held bins are left alone.
    design : Design
        The wish: an instrument with its kit, or loose plates.
    workshop : Workshop
        Retune limits and what labour costs.
    keep : sequence of Reservation
        Plates set aside for other orders; they stay where they are.

    Returns
    -------
    Buildable
        With the cheapest plates, or with what is missing.
    """
    order = Order(_ASKED, (Copy(1, 1, design),))
    free = _near(_without(stock, keep), design, workshop)
    problem = build_problem(free, [order])
    demand = problem.demand(np.ones(1))
    broken = HallOracle(problem, workshop).violated(demand)
    if broken:
        missing = (shortage_of(problem, each, demand) for each in broken)
        return Buildable(False, None, None, tuple(sorted(missing, key=lambda m: -m.missing)))
    kinds = kinds_of(problem)
    arcs = market_of(problem, kinds, workshop).arcs
    seats = demand[: len(problem.classes)].astype(np.int64)
    placed = cheapest(arcs, seats, kinds.stock, tie=kinds.walk)
    if placed is None:
        raise AssertionError("no Hall set is broken, yet the seats cannot be filled")
    plates = hand_out(problem, shelf_of(problem, kinds, arcs, placed), [order], [0])[0]
    served = builder_of(problem, workshop).served(order, plates)
    return Buildable(True, served.made[0], served.cost)


def _without(stock: Stock, keep: Sequence[Reservation]) -> Stock:
    """Return the stock less what is set aside."""
    if not keep:
        return stock
    used = Counter(each.bin for each in keep)
    bins = tuple(
        replace(each, count=max(each.count - used[each.code], 0)) if each.code in used else each
        for each in stock.bins
    )
    return replace(stock, bins=bins)


def _near(stock: Stock, design: Design, workshop: Workshop) -> Stock:
    """Leave out bins that none of the wish's seats could use, so that the rest is quick."""
    up, down = reach(workshop)
    pitches = np.unique([want.pitch_mc for want in wants_in(design)])
    have = np.array([each.pitch_mc for each in stock.bins], dtype=np.int64)
    if not len(have):
        return stock
    first = np.searchsorted(pitches, have - down, side="left")
    near = first < np.searchsorted(pitches, have + up, side="right")
    return replace(stock, bins=tuple(stock.bins[n] for n in np.flatnonzero(near)))
