"""What is at hand of a layout: its ways by note, and what any two notes cost; compiled by numba.

A layout is turned into another hole by hole, and only what changes with that is written anew.
"""

from typing import NamedTuple

import numpy as np
from numba import njit

from combwright.playing.repertoire import LANES

#: Ways in one hole: blown and drawn.
_BREATHS = 2
_FAR = np.int32(2**30)


class Comb(NamedTuple):
    """What holes give in each of their states.

    `ways` (ways, 4) are note, breath, cost of a long note and of a short one, by note; `ends`
    (states + 1) where each state's begin. `seat_hole` and `seat_step` (seats) say which hole a seat
    lies in and by how much a state of the seat moves the state of the hole; `first` (holes) is the
    state of each hole as it is. `parts` (seats, states, 2) are the two halves of a state of a
    seat, -1 where it is one note.
    """

    ways: np.ndarray
    ends: np.ndarray
    seat_hole: np.ndarray
    seat_step: np.ndarray
    first: np.ndarray
    parts: np.ndarray


class Steps(NamedTuple):
    """What two notes cost together.

    `rows` (2 * width - 1, 9) is the row of the table for each step between notes, from -(width - 1)
    up, and by first short, second short, rested; -1 where no tune has it. The ninth is whether
    any tune has the step. `moves` (2, slots,
    slots) are the doubled costs between slots, within a phrase and after a rest; a slot is a
    hole and a breath.
    """

    rows: np.ndarray
    moves: np.ndarray
    missing: int


class Desk(NamedTuple):
    """What is at hand of a layout: its ways by note, and the table of what two notes cost."""

    ways: np.ndarray  # (width), how many
    slot: np.ndarray  # (width, slots)
    alone: np.ndarray  # (width, slots, 2)
    single: np.ndarray  # (width, 2)
    table: np.ndarray  # (rows * width), flat
    state: np.ndarray  # (holes)
    changed: np.ndarray  # (width), whether a note's ways have changed
    lanes: np.ndarray  # (LANES)


@njit(cache=True)
def lay(comb, steps, width, rows, like):
    """Return a desk with the holes as they are."""
    slots = steps.moves.shape[1]
    desk = Desk(
        np.zeros(width, np.int32),
        np.zeros((width, slots), np.int32),
        np.zeros((width, slots, 2), np.int32),
        np.zeros((width, 2), np.int32),
        np.zeros(rows * width, like.dtype),
        comb.first.copy(),
        np.ones(width, np.bool_),
        np.zeros(LANES, like.dtype),
    )
    for hole in range(comb.first.shape[0]):
        _put(desk, comb, hole, comb.first[hole], width)
    _refill(desk, steps, width)
    return desk


@njit(cache=True)
def _put(desk, comb, hole, state, width):
    for w in range(comb.ends[state], comb.ends[state + 1]):
        p = comb.ways[w, 0]
        if 0 <= p < width:
            k = desk.ways[p]
            desk.slot[p, k] = hole * _BREATHS + comb.ways[w, 1]
            desk.alone[p, k, 0] = comb.ways[w, 2]
            desk.alone[p, k, 1] = comb.ways[w, 3]
            desk.ways[p] = k + 1


@njit(cache=True)
def _has(comb, state, way):
    for w in range(comb.ends[state], comb.ends[state + 1]):
        if (
            comb.ways[w, 0] == comb.ways[way, 0]
            and comb.ways[w, 1] == comb.ways[way, 1]
            and comb.ways[w, 2] == comb.ways[way, 2]
            and comb.ways[w, 3] == comb.ways[way, 3]
        ):
            return True
    return False


