"""Many layouts against many tunes: the kernel fed with arrays, its first compiling kept on disk."""

import os
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from combwright.comb.layouts import Layout
from combwright.playing.costs import PlayingCosts
from combwright.playing.repertoire import LANES, HoleWays, Ints, Repertoire, hole_ways, numbers_of


@dataclass(frozen=True, slots=True)
class Fitter:
    """What every question about a repertoire and a set of hole variants shares.

    Parameters
    ----------
    repertoire : Repertoire
        The tunes.
    holes : HoleWays
        The variants that the rows of layouts name.
    numbers : array
        The costs between notes.
    allowed : array of bool, shape (tunes, 24)
        The places that a tune may be put to.
    """

    repertoire: Repertoire
    holes: HoleWays
    numbers: Ints
    allowed: NDArray[np.bool_]

    @property
    def width(self) -> int:
        """How many notes the kernel looks at: the widest tune in its highest place."""
        return self.repertoire.span + LANES

    def costs(self, rows: Ints) -> tuple[NDArray[np.int64], NDArray[np.int8]]:
        """Return each row's cost of each tune at its best place, and that place."""
        from combwright.playing.kernel import cost_layouts

        tunes = self.repertoire
        costs, places = cost_layouts(
            rows, self.holes.ways, self.holes.ends, tunes.notes, tunes.note_ends, tunes.terms,
            tunes.term_ends, tunes.kinds, self.numbers, self.width, self.allowed,
        )  # fmt: skip
        return np.asarray(costs), np.asarray(places)


def everywhere(tunes: int) -> NDArray[np.bool_]:
    """Allow every tune all 24 places."""
    return np.ones((tunes, LANES), np.bool_)


def fit_layout(
    repertoire: Repertoire, layout: Layout, costs: PlayingCosts, low: int
) -> tuple[NDArray[np.int64], NDArray[np.int8]]:
    """Return what each tune costs on one layout at its best place above `low`, and the place."""
    variants = [(hole, layout.in_hole(hole)) for hole in range(1, layout.holes + 1)]
    fitter = Fitter(
        repertoire,
        hole_ways(variants, costs, low),
        numbers_of(costs),
        everywhere(len(repertoire.lowest)),
    )
    found, places = fitter.costs(np.arange(layout.holes, dtype=np.int32).reshape(1, -1))
    return found[0], places[0]


def cores() -> int:
    """Return how many cores this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
