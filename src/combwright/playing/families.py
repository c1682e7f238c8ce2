"""The search through families of layouts, compiled by numba.

A family is a set of swaps of which some are still open: a seat stands for several notes at once. It
has every way to play that any of its layouts has, so its bound is never above theirs. Families are
split seat by seat; one whose bound lies above the line is left with all that is in it. Going from
a family to a part of it, ways are only lost: a tune whose best place loses none keeps its bound,
and what the other tunes cost in the family stands in for them until they are added up anew.

The bound of a tune is added up from its notes in twos: half of what each of the two costs by
itself, and the cheapest way between them, whatever the notes around; all doubled, so that it is
whole.
"""

from typing import NamedTuple

import numpy as np
from numba import njit

from combwright.playing.desk import lay, lost, turn_seats
from combwright.playing.lanes import add_terms
from combwright.playing.repertoire import LANES


class Tunes(NamedTuple):
    """The tunes as they are added up; tunes that add up alike are one.

    `offsets` (terms) are places in the flat table, `times` how often, `ends` where each tune's
    begin; `many` (tunes) says for how many tunes one stands; bit p % 64 of `marks` (tunes) is set
    where a tune has a note p semitones above its lowest.
    """

    offsets: np.ndarray
    times: np.ndarray
    ends: np.ndarray
    many: np.ndarray
    marks: np.ndarray


@njit(cache=True)
def _rolled(marks, lane):
    """Return bits moved up by so many places, those at the top coming back at the bottom."""
    by = np.uint64(lane)
    return (marks << by) | (marks >> (np.uint64(64) - by)) if lane else marks


@njit(cache=True)
def _tune(desk, tunes, t):
    """Return a tune's bound, doubled, and its best place."""
    add_terms(desk.table, tunes.offsets, tunes.times, tunes.ends[t], tunes.ends[t + 1], desk.lanes)
    least, place = desk.lanes[0], 0
    for lane in range(1, LANES):
        if desk.lanes[lane] < least:
            least, place = desk.lanes[lane], lane
    return (np.int64(least) + 1) // 2 * 2, place


@njit(cache=True)
def _all_tunes(desk, tunes, order, worst, values, spots):
    total = np.int64(0)
    for t in order:
        values[t], place = _tune(desk, tunes, t)
        spots[t] = _rolled(tunes.marks[t], place)
        total += tunes.many[t] * values[t]
        if total > worst:
            break
    return total


@njit(cache=True)
def _touched_tunes(desk, tunes, order, worst, bits, total, values, spots):
    for t in order:
        if spots[t] & bits:
            value, place = _tune(desk, tunes, t)
            total += tunes.many[t] * (value - values[t])
            values[t] = value
            spots[t] = _rolled(tunes.marks[t], place)
            if total > worst:
                break
    return total


class Walk(NamedTuple):
    """Where the search stands: one row for each level of splitting."""

    values: np.ndarray  # (levels, tunes), the bounds of tunes
    spots: np.ndarray  # (levels, tunes), as bits the notes of each tune at its best place
    totals: np.ndarray  # (levels)
    split: np.ndarray  # (levels), which swap's seat is split, -1 where all are single notes
    whole: np.ndarray  # (levels), the state that is split
    part: np.ndarray  # (levels), which of its parts comes next
    now: np.ndarray  # (swaps), the states of the seats
    tally: np.ndarray  # layouts found, bounds added up, the lowest bound left or -1


@njit(cache=True)
def _open(comb, seats, walk, level):
    """Choose the seat to split next."""
    walk.split[level], walk.part[level] = -1, 0
    for j in range(seats.shape[0]):
        if comb.parts[seats[j], walk.now[j], 0] >= 0:
            walk.split[level], walk.whole[level] = j, walk.now[j]
            return


@njit(cache=True)
def _passes(walk, total, worst):
    """Count a bound, and keep it if it lies above the line; tell whether it does not."""
    walk.tally[1] += 1
    if total <= worst:
        return True
    if walk.tally[2] < 0 or total < walk.tally[2]:
        walk.tally[2] = total
    return False


