"""The best swaps for a repertoire, exactly: every set is bounded, and what may be best worked out.

A set's bound is never above its cost (see `kernel`). The worst of the best few sets known so far is
a line: a set whose bound lies above it cannot be among the best and is left. The others are worked
out in the order of their bounds, which lowers the line, until the next bound lies above it. What
is left over proves the answer. Bounds of single swaps are not added up: that is no bound at all.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Final, Protocol

import numpy as np
from numpy.typing import NDArray

from combwright.playing.costs import PlayingCosts
from combwright.playing.fitting import Fitter, everywhere, in_threads
from combwright.playing.repertoire import Ints, Repertoire, lowest_reed, numbers_of
from combwright.playing.swap_sets import Rows, Swap, SwapSpace

#: Sets that are bounded between two looks at the line, whatever the threads.
_BATCH: Final = 20_000
#: Sets that are worked out between two looks at the line.
_EXACT: Final = 64
#: How many sets of one swap fewer are built on for the first line.
_SEEDS: Final = 12


@dataclass(frozen=True, slots=True)
class Found:
    """A set of swaps and what the repertoire costs with it, in hundredths."""

    cost: int
    swaps: tuple[Swap, ...]


@dataclass(frozen=True, slots=True)
class Round:
    """The search among sets of one size.

    Parameters
    ----------
    size : int
        How many swaps.
    candidates, bounded, evaluated : int
        Sets there are, sets that were bounded, sets that were worked out.
    lowest_left : int or None
        The lowest bound of a set that was not worked out, in hundredths rounded down.
    best : tuple of Found
        The best sets, best first; of equal cost the earlier one.
    """

    size: int
    candidates: int
    bounded: int
    evaluated: int
    lowest_left: int | None
    best: tuple[Found, ...]


class Work(Protocol):
    """Who works rows out: this machine's threads, or a cluster."""

    def bounds(self, rows: Ints, worst: int) -> NDArray[np.int64]:
        """Return the doubled bounds of rows."""

    def totals(self, rows: Ints) -> NDArray[np.int64]:
        """Return the costs of rows."""


@dataclass(frozen=True, slots=True)
class ThreadWork:
    """Works rows out on the threads of this machine; None is one for each core."""

    fitter: Fitter
    threads: int | None = None

    def bounds(self, rows: Ints, worst: int) -> NDArray[np.int64]:
        """Return the doubled bounds of rows."""
        pieces = in_threads(lambda p: self.fitter.bounds(p, worst), rows, threads=self.threads)
        return np.concatenate(pieces)

    def totals(self, rows: Ints) -> NDArray[np.int64]:
        """Return the costs of rows, all tunes together."""
        pieces = in_threads(lambda p: self.fitter.costs(p)[0], rows, threads=self.threads)
        return np.asarray(np.concatenate(pieces).sum(axis=1))


def search(
    space: SwapSpace,
    repertoire: Repertoire,
    costs: PlayingCosts,
    *,
    most: int,
    keep: int = 5,
    threads: int | None = None,
    work: Callable[[Fitter], Work] | None = None,
    progress: Callable[[int, int, int], None] | None = None,
) -> tuple[Round, ...]:
    """Return the best sets of 0, 1, ... up to `most` swaps, each size proven by itself.

    Parameters
    ----------
    space : SwapSpace
        The base and what may be swapped.
    most : int
        The largest size.
    keep : int
        How many of the best sets of each size are returned.
    threads : int or None
        None for one a core; the answer is the same.
    work : callable, optional
        Who works instead of this machine's threads.
    progress : callable, optional
        Told the size, how many sets are bounded, and how many there are.
    """
    low = lowest_reed(space.layout)
    holes, rows = space.arrays(costs, low)
    fitter = Fitter(repertoire, holes, numbers_of(costs), everywhere(len(repertoire.lowest)))
    worker = ThreadWork(fitter, threads) if work is None else work(fitter)
    rounds: list[Round] = []
    for size in range(most + 1):
        before = rounds[-1].best if rounds else ()
        told = progress or (lambda *_: None)
        rounds.append(_Search(space, rows, worker, max(keep, _SEEDS), size).run(before, told))
    return tuple(_cut(each, keep) for each in rounds)


