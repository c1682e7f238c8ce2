"""The best swaps for a repertoire, exactly: every set is bounded, and what may be best worked out.

A set's bound is never above its cost (see `families`). The worst of the best few sets known so far
is a line: a set whose bound lies above it cannot be among the best. Sets are bounded by families:
where the bound of a family lies above the line, so does that of every set in it. What is left is
worked out in the order of bounds, which lowers the line, until the next bound lies above it. That
proves the answer. Bounds of single swaps are not added up: that is no bound at all.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations, islice
from typing import Final

import numpy as np

from combwright.playing.costs import PlayingCosts
from combwright.playing.problem import problem_of
from combwright.playing.repertoire import Repertoire, lowest_reed
from combwright.playing.swap_sets import Swap, SwapSpace
from combwright.playing.swap_states import OPEN, seat_states
from combwright.playing.working import Families, InOrder, Job, Key, Leaves, ThreadWork, Work

#: Families that are searched between two looks at the line.
_BATCH: Final = 256
#: Sets that are worked out between two looks at the line.
_EXACT: Final = 16
#: How many sets of one swap fewer are built on for the first line, and how often it is bettered.
_SEEDS: Final = 12
_TURNS: Final = 3
_NO_LINE: Final = 2**60

Progress = Callable[[int, int, int], None]


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
        Sets there are whose swaps can each be had; sets that a bound was found for, their own or
        that of a family they are in; sets that were worked out.
    lowest_left : int or None
        The lowest bound of a set that was not worked out, in hundredths rounded down.
    best : tuple of Found
        The best sets, best first; of equal cost the earlier one.
    bounds : int
        How many bounds were added up for that, of families and of sets.
    """

    size: int
    candidates: int
    bounded: int
    evaluated: int
    lowest_left: int | None
    best: tuple[Found, ...]
    bounds: int = 0