@njit(cache=True)
def _keep(walk, found, bounds, family, total):
    count = walk.tally[0]
    if count == bounds.shape[0]:
        found = np.concatenate((found, np.zeros_like(found)))
        bounds = np.concatenate((bounds, np.zeros_like(bounds)))
    found[count, 0] = family
    found[count, 1:] = walk.now
    bounds[count] = total
    walk.tally[0] += 1
    return found, bounds


@njit(cache=True)
def _search_family(family, seats, worst, desk, comb, tunes, steps, orders, walk, found, bounds):
    level, seat, after = 0, np.zeros(1, seats.dtype), np.zeros(1, np.int64)
    _open(comb, seats, walk, 0)
    while level >= 0:
        j = walk.split[level]
        if j < 0:
            found, bounds = _keep(walk, found, bounds, family, walk.totals[level])
            level -= 1
            continue
        seat[0] = seats[j]
        part, whole = walk.part[level], walk.whole[level]
        after[0] = comb.parts[seat[0], whole, part] if part < 2 else whole
        turn_seats(desk, comb, steps, seat, walk.now[j : j + 1], after)
        walk.part[level] += 1
        if part == 2:
            level -= 1
            continue
        bits, below = lost(desk, comb, seat[0], whole, after[0]), level + 1
        walk.values[below], walk.spots[below] = walk.values[level], walk.spots[level]
        walk.totals[below] = _touched_tunes(
            desk, tunes, orders[seat[0]], worst, bits, walk.totals[level], walk.values[below],
            walk.spots[below],
        )  # fmt: skip
        if _passes(walk, walk.totals[below], worst):
            level = below
            _open(comb, seats, walk, level)
    return found, bounds


@njit(cache=True, nogil=True)
def search_families(seats, states, worst, comb, tunes, steps, orders, width, rows):
    """Return every layout of some families whose doubled bound is not above `worst`.

    Parameters
    ----------
    seats, states : array, shape (families, swaps)
        The seats that are swapped, in the order in which they are split, and their states.
    worst : int
        The doubled line.
    orders : array, shape (seats + 1, tunes)
        The order in which tunes are added up once a seat is split; the last one for a beginning.
    width, rows : int
        Of the table.

    Returns
    -------
    found : array, shape (layouts, 1 + swaps)
        The family, and the state of each of its seats.
    bounds : array, shape (layouts,)
        Doubled.
    lowest : int
        The lowest bound of what was left, doubled; -1 where nothing was.
    tried : int
        How many bounds were added up.
    """
    size, count = seats.shape[1], tunes.many.shape[0]
    deep = size * comb.parts.shape[1] + 1
    desk = lay(comb, steps, width, rows, tunes.times)
    walk = Walk(
        np.zeros((deep, count), np.int64), np.zeros((deep, count), np.uint64),
        np.zeros(deep, np.int64), np.zeros(deep, np.int64), np.zeros(deep, np.int64),
        np.zeros(deep, np.int64), np.zeros(size, np.int64), np.array([0, 0, -1]),
    )  # fmt: skip
    found, bounds = np.zeros((64, 1 + size), np.int32), np.zeros(64, np.int64)
    for f in range(seats.shape[0]):
        turn_seats(desk, comb, steps, seats[f], walk.now, states[f])
        walk.totals[0] = _all_tunes(desk, tunes, orders[-1], worst, walk.values[0], walk.spots[0])
        if _passes(walk, walk.totals[0], worst):
            found, bounds = _search_family(
                f, seats[f], worst, desk, comb, tunes, steps, orders, walk, found, bounds
            )
        turn_seats(desk, comb, steps, seats[f], walk.now, np.zeros_like(states[f]))
    return found[: walk.tally[0]], bounds[: walk.tally[0]], walk.tally[2], walk.tally[1]