class _Search:
    """The search among sets of one size."""

    def __init__(self, space: SwapSpace, rows: Rows, work: Work, keep: int, size: int) -> None:
        self.space, self.rows, self.work, self.keep, self.size = space, rows, work, keep, size
        self.best: list[tuple[int, int]] = []  # cost, place in the order of sets
        self.sets: dict[int, tuple[Swap, ...]] = {}

    def run(self, before: Sequence[Found], progress: Callable[[int, int, int], None]) -> Round:
        line = self._first_line(before)
        total = self.space.count(self.size)
        open_bounds: list[NDArray[np.int64]] = []
        lowest_left: int | None = None
        seen = 0
        kept: list[tuple[int, int, tuple[Swap, ...]]] = []
        for batch in _batches(self.space.sets(self.size)):
            bounds = self.work.bounds(self.rows.of_sets(batch), 2 * line)
            inside = np.flatnonzero(bounds <= 2 * line)
            kept += [(int(bounds[n]), seen + int(n), batch[n]) for n in inside]
            open_bounds.append(np.delete(bounds, inside))
            seen += len(batch)
            progress(self.size, seen, total)
        evaluated, left = self._work_out(sorted(kept, key=lambda k: k[:2]))
        outside = [int(each.min()) for each in open_bounds if each.size] + left
        lowest_left = min(outside) // 2 if outside else None
        found = tuple(Found(cost, self.sets[place]) for cost, place in self.best)
        return Round(self.size, seen, seen, evaluated, lowest_left, found)

    def _first_line(self, before: Sequence[Found]) -> int:
        """Return the worst of the best sets found by adding a swap to the best of one fewer."""
        if self.size < 2:
            return 2**60
        tried = self._neighbours(before)
        costs = np.sort(self.work.totals(self.rows.of_sets(tried))) if tried else np.array([])
        return int(costs[self.keep - 1]) if len(costs) >= self.keep else 2**60

    def _neighbours(self, before: Sequence[Found]) -> list[tuple[Swap, ...]]:
        single = [swap for found in self.space.swaps for swap in found]
        found: dict[tuple[str, ...], tuple[Swap, ...]] = {}
        for each in before[:_SEEDS]:
            taken = {swap.seat for swap in each.swaps}
            for swap in single:
                chosen = (*each.swaps, swap)
                if swap.seat not in taken and self.space.supplied(chosen):
                    found.setdefault(tuple(sorted(s.text for s in chosen)), chosen)
        sets = list(found.values())
        if not sets:
            return []
        bounds = self.work.bounds(self.rows.of_sets(sets), 2**61)
        return [sets[n] for n in np.argsort(bounds, kind="stable")[: 3 * self.keep]]

    def _work_out(self, kept: list[tuple[int, int, tuple[Swap, ...]]]) -> tuple[int, list[int]]:
        """Work sets out in the order of their bounds; return how many, and the next bound."""
        at = 0
        while at < len(kept):
            if len(self.best) == self.keep and kept[at][0] > 2 * self.best[-1][0]:
                break
            piece = kept[at : at + _EXACT]
            costs = self.work.totals(self.rows.of_sets([chosen for *_, chosen in piece]))
            for (_, place, chosen), cost in zip(piece, costs.tolist(), strict=True):
                self.sets[place] = chosen
                self.best.append((cost, place))
            self.best = sorted(self.best)[: self.keep]
            at += len(piece)
        return at, [kept[at][0]] if at < len(kept) else []


def _batches(sets: Iterator[tuple[Swap, ...]]) -> Iterator[list[tuple[Swap, ...]]]:
    while batch := list(islice(sets, _BATCH)):
        yield batch


def _cut(found: Round, keep: int) -> Round:
    return Round(
        found.size, found.candidates, found.bounded, found.evaluated, found.lowest_left,
        found.best[:keep],
    )  # fmt: skip
