"""A repertoire, a base and its swaps as the arrays that the compiled loops work on."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from combwright.comb.layouts import Layout
from combwright.errors import CombwrightError
from combwright.playing.costs import PlayingCosts
from combwright.playing.repertoire import LANES, Ints, Repertoire
from combwright.playing.swap_states import SeatStates, comb_of

#: The largest sum that the loops can hold.
_MOST: Final = 2**31 - 1


class TooDear(CombwrightError):
    """A tune so long, with missing notes so dear, that what it costs cannot be held."""

    def __init__(self, notes: int, missing: int) -> None:
        super().__init__(
            f"A tune of {notes:,} notes is too long where a missing note costs {missing / 100:g}: "
            f"up to {_MOST // (2 * missing) - 1:,} notes can be added up."
        )


@dataclass(frozen=True, slots=True)
class Problem:
    """All that there is to know of a repertoire, a base and its swaps.

    Parameters
    ----------
    comb, tunes, steps : tuples of arrays
        See `desk` and `families`.
    which : array, shape (tunes of the repertoire,)
        Which of the tunes each is: those that are alike are kept once.
    swaps : array, shape (seats, states)
        Which swap a state of a seat is; -1 where it is none, or several.
    """

    comb: Any
    tunes: Any
    steps: Any
    which: NDArray[np.int64]
    swaps: Ints

    def states(self, seats: Ints, swaps: Ints) -> Ints:
        """Return the states in which seats are one of their swaps each."""
        found = (self.swaps[seats] == swaps[..., None]).argmax(axis=-1)
        return np.asarray(found, np.int32)

    def sets_in(self, seats: Ints, states: Ints) -> NDArray[np.int64]:
        """Return how many sets each family holds whose seats are single notes or all swaps."""
        many = (self.swaps >= 0).sum(axis=1)
        single = np.take_along_axis(self.swaps[seats], states[..., None], axis=-1)[..., 0] >= 0
        return np.asarray(np.where(single, 1, many[seats]).prod(axis=1))


def problem_of(
    repertoire: Repertoire,
    layout: Layout,
    seats: Sequence[SeatStates],
    costs: PlayingCosts,
    low: int,
) -> Problem:
    """Return the arrays of a repertoire and a base, notes counted from `low`.

    Raises
    ------
    TooDear
        If a tune is too long for what missing notes cost.
    """
    width = repertoire.span + LANES
    tunes, which = _tunes(repertoire, width, costs.missing)
    swaps = np.full((len(seats), max((len(each.swaps) for each in seats), default=1)), -1, np.int32)
    for row, each in zip(swaps, seats, strict=True):
        row[: len(each.swaps)] = each.swaps
    comb, steps = comb_of(layout, seats, costs, low), _steps(repertoire, layout.holes, width, costs)
    return Problem(comb, tunes, steps, which, swaps)


def _tunes(repertoire: Repertoire, width: int, missing: int) -> tuple[Any, NDArray[np.int64]]:
    """Return the tunes, those that are alike but once, and which of them each is."""
    from combwright.playing.families import Tunes

    notes = _cut(repertoire.notes, repertoire.note_ends)
    found: dict[bytes, int] = {}
    which = np.array([found.setdefault(each.tobytes(), len(found)) for each in notes], np.int64)
    first = np.unique(which, return_index=True)[1].tolist()
    terms = _cut(repertoire.terms, repertoire.term_ends)
    kept, added = [notes[n] for n in first], [terms[n] for n in first]
    flat = np.concatenate([np.empty((0, 3), np.int32), *added])
    longest = max((int(each[:, 2].sum()) for each in added), default=0)
    if 2 * missing * longest > _MOST:
        raise TooDear(longest - 1, missing)
    bits = [np.bitwise_or.reduce(np.uint64(1) << (each[:, 0] % 64).astype(np.uint64))
            for each in kept]  # fmt: skip
    tunes = Tunes(
        offsets=(flat[:, 0] * width + flat[:, 1]).astype(np.int32),
        times=flat[:, 2].copy(),
        ends=np.cumsum([0, *map(len, added)], dtype=np.int64),
        many=np.bincount(which).astype(np.int64),
        marks=np.array(bits, np.uint64),
        notes=np.concatenate([np.empty((0, 3), np.int32), *kept]),
        note_ends=np.cumsum([0, *map(len, kept)], dtype=np.int64),
    )
    return tunes, which


def _cut(rows: Ints, ends: NDArray[np.int64]) -> list[Ints]:
    return [rows[a:b] for a, b in zip(ends[:-1].tolist(), ends[1:].tolist(), strict=True)]


def _steps(repertoire: Repertoire, holes: int, width: int, costs: PlayingCosts) -> Any:
    from combwright.playing.desk import KINDS, Steps

    rows = np.full((2 * width - 1, KINDS), len(repertoire.kinds), np.int64)
    for n, (step, a_short, b_short, rested) in enumerate(repertoire.kinds.tolist()):
        if b_short >= 0:
            rows[step + width - 1, 4 * a_short + 2 * b_short + rested] = n
    back = [((c & 2) << 1) | ((c & 4) >> 1) | (c & 1) for c in range(KINDS)]
    moves = _moves(holes, costs)
    return Steps(
        up=rows * width,
        down=np.ascontiguousarray(rows[::-1][:, back]) * width,
        used=_used(repertoire, width),
        moves=np.ascontiguousarray(np.stack([moves[c & 1] for c in range(KINDS)], axis=-1)),
        missing=costs.missing,
        size=(1 + len(repertoire.kinds)) * width,
    )


def _used(repertoire: Repertoire, width: int) -> NDArray[np.bool_]:
    """Tell for each step and first note whether a tune has it, or the step back, in any place."""
    used = np.zeros((2 * width - 1, width), np.bool_)
    pairs = repertoire.terms[repertoire.kinds[repertoire.terms[:, 0], 2] >= 0]
    steps = repertoire.kinds[pairs[:, 0], 0]
    found = np.unique(np.column_stack([steps, pairs[:, 1]]), axis=0).tolist()
    for step, note in found:
        used[width - 1 + step, note : note + LANES] = True
        used[width - 1 - step, note + step : note + step + LANES] = True
    return used


def _moves(holes: int, costs: PlayingCosts) -> list[Ints]:
    """Return the doubled costs between slots, within a phrase and after a rest."""
    slots = np.arange(2 * holes, dtype=np.int32)
    apart = np.abs(slots[:, None] // 2 - slots // 2) - 1
    jump = np.minimum(np.maximum(apart, 0) * costs.hole, costs.hole_most)
    turned = slots[:, None] % 2 != slots % 2
    changes = (costs.change, costs.change_after_rest)
    return [(2 * (jump + turned * change)).astype(np.int32) for change in changes]
