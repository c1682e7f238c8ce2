"""Many layouts against many tunes: the kernel fed with arrays, its first compiling kept on disk."""

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Final, TypeVar

import numpy as np
from numpy.typing import NDArray

from combwright.comb.layouts import Layout
from combwright.playing.costs import PlayingCosts
from combwright.playing.repertoire import LANES, HoleWays, Ints, Repertoire, hole_ways, numbers_of

T = TypeVar("T")
#: Layouts that one thread works on at a time.
_PIECE: Final = 16


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

    def bounds(self, rows: Ints, worst: int) -> NDArray[np.int64]:
        """Return a doubled bound of each row's cost; above `worst` only that it is above."""
        from combwright.playing.kernel import bound_layouts

        tunes = self.repertoire
        return np.asarray(
            bound_layouts(
                rows, self.holes.ways, self.holes.ends, tunes.terms, tunes.term_ends, tunes.kinds,
                self.numbers, self.width, worst,
            )
        )  # fmt: skip

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


def in_threads(work: Callable[[Ints], T], rows: Ints, *, threads: int | None = None) -> list[T]:
    """Return what `work` gives for each piece of the rows, in order, on so many threads.

    Pieces are of one size whatever the threads, so the answers are too.
    """
    pieces = [rows[at : at + _PIECE] for at in range(0, len(rows), _PIECE)]
    many = min(threads or cores(), len(pieces))
    if many < 2:
        return [work(piece) for piece in pieces]
    with ThreadPoolExecutor(many) as pool:
        return list(pool.map(work, pieces))


def cores() -> int:
    """Return how many cores this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
