"""The fast form of the programme, compiled by numba: many layouts, all tunes, 24 places at once.

For each layout and tune a bound is added up for every place, as for families. Only the places whose
bound lies below the best place found are worked out in full; and where every note of a tune can be
had in one way alone, the bound is the cost.

Everything is whole numbers and each layout is worked out by itself, so the answer is the same on
any number of threads; the loops let go of the interpreter, so that threads run side by side.
"""

import numpy as np

from combwright.playing.compiling import compiled, part
from combwright.playing.desk import ask, turn
from combwright.playing.lanes import add_terms, rolled
from combwright.playing.repertoire import LANES

#: Above any sum.
_NEVER = np.int64(2**62)
_TRIED = np.int32(2**31 - 1)


@part
def _least(reached, count):
    least = reached[0]
    for i in range(1, count):
        least = min(least, reached[i])
    return least


@part
def _exact(desk, moves, notes, first, last, lane, missing, scratch):
    """Return what one tune costs in one place, doubled."""
    before, total = -1, np.int64(0)
    reached, fresh = 0, 1
    for n in range(first, last):
        p, s, rested = notes[n, 0] + lane, notes[n, 1], notes[n, 2]
        if desk.many[p] == 0:
            if before >= 0:
                total += _least(scratch[reached], desk.many[before])
            total += 2 * missing
            before = -1
            continue
        for j in range(desk.many[p]):
            least = np.int64(0)
            if before >= 0:
                least = _NEVER
                for i in range(desk.many[before]):
                    move = moves[desk.slot[before, i], desk.slot[p, j], rested]
                    least = min(least, scratch[reached, i] + move)
            scratch[fresh, j] = least + 2 * desk.alone[p, j, s]
        reached, fresh, before = fresh, reached, p
    if before >= 0:
        total += _least(scratch[reached], desk.many[before])
    return total


@part
def _best_place(desk, moves, tunes, t, doubt, missing, scratch):
    """Return the least cost of a tune over its places and the place; ties go to the lowest place.

    Places are worked out in the order of their bounds, until no bound lies below the best.
    """
    add_terms(desk.table, tunes.offsets, tunes.times, tunes.ends[t], tunes.ends[t + 1], desk.lanes)
    best, place = _NEVER, LANES
    while True:
        at = 0
        for lane in range(1, LANES):
            if desk.lanes[lane] < desk.lanes[at]:
                at = lane
        if desk.lanes[at] > best or desk.lanes[at] == _TRIED:
            return best // 2, place
        cost = np.int64(desk.lanes[at])
        if rolled(tunes.marks[t], at) & doubt:
            first, last = tunes.note_ends[t], tunes.note_ends[t + 1]
            cost = _exact(desk, moves, tunes.notes, first, last, at, missing, scratch)
        desk.lanes[at] = _TRIED
        if cost < best or (cost == best and at < place):
            best, place = cost, at


@compiled
def cost_layouts(seats, states, comb, tunes, steps, desk, scratch, costs, places):
    """Write the cost of every tune at its best place, and the place, for each layout.

    Parameters
    ----------
    seats, states : array, shape (layouts, swaps)
        The seats that are swapped, and the state of each: one note.
    scratch : array, shape (2, slots)
        To work on.
    costs, places : array, shape (layouts, tunes)
        What is written.
    """
    for c in range(seats.shape[0]):
        ask(desk, comb, seats[c], states[c])
        turn(desk, comb, steps)
        doubt = np.uint64(0)
        for p in range(desk.many.shape[0]):
            if desk.many[p] > 1:
                doubt |= np.uint64(1) << np.uint64(p % 64)
        for t in range(tunes.many.shape[0]):
            costs[c, t], places[c, t] = _best_place(
                desk, steps.moves, tunes, t, doubt, steps.missing, scratch
            )
