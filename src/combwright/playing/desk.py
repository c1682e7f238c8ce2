"""What is at hand of a layout: its ways by note, and what any two notes cost; compiled by numba.

A layout is turned into another hole by hole, and only what changes with that is written anew. Eight
numbers side by side are one step between two notes in its eight kinds: the first note long or
short (bit 2), the second long or short (bit 1), within a phrase or after a rest (bit 0).
"""

from typing import NamedTuple

import numpy as np

from combwright.playing.compiling import part
from combwright.playing.repertoire import LANES

KINDS = 8
_FAR = np.int32(2**30)


class Comb(NamedTuple):
    """What holes give in each of their states.

    `ways` (ways, 4) are note, breath, cost of a long note and of a short one; `ends` (states + 1)
    where each state's begin. `seat_hole` and `seat_step` (seats) say which hole a seat lies in and
    by how much a state of the seat moves the state of the hole; `first` (holes) is the state of
    each hole as it is. `parts` (seats, states, 2) are the two halves of a state of a seat, -1
    where it is one note.
    """

    ways: np.ndarray
    ends: np.ndarray
    seat_hole: np.ndarray
    seat_step: np.ndarray
    first: np.ndarray
    parts: np.ndarray


class Steps(NamedTuple):
    """What two notes cost together.

    `up` and `down` (2 * width - 1, 8) say where in the table the row of a step from p to q begins,
    by q - p + width - 1: `up` for the step itself, `down` for the one back from q to p, whose
    first note is q. Rows that no tune has lie at the table's end. `used` (2 * width - 1, width)
    says whether any tune has the step or the one back in any place, by step and p. `moves` (slots,
    slots, 8) are the doubled costs between slots; a slot is a hole and a breath. `missing` is
    what a note costs that is not there, `size` how long the table is.
    """

    up: np.ndarray
    down: np.ndarray
    used: np.ndarray
    moves: np.ndarray
    missing: int
    size: int


class Desk(NamedTuple):
    """The ways of a layout by note, and the table of what two notes cost, doubled."""

    many: np.ndarray  # (width), how many ways
    slot: np.ndarray  # (width, slots)
    alone: np.ndarray  # (width, slots, 2), what a way costs by itself, long and short
    single: np.ndarray  # (width, 2), what a note costs by itself at least
    table: np.ndarray  # (size), flat
    state: np.ndarray  # (holes)
    changed: np.ndarray  # (width), whether a note's ways have changed
    goal: np.ndarray  # (holes), the states that are asked for
    reach: np.ndarray  # (slots, 8), what a way in a slot costs with the note before it
    best: np.ndarray  # (8)
    lanes: np.ndarray  # (LANES)


def empty_desk(comb: Comb, steps: Steps) -> Desk:
    """Return a desk at which no hole is in any state yet."""
    width, slots = steps.used.shape[1], steps.moves.shape[0]
    return Desk(
        many=np.zeros(width, np.int32),
        slot=np.zeros((width, slots), np.int32),
        alone=np.zeros((width, slots, 2), np.int32),
        single=np.full((width, 2), steps.missing, np.int32),
        table=np.zeros(steps.size, np.int32),
        state=np.full(len(comb.first), -1, np.int64),
        changed=np.ones(width, np.bool_),
        goal=comb.first.copy(),
        reach=np.zeros((slots, KINDS), np.int32),
        best=np.zeros(KINDS, np.int32),
        lanes=np.zeros(LANES, np.int32),
    )


@part
def ask(desk, comb, seats, states):
    """Ask for some seats in some states and for the others as they are."""
    for hole in range(desk.goal.shape[0]):
        desk.goal[hole] = comb.first[hole]
    for j in range(seats.shape[0]):
        desk.goal[comb.seat_hole[seats[j]]] += states[j] * comb.seat_step[seats[j]]


