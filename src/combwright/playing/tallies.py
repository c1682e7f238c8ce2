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
    """What a repertoire costs on one layout, and how its notes are got.

    Parameters
    ----------
    costs, places : array, shape (tunes,)
        Of each tune at the cheapest of its places, in hundredths; of equal ones the first.
    hows : array, shape (tunes, 4)
        How many notes of each tune are natural, bent, overbent, missing.
    ways : mapping of (midi, Sound or None) to int
        How often each way is taken; None where the instrument does not have the note.
    """

    costs: Longs
    places: Longs
    hows: Longs
    ways: Mapping[tuple[int, Sound | None], int]


def tally(
    repertoire: Repertoire, places: NDArray[np.integer], ways: Ways, costs: PlayingCosts, low: int
) -> Tally:
    """Play tunes, each at the cheapest of its places, and count how their notes are got.

    Parameters
    ----------
    repertoire : Repertoire
        The tunes.
    places : array, shape (tunes, places)
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
    numbers = np.array(
        [costs.missing, costs.change, costs.change_after_rest, costs.hole, costs.hole_most],
        np.int64,
    )
    paid, chosen, hows, used = _tally(
        repertoire.notes, repertoire.note_ends, places.astype(np.int64), table, count, numbers
    )
    taken: dict[tuple[int, Sound | None], int] = {}
    for p, k in np.argwhere(used):
        way = found[p][k] if k < len(found[p]) else None
        taken[low + int(p), way] = int(used[p, k])
    return Tally(paid, chosen, hows, taken)


@njit(cache=True, nogil=True)
def _between(a: Longs, b: Longs, change: int, numbers: Longs) -> int:
    holes = abs(a[0] - b[0]) - 1
    cost = min(max(holes, 0) * numbers[3], numbers[4])
    return int(cost + change if a[1] != b[1] else cost)


@njit(cache=True, nogil=True)
def _forward(
    notes: Ints, place: int, table: Longs, count: Longs, numbers: Longs, came: Longs, sums: Longs
) -> tuple[int, int]:
    """Play a tune at one place; return its cost and the way of its last note.

    A note without a way has the one way "missing", of which the first column stands for all.
    """
    before = -1
    reached, fresh = 0, 1
    for n in range(notes.shape[0]):
        p = notes[n, 0] + place
        change = numbers[2] if notes[n, 2] else numbers[1]
        for j in range(max(count[p], 1)):
            least, best = _NEVER, 0
            for i in range(1 if before < 0 else max(count[before], 1)):
                total = np.int64(0) if before < 0 else sums[reached, i]
                if before >= 0 and count[before] and count[p]:
                    total += _between(table[before, i], table[p, j], change, numbers)
                if total < least:
                    least, best = total, i
            came[n, j] = best
            alone = table[p, j, 3 if notes[n, 1] else 2] if count[p] else numbers[0]
            sums[fresh, j] = least + alone
        reached, fresh, before = fresh, reached, p
    at = 0
    for j in range(max(count[before], 1)):
        if sums[reached, j] < sums[reached, at]:
            at = j
    return sums[reached, at], at


@njit(cache=True, nogil=True)
def _tally(
    notes: Ints, ends: Longs, places: Longs, table: Longs, count: Longs, numbers: Longs
) -> tuple[Longs, Longs, Longs, Longs]:
    """Play every tune at each of its places, and go back through the cheapest, counting."""
    tunes = places.shape[0]
    most = table.shape[1]
    longest = 0
    for t in range(tunes):
        longest = max(longest, ends[t + 1] - ends[t])
    paid = np.empty(tunes, np.int64)
    chosen = np.empty(tunes, np.int64)
    hows = np.zeros((tunes, 4), np.int64)
    used = np.zeros((table.shape[0], most), np.int64)
    came = np.empty((longest, most), np.int64)
    sums = np.empty((2, most), np.int64)
    for t in range(tunes):
        line = notes[ends[t] : ends[t + 1]]
        paid[t], at = _forward(line, places[t, 0], table, count, numbers, came, sums)
        chosen[t] = last = places[t, 0]
        for k in range(1, places.shape[1]):
            last = places[t, k]
            cost, end = _forward(line, last, table, count, numbers, came, sums)
            if cost < paid[t]:
                paid[t], chosen[t], at = cost, last, end
        if last != chosen[t]:
            _, at = _forward(line, chosen[t], table, count, numbers, came, sums)
        for n in range(line.shape[0] - 1, -1, -1):
            p = line[n, 0] + chosen[t]
            hows[t, table[p, at, 4] if count[p] else 3] += 1
            used[p, at] += 1
            at = came[n, at]
    return paid, chosen, hows, used