def search(
    space: SwapSpace,
    repertoire: Repertoire,
    costs: PlayingCosts,
    *,
    most: int,
    keep: int = 5,
    threads: int | None = None,
    work: Callable[[Job], Work] | None = None,
    progress: Progress | None = None,
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
        Told the size, how many sets are bounded, and how many there are; what it raises ends
        the search.
    """
    job = job_of(space, repertoire, costs)
    worker = ThreadWork(job, threads) if work is None else work(job)
    rounds: list[Round] = []
    before: _Search | None = None
    for size in range(most + 1):
        before = _Search(space, job, worker, keep, size, progress, before)
        rounds.append(before.run())
    return tuple(rounds)


def job_of(space: SwapSpace, repertoire: Repertoire, costs: PlayingCosts) -> Job:
    """Return what there is to work out for a base, its swaps and a repertoire."""
    seats = [
        seat_states(seat, [swap.midi for swap in found])
        for seat, found in zip(space.layout.seats, space.swaps, strict=True)
    ]
    low = lowest_reed(space.layout)
    return Job(problem_of(repertoire, space.layout, seats, costs, low))


def every_family(space: SwapSpace, size: int) -> Families:
    """Return families that hold every set: one for each choice of seats, all swaps open."""
    free = [n for n, found in enumerate(space.swaps) if found]
    chosen = list(combinations(free, size))
    seats = np.array(chosen, np.int32).reshape(len(chosen), size)
    return Families(seats, np.full_like(seats, OPEN))


class _Search:
    """The search among sets of one size."""

    def __init__(
        self, space: SwapSpace, job: Job, work: Work, keep: int, size: int,
        progress: Progress | None, before: "_Search | None",
    ) -> None:  # fmt: skip
        self.space, self.job, self.work, self.keep, self.size = space, job, work, keep, size
        self.progress, self.before = progress, before
        self.total, self.seen = space.count(size), 0
        self.known: dict[Key, int] = {}

    def run(self) -> Round:
        """Find the best sets and prove that they are."""
        candidates = self._candidates()
        self._first_line()
        found: list[Leaves] = []
        for families in every_family(self.space, self.size).cut(_BATCH):
            batch = []
            for piece, leaves in self.work.search(families, 2 * self.line()):
                batch.append(leaves)
                self.seen += int(self.job.problem.sets_in(piece.seats, piece.states).sum())
                self._tell()
            self._lower_line(batch)
            found += batch
        lows = [each.lowest for each in found if each.lowest is not None]
        lows += self._work_out_in_order(found)
        lowest_left = min(lows) // 2 if lows and len(self.known) < candidates else None
        return Round(
            self.size, candidates, candidates, len(self.known), lowest_left,
            tuple(Found(self.known[key], self._swaps(key)) for key in self.ranked()[: self.keep]),
            sum(each.tried for each in found),
        )  # fmt: skip

    def _tell(self) -> None:
        if self.progress is not None:
            self.progress(self.size, self.seen, self.total)

    def _candidates(self) -> int:
        """Return how many sets there are plates for."""
        if self.space.stock is None:
            return self.total
        return self.space.stock.count(self.space.swaps, self.size)

    def ranked(self) -> list[Key]:
        """Return the sets that are worked out, best first; of equal cost the earlier one."""
        return sorted(self.known, key=lambda key: (self.known[key], key))

    def line(self) -> int:
        """Return the cost above which no set is wanted any more."""
        ranked = self.ranked()
        return self.known[ranked[self.keep - 1]] if len(ranked) >= self.keep else _NO_LINE

    def _first_line(self) -> None:
        """Work out sets that are likely among the best: one swap more, then one changed."""
        if self.before is None:
            return
        seeds = self.before.ranked()[:_SEEDS]
        for line in (self.before.line(), _NO_LINE):
            if self.line() == _NO_LINE:
                self._likely(seeds, line)
        for _ in range(_TURNS if self.size > 1 else 0):
            line = self.line()
            fewer = {
                key[:n] + key[n + 1 : n + self.size] + key[n + 1 + self.size :]
                for key in self.ranked()[: self.keep]
                for n in range(self.size)
            }
            self._likely(sorted(fewer), line)
            if self.line() == line:
                return

    def _likely(self, fewer: Sequence[Key], line: int) -> None:
        """Add one swap to sets of one fewer, and work out those whose bounds are lowest."""
        grown = [self._grown(key) for key in fewer]
        if not grown:
            return
        families = Families(
            np.concatenate([each.seats for each in grown]),
            np.concatenate([each.states for each in grown]),
        )
        found = []
        for _, leaves in self.work.search(families, 2 * line):
            found.append(leaves)
            self._tell()
        wanted = (key for _, key in InOrder(found, self.size) if self._wanted(key))
        self._work_out(list(islice(wanted, 3 * self.keep)))

    def _wanted(self, key: Key) -> bool:
        return key not in self.known and self.space.supplied(self._swaps(key))

    def _lower_line(self, found: Sequence[Leaves]) -> None:
        """Work out the sets of lowest bounds, where they may better the line."""
        line = 2 * self.line()
        wanted = (key for bound, key in InOrder(found, self.size)
                  if bound <= line and self._wanted(key))  # fmt: skip
        self._work_out(list(islice(wanted, self.keep)))

    def _work_out_in_order(self, found: Sequence[Leaves]) -> list[int]:
        """Work out what may be best in the order of bounds; return the lowest bound of the rest."""
        kept = InOrder(found, self.size)
        for at in range(0, len(kept), _EXACT):
            piece = kept.piece(at, at + _EXACT)
            ranked = self.ranked()
            if len(ranked) >= self.keep:
                worst = ranked[self.keep - 1]
                if piece[0] > (2 * self.known[worst], worst):
                    rest = (bound for bound, key in kept if key not in self.known)
                    return list(islice(rest, 1))
            self._work_out([key for _, key in piece if self._wanted(key)])
        return []

    def _work_out(self, keys: Sequence[Key]) -> None:
        if keys:
            asked = np.array(keys, np.int32).reshape(len(keys), 2 * self.size)
            self.known.update(zip(keys, self.work.totals(asked).tolist(), strict=True))
            self._tell()

    def _grown(self, key: Key) -> Families:
        """Return families of a set of one swap fewer with one more, each in a seat of its own."""
        taken, swaps = key[: len(key) // 2], key[len(key) // 2 :]
        free = [n for n, found in enumerate(self.space.swaps) if found and n not in taken]
        seats = np.array([[*taken, n] for n in free], np.int32).reshape(len(free), self.size)
        states = np.full_like(seats, OPEN)
        states[:, :-1] = self.job.problem.states(seats[:, :-1], np.array(swaps, np.int32))
        return Families(seats, states)

    def _swaps(self, key: Key) -> tuple[Swap, ...]:
        seats, swaps = key[: self.size], key[self.size :]
        return tuple(self.space.swaps[s][w] for s, w in zip(seats, swaps, strict=True))
