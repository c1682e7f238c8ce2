"""Tunes and reeds as arrays of whole numbers, which is what the kernel works on.

Every tune is moved so that its lowest note lies on the base's lowest reed, or up to 23 semitones
above it: these 24 places are the lanes of the kernel, side by side in memory.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from combwright.comb.chamber import sounding_midi
from combwright.comb.layouts import Layout
from combwright.playing.lines import Step

LANES: Final = 24
Ints = NDArray[np.int32]


@dataclass(frozen=True, slots=True)
class Repertoire:
    """Lines as arrays.

    Parameters
    ----------
    lowest : tuple of int
        The lowest note of each line.
    notes : array, shape (notes, 3)
        Semitones above the line's lowest note, short, rested.
    note_ends : array, shape (tunes + 1,)
        Where each tune's notes begin, and the end.
    terms : array, shape (terms, 3)
        Kind, semitones above the lowest note, how often: the notes in twos, counted.
    term_ends : array, shape (tunes + 1,)
        Where each tune's terms begin, and the end.
    kinds : array, shape (kinds, 4)
        Interval, first short, second short, rested; the first two kinds are single notes, long
        and short.
    span : int
        The widest tune, in semitones.
    """

    lowest: tuple[int, ...]
    notes: Ints
    note_ends: NDArray[np.int64]
    terms: Ints
    term_ends: NDArray[np.int64]
    kinds: Ints
    span: int


def repertoire_of(lines: Sequence[Sequence[Step]]) -> Repertoire:
    """Return the arrays of some lines, none of them empty."""
    kinds: dict[tuple[int, int, int, int], int] = {(0, 0, -1, 0): 0, (0, 1, -1, 0): 1}
    notes, terms, note_ends, term_ends, lowest = [], [], [0], [0], []
    for line in lines:
        low = min(step.midi for step in line)
        lowest.append(low)
        rows = [(step.midi - low, int(step.short), int(step.rested)) for step in line]
        counted: Counter[tuple[int, int]] = Counter()
        for (a, a_short, _), (b, b_short, rested) in pairwise(rows):
            kind = kinds.setdefault((b - a, a_short, b_short, rested), len(kinds))
            counted[kind, a] += 1
        for at in (0, -1):
            counted[rows[at][1], rows[at][0]] += 1
        notes += rows
        terms += [(kind, a, times) for (kind, a), times in sorted(counted.items())]
        note_ends.append(len(notes))
        term_ends.append(len(terms))
    return Repertoire(
        tuple(lowest),
        np.array(notes, np.int32).reshape(-1, 3),
        np.array(note_ends, np.int64),
        np.array(terms, np.int32).reshape(-1, 3),
        np.array(term_ends, np.int64),
        np.array(list(kinds), np.int32),
        int(max((row[0] for row in notes), default=0)),
    )


def lowest_reed(layout: Layout) -> int:
    """Return the lowest note that a reed sounds; middle C where there is no reed."""
    return min((sounding_midi(seat) for seat in layout.seats), default=60)