@njit(cache=True)
def _turn(desk, comb, hole, state, width):
    """Put a hole into another state and mark the notes whose ways change."""
    old = desk.state[hole]
    for w in range(comb.ends[old], comb.ends[old + 1]):
        p = comb.ways[w, 0]
        if 0 <= p < width and not _has(comb, state, w):
            slot = hole * _BREATHS + comb.ways[w, 1]
            last = desk.ways[p] - 1
            for k in range(last + 1):
                if desk.slot[p, k] == slot:
                    desk.slot[p, k] = desk.slot[p, last]
                    desk.alone[p, k, 0] = desk.alone[p, last, 0]
                    desk.alone[p, k, 1] = desk.alone[p, last, 1]
                    break
            desk.ways[p] = last
            desk.changed[p] = True
    for w in range(comb.ends[state], comb.ends[state + 1]):
        p = comb.ways[w, 0]
        if 0 <= p < width and not _has(comb, old, w):
            k = desk.ways[p]
            desk.slot[p, k] = hole * _BREATHS + comb.ways[w, 1]
            desk.alone[p, k, 0] = comb.ways[w, 2]
            desk.alone[p, k, 1] = comb.ways[w, 3]
            desk.ways[p] = k + 1
            desk.changed[p] = True
    desk.state[hole] = state


@njit(cache=True)
def _refill(desk, steps, width):
    """Write anew what the changed notes cost with every other."""
    for p in range(width):
        if desk.changed[p]:
            for s in range(2):
                best = np.int32(steps.missing)
                for k in range(desk.ways[p]):
                    if k == 0 or desk.alone[p, k, s] < best:
                        best = desk.alone[p, k, s]
                desk.single[p, s] = best
                desk.table[s * width + p] = best
    for p in range(width):
        if desk.changed[p]:
            for q in range(width):
                if q >= p or not desk.changed[q]:
                    _pair(desk, steps, width, p, q)
    desk.changed[:] = False


@njit(cache=True)
def _pair(desk, steps, width, p, q):
    """Write what two notes cost together, in either order."""
    up, down = steps.rows[q - p + width - 1], steps.rows[p - q + width - 1]
    if not (up[8] or down[8]):
        return
    best = np.empty(8, np.int32)
    if desk.ways[p] == 0 or desk.ways[q] == 0:
        for c in range(8):
            best[c] = desk.single[p, c >> 2] + desk.single[q, (c >> 1) & 1]
    else:
        best[:] = _FAR
        for i in range(desk.ways[p]):
            a0, a1 = desk.alone[p, i, 0], desk.alone[p, i, 1]
            for j in range(desk.ways[q]):
                b0, b1 = desk.alone[q, j, 0], desk.alone[q, j, 1]
                m0 = steps.moves[0, desk.slot[p, i], desk.slot[q, j]]
                m1 = steps.moves[1, desk.slot[p, i], desk.slot[q, j]]
                best[0] = min(best[0], a0 + b0 + m0)
                best[1] = min(best[1], a0 + b0 + m1)
                best[2] = min(best[2], a0 + b1 + m0)
                best[3] = min(best[3], a0 + b1 + m1)
                best[4] = min(best[4], a1 + b0 + m0)
                best[5] = min(best[5], a1 + b0 + m1)
                best[6] = min(best[6], a1 + b1 + m0)
                best[7] = min(best[7], a1 + b1 + m1)
    for c in range(8):
        if up[c] >= 0:
            desk.table[up[c] * width + p] = best[c]
        back = ((c & 2) << 1) | ((c & 4) >> 1) | (c & 1)
        if down[back] >= 0:
            desk.table[down[back] * width + q] = best[c]


@njit(cache=True)
def turn_seats(desk, comb, steps, seats, before, after):
    """Put seats from some states into others, and write anew what changes with that."""
    width = desk.ways.shape[0]
    for j in range(seats.shape[0]):
        hole = comb.seat_hole[seats[j]]
        state = desk.state[hole] + (after[j] - before[j]) * comb.seat_step[seats[j]]
        _turn(desk, comb, hole, state, width)
        before[j] = after[j]
    _refill(desk, steps, width)


@njit(cache=True)
def lost(desk, comb, seat, whole, after):
    """Return as bits the notes that lose ways when a seat goes from its state to a part of it."""
    here = desk.state[comb.seat_hole[seat]]
    before = here + (whole - after) * comb.seat_step[seat]
    bits = np.uint64(0)
    for w in range(comb.ends[before], comb.ends[before + 1]):
        if not _has(comb, here, w):
            bits |= np.uint64(1) << np.uint64(comb.ways[w, 0] % 64)
    return bits
