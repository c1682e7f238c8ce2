"""Plates by kind, and what an order costs in parts."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from combwright.allocation.problem import (
    MOUNT_CODES,
    NANOMETRES,
    Ints,
    Problem,
    money_units,
)
from combwright.allocation.stock import Bin
from combwright.allocation.walking import walk_key

_NEVER: Final = np.iinfo(np.int64).max


@dataclass(frozen=True, slots=True)
class Kinds:
    """Plates of one batch that cost the same wherever they go.

    Parameters
    ----------
    pitch, slot, mount, arrival, price, stock : arrays, shape (kinds,)
        Pitch in thousandths of a cent, slot in nanometres, price in millionths.
    batch : array, shape (kinds,)
        Number of the batch, in the order in which the bins name them.
    bins : tuple of tuples of int
        The problem's bins behind each kind, in walking order.
    walk : array, shape (kinds,)
        Place of its first bin on the walk.
    turn : array, shape (bins,)
        Place of each bin on the walk.
    """

    pitch: Ints
    slot: Ints
    mount: Ints
    arrival: Ints
    price: Ints
    batch: Ints
    stock: Ints
    bins: tuple[tuple[int, ...], ...]
    walk: Ints
    turn: Ints


def kinds_of(problem: Problem) -> Kinds:
    """Sort the problem's bins into kinds."""
    bins = problem.bins
    rank = np.empty(len(bins), dtype=np.int64)
    rank[sorted(range(len(bins)), key=lambda n: walk_key(bins[n]))] = np.arange(len(bins))
    batches: dict[str, int] = {}
    for each in bins:
        batches.setdefault(each.batch, len(batches))
    rows = np.array(
        [(*_row(problem, each), batches[each.batch]) for each in bins], dtype=np.int64
    ).reshape(-1, 6)
    distinct, kind = np.unique(rows, axis=0, return_inverse=True)
    kind = kind.ravel()
    count = np.array([each.count for each in bins], dtype=np.int64)
    members: list[list[int]] = [[] for _ in distinct]
    for place in np.argsort(rank):
        members[kind[place]].append(int(place))
    pitch, slot, mount, arrival, price, batch = np.ascontiguousarray(distinct.T)
    return Kinds(
        pitch, slot, mount, arrival, price, batch,
        stock=np.bincount(kind, count, len(distinct)).astype(np.int64),
        bins=tuple(tuple(m) for m in members),
        walk=np.array([rank[m[0]] for m in members], dtype=np.int64),
        turn=rank,
    )  # fmt: skip


def _row(problem: Problem, plate: Bin) -> tuple[int, int, int, int, int]:
    arrival = 0 if plate.arrives is None else problem.arrivals.index(plate.arrives) + 1
    slot = round(plate.slot_mm * NANOMETRES)
    return (plate.pitch_mc, slot, MOUNT_CODES[plate.mount], arrival, money_units(plate.cost))


def parts_cost(problem: Problem) -> Ints:
    """Return what one order of each group costs in parts, in millionths, shape (groups,)."""
    groups, first = problem.groups, len(problem.classes)
    price = np.concatenate([np.zeros(first, dtype=np.int64), problem.part_cost])
    total = np.zeros(len(groups), dtype=np.int64)
    np.add.at(total, groups.owner, groups.amount * price[groups.column])
    return total
