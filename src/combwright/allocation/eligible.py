"""Which kinds of plates may go into which class of seats: retune limits, slot, mount, arrival."""

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from combwright.allocation.orders import Want
from combwright.allocation.problem import NANOMETRES, Ints, Problem
from combwright.allocation.stock import Bin
from combwright.allocation.workshop import Workshop


def reach(workshop: Workshop) -> tuple[int, int]:
    """Return how far a plate may be raised and lowered, in thousandths of a cent."""
    lower = max(workshop.retune.lower_most_cents, workshop.weight.lower_most_cents)
    return round(1000 * workshop.retune.raise_most_cents), round(1000 * lower)


def suits(problem: Problem, want: Want, due_rank: int, plate: Bin, workshop: Workshop) -> bool:
    """Say whether one plate may go into one seat of an order that is due by `due_rank`."""
    up, down = reach(workshop)
    early = plate.arrives is None or problem.arrivals.index(plate.arrives) < due_rank
    return (
        early
        and -down <= want.pitch_mc - plate.pitch_mc <= up
        and round(plate.slot_mm * NANOMETRES) <= round(want.takes_mm * NANOMETRES)
        and want.mount in ("any", plate.mount)
    )


@dataclass(slots=True)
class Eligible:
    """Kinds sorted by pitch, so that those a class may take lie together.

    Parameters
    ----------
    problem, workshop
        The classes, and how far plates may be retuned.
    pitch, slot, mount, arrival : arrays of int, shape (kinds,)
        Of each kind; pitch in thousandths of a cent, slot in nanometres.
    """

    problem: Problem
    workshop: Workshop
    pitch: Ints
    slot: Ints
    mount: Ints
    arrival: Ints
    _order: Ints = field(init=False)
    _low: Ints = field(init=False)
    _high: Ints = field(init=False)

    def __post_init__(self) -> None:
        wanted, (up, down) = self.problem.classes.pitch, reach(self.workshop)
        self._order = np.argsort(self.pitch, kind="stable")
        ranked = self.pitch[self._order]
        self._low = np.searchsorted(ranked, wanted - up, side="left")
        self._high = np.searchsorted(ranked, wanted + down, side="right")

    def __iter__(self) -> Iterator[Ints]:
        """Give for each class the kinds that it may take."""
        classes = self.problem.classes
        for c in range(len(classes)):
            near = self._order[self._low[c] : self._high[c]]
            fits = (self.slot[near] <= classes.takes[c]) & (self.arrival[near] <= classes.due[c])
            if classes.mount[c]:
                fits &= self.mount[near] == classes.mount[c]
            yield near[fits]

    def most_pairs(self) -> int:
        """Return how many pairs there are at the most."""
        return int((self._high - self._low).sum())

    def pairs(self) -> tuple[Ints, Ints]:
        """Return every class and kind that may be joined, by class; two arrays of one shape."""
        nothing = np.zeros(0, dtype=np.int64)
        heads = list(self)
        tails = np.repeat(np.arange(len(heads)), [len(head) for head in heads])
        return tails.astype(np.int64), np.concatenate([nothing, *heads])
