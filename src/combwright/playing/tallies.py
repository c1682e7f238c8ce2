"""How notes are got: many tunes on one layout, each at its place, counted by the way taken.

This is the plain programme once more, compiled by numba, with the way back through it. It takes the
same ways as `programme.play` where several cost the same, and tests hold it to that.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

from combwright.comb.reach import How, Sound
from combwright.playing.costs import PlayingCosts
from combwright.playing.programme import Ways
from combwright.playing.repertoire import Ints, Repertoire

_CODES: Final[Mapping[How, int]] = {"natural": 0, "bend": 1, "overbend": 2, "missing": 3}
_NEVER = np.int64(2**62)
Longs = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Tally:
    """How the notes of a repertoire are got on one layout.

    Parameters
    ----------
    hows : array, shape (tunes, 4)
        How many notes of each tune are natural, bent, overbent, missing.
    ways : mapping of (midi, Sound or None) to int
        How often each way is taken; None where the instrument does not have the note.
    """

    hows: NDArray[np.int64]
    ways: Mapping[tuple[int, Sound | None], int]


def tally(repertoire: Repertoire, places: Ints, ways: Ways, costs: PlayingCosts, low: int) -> Tally:
    """Count how the notes of tunes are got, each tune at its place above `low`.

    Parameters
    ----------
    repertoire : Repertoire
        The tunes.
    places : array, shape (tunes,)
        Semitones from `low` to each tune's lowest note.
    ways : mapping
        Of the layout, as `sounds` gives it.
    costs : PlayingCosts
        What playing costs.
    low : int
        The note from which places are counted.
    """
    width = repertoire.span + int(places.max(initial=0)) + 1
    found = [ways.get(low + p, ()) for p in range(width)]
    table = np.zeros((width, max(1, *map(len, found)), 5), np.int64)
    count = np.array([len(each) for each in found], np.int64)
    for p, each in enumerate(found):
        for k, sound in enumerate(each):
            long, short = (costs.of_sound(sound, short=s) for s in (False, True))
            draw = int(sound.breath == "draw")
            table[p, k] = (sound.hole, draw, long, short, _CODES[sound.how])
    hows, used = _tally(
        repertoire.notes, repertoire.note_ends, places.astype(np.int64), table, count,
        _numbers(costs),
    )  # fmt: skip
    taken: dict[tuple[int, Sound | None], int] = {}
    for p, k in np.argwhere(used):
        way = found[p][k] if k < len(found[p]) else None
        taken[low + int(p), way] = int(used[p, k])
    return Tally(hows, taken)


def _numbers(costs: PlayingCosts) -> Longs:
    return np.array(
        [costs.missing, costs.change, costs.change_after_rest, costs.hole, costs.hole_most],
        np.int64,
    )


@njit(cache=True, nogil=True)
def _between(a: Longs, b: Longs, change: int, numbers: Longs) -> int:
    holes = abs(a[0] - b[0]) - 1
    cost = min(max(holes, 0) * numbers[3], numbers[4])
    return int(cost + change if a[1] != b[1] else cost)


@njit(cache=True, nogil=True)
def _tally(
    notes: Ints, ends: Longs, places: Longs, table: Longs, count: Longs, numbers: Longs
) -> tuple[Longs, Longs]:
    """Play every tune and go back through it, counting.

    A note without a way has the one way "missing", of which the first column stands for all.
    """
    most = table.shape[1]
    longest = 0
    for t in range(ends.shape[0] - 1):
        longest = max(longest, ends[t + 1] - ends[t])
    hows = np.zeros((ends.shape[0] - 1, 4), np.int64)
    used = np.zeros((table.shape[0], most), np.int64)
    came = np.empty((longest, most), np.int64)
    reached = np.empty(most, np.int64)
    fresh = np.empty(most, np.int64)
    for t in range(ends.shape[0] - 1):
        first, last = ends[t], ends[t + 1]
        before = -1
        for n in range(first, last):
            p = notes[n, 0] + places[t]
            change = numbers[2] if notes[n, 2] else numbers[1]
            for j in range(max(count[p], 1)):
                least, best = _NEVER, 0
                for i in range(1 if before < 0 else max(count[before], 1)):
                    total = np.int64(0) if before < 0 else reached[i]
                    if before >= 0 and count[before] and count[p]:
                        total += _between(table[before, i], table[p, j], change, numbers)
                    if total < least:
                        least, best = total, i
                came[n - first, j] = best
                alone = table[p, j, 3 if notes[n, 1] else 2] if count[p] else numbers[0]
                fresh[j] = least + alone
            for j in range(max(count[p], 1)):
                reached[j] = fresh[j]
            before = p
        at = 0
        for j in range(max(count[before], 1)):
            if reached[j] < reached[at]:
                at = j
        for n in range(last - 1, first - 1, -1):
            p = notes[n, 0] + places[t]
            hows[t, table[p, at, 4] if count[p] else 3] += 1
            used[p, at] += 1
            at = came[n - first, at]
    return hows, used
