"""What a search has to work out, and who does it: this machine's threads, or a cluster."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Final, Protocol, TypeVar

import numpy as np
from numpy.typing import NDArray

from combwright.playing.fitting import cores, cost_states
from combwright.playing.problem import Problem
from combwright.playing.repertoire import Ints

T = TypeVar("T")
A = TypeVar("A")
#: A set as its seats from low to high and the swap of each: in this order sets are told apart that
#: cost the same.
Key = tuple[int, ...]
#: Families and sets that are one piece of work, whoever does it: so answer and counts are the same.
FAMILIES: Final = 8
_SETS: Final = 4


@dataclass(frozen=True, slots=True)
class Families:
    """Families of sets of swaps, each of one size.

    Parameters
    ----------
    seats : array, shape (families, swaps)
        The seats that are swapped, in the order in which they are split.
    states : array, shape (families, swaps)
        What each of them stands for.
    """

    seats: Ints
    states: Ints

    def cut(self, many: int) -> "Iterator[Families]":
        """Cut them into pieces of so many."""
        for at in range(0, len(self.seats), many):
            yield Families(self.seats[at : at + many], self.states[at : at + many])


@dataclass(frozen=True, slots=True)
class Leaves:
    """What is left of families once all that lies above a line is taken away.

    Parameters
    ----------
    sets : array, shape (sets, 2 * swaps)
        The key of each set.
    bounds : array, shape (sets,)
        Doubled.
    lowest : int or None
        The lowest doubled bound of what was taken away.
    tried : int
        How many bounds were added up, of families and of sets.
    """

    sets: Ints
    bounds: NDArray[np.int64]
    lowest: int | None
    tried: int


class InOrder:
    """The sets of some leaves by their bounds; of equal ones the earlier first, and none twice."""

    def __init__(self, found: Iterable[Leaves], size: int) -> None:
        none = np.empty((0, 1 + 2 * size), np.int64)
        parts = [np.column_stack([each.bounds, each.sets]) for each in found]
        self._rows = np.unique(np.concatenate([none, *parts]), axis=0)

    def __len__(self) -> int:
        return len(self._rows)

    def piece(self, first: int, last: int) -> list[tuple[int, Key]]:
        """Return some of them, doubled bound and key."""
        return [(bound, tuple(key)) for bound, *key in self._rows[first:last].tolist()]

    def __iter__(self) -> Iterator[tuple[int, Key]]:
        for at in range(len(self)):
            yield from self.piece(at, at + 1)


@dataclass(frozen=True, slots=True)
class Job:
    """What there is to work out, for whoever works: all that a worker must know.

    Parameters
    ----------
    problem : Problem
        The repertoire, the base and its swaps.
    """

    problem: Problem

    def search(self, families: Families, worst: int) -> Leaves:
        """Return the sets of some families whose doubled bound is not above `worst`."""
        from combwright.playing.desk import empty_desk
        from combwright.playing.families import empty_walk, search_families

        asked, seats = self.problem, families.seats
        room = int(asked.sets_in(seats, families.states).sum())
        walk = empty_walk(asked.comb, asked.tunes, seats, room)
        search_families(
            seats, families.states, worst, asked.comb, asked.tunes, asked.steps,
            empty_desk(asked.comb, asked.steps), walk,
        )  # fmt: skip
        found, tried, lowest = walk.tally.tolist()
        return Leaves(
            self._keys(seats, walk.found[:found]), walk.bounds[:found].copy(),
            None if lowest < 0 else lowest, tried,
        )  # fmt: skip

    def totals(self, keys: Ints) -> NDArray[np.int64]:
        """Return the costs of sets, all tunes together."""
        size = keys.shape[1] // 2
        seats, swaps = np.ascontiguousarray(keys[:, :size]), keys[:, size:]
        costs, _ = cost_states(self.problem, seats, self.problem.states(seats, swaps))
        return np.asarray(costs @ self.problem.tunes.many)

    def _keys(self, seats: Ints, found: Ints) -> Ints:
        chosen = seats[found[:, 0]]
        swaps = self.problem.swaps[chosen, found[:, 1:]]
        order = np.argsort(chosen, axis=1)
        return np.concatenate(
            [np.take_along_axis(each, order, axis=1) for each in (chosen, swaps)], axis=1
        )


class Work(Protocol):
    """Who works out the pieces of a job."""

    def search(self, families: Families, worst: int) -> Iterator[tuple[Families, Leaves]]:
        """Yield each piece of some families and what is left of it, in order."""

    def totals(self, keys: Ints) -> NDArray[np.int64]:
        """Return the costs of sets."""


@dataclass(frozen=True, slots=True)
class ThreadWork:
    """Works on the threads of this machine; None is one for each core."""

    job: Job
    threads: int | None = None

    def search(self, families: Families, worst: int) -> Iterator[tuple[Families, Leaves]]:
        """Yield each piece of some families and what is left of it, in order."""
        pieces = list(families.cut(FAMILIES))
        done = _in_threads(lambda piece: self.job.search(piece, worst), pieces, self.threads)
        yield from zip(pieces, done, strict=True)

    def totals(self, keys: Ints) -> NDArray[np.int64]:
        """Return the costs of sets, all tunes together."""
        return np.concatenate(list(_in_threads(self.job.totals, key_pieces(keys), self.threads)))


def key_pieces(keys: Ints) -> list[Ints]:
    """Cut sets into pieces of work, at least one."""
    return [keys[at : at + _SETS] for at in range(0, max(len(keys), 1), _SETS)]


def _in_threads(work: Callable[[A], T], pieces: Sequence[A], threads: int | None) -> Iterable[T]:
    many = min(threads or cores(), len(pieces))
    if many < 2:
        yield from map(work, pieces)
        return
    with ThreadPoolExecutor(many) as pool:
        yield from pool.map(work, pieces)
