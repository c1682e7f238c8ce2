"""The fast form of the programme, compiled by numba: many layouts, all tunes, 24 places at once.

For each layout and tune a bound is added up from the notes in twos: half of what each of the two
costs by itself, and the cheapest way between them, whatever the notes around. It is never above the
cost, so a layout whose bounds add up to more than the best known one is left. Only the places whose
bound lies below the best place found are worked out in full.

Everything is whole numbers and each layout is worked out by itself, so the answer is the same on
any number of threads; the loops let go of the interpreter, so that threads run side by side.
"""

import numpy as np
from numba import njit

from combwright.playing.repertoire import LANES

#: The most ways that one note may have; a comb of 16 holes gives at most 80 of a note.
_MOST_WAYS = 96
#: Above any sum.
NEVER = np.int64(2**62)


@njit(cache=True)
def _gather(row, ways, ends, width, count, hole, breath, alone):
    """Put the ways of a layout's holes in order of their notes."""
    for p in range(width):
        count[p] = 0
    for v in row:
        for w in range(ends[v], ends[v + 1]):
            p = ways[w, 0]
            if 0 <= p < width and count[p] < _MOST_WAYS:
                k = count[p]
                hole[p, k] = ways[w, 1]
                breath[p, k] = ways[w, 2]
                alone[0, p, k] = ways[w, 3]
                alone[1, p, k] = ways[w, 4]
                count[p] = k + 1


@njit(cache=True)
def _move(h1, b1, h2, b2, change, numbers):
    holes = abs(h1 - h2) - 1
    cost = min(max(holes, 0) * numbers[3], numbers[4])
    return cost + change if b1 != b2 else cost


@njit(cache=True)
def _single(s, p, count, alone, numbers):
    if count[p] == 0:
        return numbers[0]
    best = alone[s, p, 0]
    for k in range(1, count[p]):
        best = min(best, alone[s, p, k])
    return best


@njit(cache=True)
def _fill(kinds, width, count, hole, breath, alone, numbers, table):
    """Write for each kind of two notes and each place of the first what they cost, doubled."""
    for kind in range(kinds.shape[0]):
        step, s1, s2, rested = kinds[kind]
        change = numbers[2] if rested else numbers[1]
        for p in range(width):
            if s2 < 0:
                table[kind, p] = _single(s1, p, count, alone, numbers)
                continue
            q = p + step
            if q < 0 or q >= width:
                continue
            if count[p] == 0 or count[q] == 0:
                one = _single(s1, p, count, alone, numbers)
                table[kind, p] = one + _single(s2, q, count, alone, numbers)
                continue
            best = np.int32(2**30)
            for i in range(count[p]):
                for j in range(count[q]):
                    move = _move(
                        hole[p, i], breath[p, i], hole[q, j], breath[q, j], change, numbers
                    )
                    best = min(best, alone[s1, p, i] + alone[s2, q, j] + 2 * move)
            table[kind, p] = best


@njit(cache=True)
def _exact(notes, first, last, lane, count, hole, breath, alone, numbers, reached, fresh):
    """Return what one tune costs in one place, exactly."""
    before = -1
    total = np.int64(0)  # what is settled before the last note that could be played one way only
    for n in range(first, last):
        p = notes[n, 0] + lane
        s = notes[n, 1]
        if count[p] == 0:
            least = np.int64(0)
            if before >= 0:
                least = reached[0]
                for i in range(1, count[before]):
                    least = min(least, reached[i])
            total += least + numbers[0]
            before = -1
            continue
        change = numbers[2] if notes[n, 2] else numbers[1]
        for j in range(count[p]):
            least = np.int64(0)
            if before >= 0:
                least = NEVER
                for i in range(count[before]):
                    move = _move(
                        hole[before, i],
                        breath[before, i],
                        hole[p, j],
                        breath[p, j],
                        change,
                        numbers,
                    )
                    least = min(least, reached[i] + move)
            fresh[j] = least + alone[s, p, j]
        for j in range(count[p]):
            reached[j] = fresh[j]
        before = p
    if before >= 0:
        least = reached[0]
        for i in range(1, count[before]):
            least = min(least, reached[i])
        total += least
    return total


@njit(cache=True)
def _bounds(terms, first, last, table, lanes):
    """Add up a tune's bound, doubled, in every place."""
    for lane in range(LANES):
        lanes[lane] = 0
    for t in range(first, last):
        row = table[terms[t, 0]]
        p = terms[t, 1]
        times = terms[t, 2]
        for lane in range(LANES):
            lanes[lane] += times * row[p + lane]


@njit(cache=True)
def _best_place(notes, first, last, count, hole, breath, alone, numbers, lanes, allowed, scratch):
    """Return the least cost of a tune over its places and the place; ties go to the lowest place.

    Places are worked out in the order of their bounds, until no bound lies below the best.
    """
    best = NEVER
    place = -1
    left = allowed.copy()
    while True:
        at = -1
        for lane in range(LANES):
            if left[lane] and (at < 0 or lanes[lane] < lanes[at]):
                at = lane
        if at < 0 or (lanes[at] + 1) // 2 > best:
            return best, place
        left[at] = False
        cost = _exact(
            notes, first, last, at, count, hole, breath, alone, numbers, scratch[0], scratch[1]
        )
        if cost < best or (cost == best and at < place):
            best, place = cost, at


@njit(cache=True, nogil=True)
def cost_layouts(
    rows, ways, ends, notes, note_ends, terms, term_ends, kinds, numbers, width, allowed
):
    """Return the cost of every tune at its best place, and the place, for each layout.

    Parameters
    ----------
    allowed : array of bool, shape (tunes, 24)
        The places that a tune may be put to.

    Returns
    -------
    costs : array, shape (layouts, tunes)
    places : array, shape (layouts, tunes)
    """
    tunes = note_ends.shape[0] - 1
    costs = np.empty((rows.shape[0], tunes), np.int64)
    places = np.empty((rows.shape[0], tunes), np.int8)
    for c in range(rows.shape[0]):
        count = np.zeros(width, np.int32)
        hole = np.empty((width, _MOST_WAYS), np.int32)
        breath = np.empty((width, _MOST_WAYS), np.int32)
        alone = np.empty((2, width, _MOST_WAYS), np.int32)
        table = np.zeros((kinds.shape[0], width), np.int32)
        lanes = np.empty(LANES, np.int32)
        scratch = np.empty((2, _MOST_WAYS), np.int64)
        _gather(rows[c], ways, ends, width, count, hole, breath, alone)
        _fill(kinds, width, count, hole, breath, alone, numbers, table)
        for t in range(tunes):
            _bounds(terms, term_ends[t], term_ends[t + 1], table, lanes)
            costs[c, t], places[c, t] = _best_place(
                notes, note_ends[t], note_ends[t + 1], count, hole, breath, alone, numbers, lanes,
                allowed[t], scratch,
            )  # fmt: skip
    return costs, places