@part
def turn(desk, comb, steps):
    """Put every hole into the state that is asked for, and write anew what changes with that."""
    for hole in range(desk.goal.shape[0]):
        old, new = desk.state[hole], desk.goal[hole]
        if old != new:
            if old >= 0:
                _swap_ways(desk, comb, hole, old, new, False)
            _swap_ways(desk, comb, hole, new, old, True)
            desk.state[hole] = new
    for p in range(desk.many.shape[0]):
        if desk.changed[p]:
            _write_single(desk, steps, p)
    for p in range(desk.many.shape[0]):
        if desk.changed[p]:
            _write_pairs(desk, steps, p)
            desk.changed[p] = False


@part
def has(comb, state, way):
    """Tell whether a state of a hole has a way of another."""
    if state < 0:
        return False
    for w in range(comb.ends[state], comb.ends[state + 1]):
        if (
            comb.ways[w, 0] == comb.ways[way, 0]
            and comb.ways[w, 1] == comb.ways[way, 1]
            and comb.ways[w, 2] == comb.ways[way, 2]
            and comb.ways[w, 3] == comb.ways[way, 3]
        ):
            return True
    return False


@part
def _swap_ways(desk, comb, hole, state, other, come):
    """Let the ways of a state that another does not have come, or go."""
    for w in range(comb.ends[state], comb.ends[state + 1]):
        p, slot = comb.ways[w, 0], 2 * hole + comb.ways[w, 1]
        if not 0 <= p < desk.many.shape[0] or has(comb, other, w):
            continue
        desk.changed[p] = True
        if come:
            k = desk.many[p]
            desk.many[p] += 1
            desk.slot[p, k] = slot
            desk.alone[p, k, 0], desk.alone[p, k, 1] = comb.ways[w, 2], comb.ways[w, 3]
            continue
        desk.many[p] -= 1
        last, k = desk.many[p], 0
        while desk.slot[p, k] != slot:
            k += 1
        desk.slot[p, k] = desk.slot[p, last]
        desk.alone[p, k, 0] = desk.alone[p, last, 0]
        desk.alone[p, k, 1] = desk.alone[p, last, 1]


@part
def _write_single(desk, steps, p):
    """Write what a note costs by itself; the first two rows of the table are single notes."""
    for s in range(2):
        best = _FAR if desk.many[p] else np.int32(steps.missing)
        for k in range(desk.many[p]):
            best = min(best, desk.alone[p, k, s])
        desk.single[p, s] = best
        desk.table[s * desk.many.shape[0] + p] = best


@part
def _write_pairs(desk, steps, p):
    """Write what a note costs with every other, in either order."""
    width, best = desk.many.shape[0], desk.best
    for slot in range(steps.moves.shape[0]):
        for c in range(KINDS):
            least = _FAR
            for k in range(desk.many[p]):
                cost = desk.alone[p, k, c >> 2] + steps.moves[desk.slot[p, k], slot, c]
                least = min(least, cost)
            desk.reach[slot, c] = least
    for q in range(width):
        step = q - p + width - 1
        if not steps.used[step, p] or (q > p and desk.changed[q]):
            continue
        if desk.many[p] == 0 or desk.many[q] == 0:
            for c in range(KINDS):
                best[c] = desk.single[p, c >> 2] + desk.single[q, (c >> 1) & 1]
        else:
            for c in range(KINDS):
                best[c] = _FAR
            for k in range(desk.many[q]):
                slot = desk.slot[q, k]
                for c in range(KINDS):
                    cost = desk.reach[slot, c] + desk.alone[q, k, (c >> 1) & 1]
                    best[c] = min(best[c], cost)
        for c in range(KINDS):
            desk.table[steps.up[step, c] + p] = best[c]
            desk.table[steps.down[step, c] + q] = best[c]


@part
def lost(desk, comb, seat, whole, after):
    """Return as bits the notes that lose ways when a seat goes from its state to a part of it."""
    here = desk.state[comb.seat_hole[seat]]
    before = here + (whole - after) * comb.seat_step[seat]
    bits = np.uint64(0)
    for w in range(comb.ends[before], comb.ends[before + 1]):
        if not has(comb, here, w):
            bits |= np.uint64(1) << np.uint64(comb.ways[w, 0] % 64)
    return bits
