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

from combwright.playing.compiling import compiled, part
from combwright.playing.desk import Comb, ask, lost, turn
from combwright.playing.lanes import add_terms, rolled
from combwright.playing.repertoire import LANES

_ALL = np.uint64(2**64 - 1)


class Tunes(NamedTuple):
    """The tunes, those that are alike but once, as notes and as they are added up.

    `offsets` (terms) are places in the flat table, `times` how often, `ends` where each tune's
    begin; `many` (tunes) says for how many tunes one stands; bit p % 64 of `marks` (tunes) is set
    where a tune has a note p semitones above its lowest. `notes` (notes, 3) and `note_ends` are
    those of a repertoire.
    """

    offsets: np.ndarray
    times: np.ndarray
    ends: np.ndarray
    many: np.ndarray
    marks: np.ndarray
    notes: np.ndarray
    note_ends: np.ndarray


@part
def _tune(desk, tunes, t):
    """Return a tune's bound, doubled, and its best place."""
    add_terms(desk.table, tunes.offsets, tunes.times, tunes.ends[t], tunes.ends[t + 1], desk.lanes)
    least, place = desk.lanes[0], 0
    for lane in range(1, LANES):
        if desk.lanes[lane] < least:
            least, place = desk.lanes[lane], lane
    return (np.int64(least) + 1) // 2 * 2, place


class Walk(NamedTuple):
    """Where the search stands: one row for each level of splitting, the first before any bound."""

    values: np.ndarray  # (levels, tunes), the bounds of tunes
    spots: np.ndarray  # (levels, tunes), as bits the notes of each tune at its best place
    totals: np.ndarray  # (levels)
    split: np.ndarray  # (levels), which swap's seat is split, -1 where all are single notes
    whole: np.ndarray  # (levels), the state that is split
    part: np.ndarray  # (levels), which of its parts comes next
    now: np.ndarray  # (swaps), the states of the seats
    tally: np.ndarray  # layouts found, bounds added up, the lowest bound left or -1
    found: np.ndarray  # (layouts, 1 + swaps), the family and the states of the seats
    bounds: np.ndarray  # (layouts), doubled


def empty_walk(comb: Comb, tunes: Tunes, seats: np.ndarray, layouts: int) -> Walk:
    """Return a walk through families with room for so many layouts."""
    size, deep = seats.shape[1], seats.shape[1] * comb.parts.shape[1] + 2
    return Walk(
        values=np.zeros((deep, len(tunes.many)), np.int64),
        spots=np.full((deep, len(tunes.many)), _ALL, np.uint64),
        totals=np.zeros(deep, np.int64),
        split=np.zeros(deep, np.int64),
        whole=np.zeros(deep, np.int64),
        part=np.zeros(deep, np.int64),
        now=np.zeros(size, np.int64),
        tally=np.array([0, 0, -1]),
        found=np.empty((layouts, 1 + size), np.int32),
        bounds=np.empty(layouts, np.int64),
    )


@part
def _add_up(desk, tunes, worst, bits, walk, level):
    """Add up anew the tunes whose best place loses ways, until the sum lies above the line."""
    total, below = walk.totals[level], level + 1
    for t in range(tunes.many.shape[0]):
        walk.values[below, t], walk.spots[below, t] = walk.values[level, t], walk.spots[level, t]
    for t in range(tunes.many.shape[0]):
        if walk.spots[level, t] & bits:
            value, place = _tune(desk, tunes, t)
            total += tunes.many[t] * (value - walk.values[level, t])
            walk.values[below, t] = value
            walk.spots[below, t] = rolled(tunes.marks[t], place)
            if total > worst:
                break
    walk.totals[below] = total
    return total


@part
def _passes(walk, total, worst):
    """Count a bound, and keep it if it lies above the line; tell whether it does not."""
    walk.tally[1] += 1
    if total <= worst:
        return True
    if walk.tally[2] < 0 or total < walk.tally[2]:
        walk.tally[2] = total
    return False


@part
def _keep(walk, family, total):
    at = walk.tally[0]
    walk.found[at, 0] = family
    for j in range(walk.now.shape[0]):
        walk.found[at, 1 + j] = walk.now[j]
    walk.bounds[at] = total
    walk.tally[0] += 1


@part
def _open(comb, seats, walk, level):
    """Choose the seat to split next."""
    walk.split[level], walk.part[level] = -1, 0
    for j in range(seats.shape[0]):
        if comb.parts[seats[j], walk.now[j], 0] >= 0:
            walk.split[level], walk.whole[level] = j, walk.now[j]
            return


@part
def _next(family, comb, seats, walk, level):
    """Go on to the next part of what is split last, and keep what is whole; return the level."""
    while level > 0:
        j, part, whole = walk.split[level], walk.part[level], walk.whole[level]
        if j >= 0 and part < 2:
            walk.now[j] = comb.parts[seats[j], whole, part]
            walk.part[level] += 1
            return level
        if j >= 0:
            walk.now[j] = whole
        else:
            _keep(walk, family, walk.totals[level])
        level -= 1
    return level


@part
def _search_family(family, seats, worst, comb, tunes, steps, desk, walk):
    level, bits = 0, _ALL
    while True:
        ask(desk, comb, seats, walk.now)
        turn(desk, comb, steps)
        if level > 0:
            j = walk.split[level]
            bits = lost(desk, comb, seats[j], walk.whole[level], walk.now[j])
        if _passes(walk, _add_up(desk, tunes, worst, bits, walk, level), worst):
            level += 1
            _open(comb, seats, walk, level)
        level = _next(family, comb, seats, walk, level)
        if level == 0:
            return


@compiled
def search_families(seats, states, worst, comb, tunes, steps, desk, walk):
    """Find every layout of some families whose doubled bound is not above `worst`.

    Parameters
    ----------
    seats, states : array, shape (families, swaps)
        The seats that are swapped, in the order in which they are split, and their states.
    worst : int
        The doubled line.
    walk : Walk
        As `empty_walk` returns it; what is found is written into it.
    """
    for f in range(seats.shape[0]):
        for j in range(seats.shape[1]):
            walk.now[j] = states[f, j]
        _search_family(f, seats[f], worst, comb, tunes, steps, desk, walk)
