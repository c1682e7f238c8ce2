"""The bound of a tune from its notes in twos: the plain form, which the compiled one is held to.

Half of what each of two notes costs by itself, and the cheapest way between them, whatever the
notes around; the halves that are left over at the ends of the tune are added. All is doubled, so
that it is whole. No way to play the tune costs less than half of it, rounded up.
"""

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from combwright.comb.reach import Sound
from combwright.playing.costs import PlayingCosts
from combwright.playing.lines import Step
from combwright.playing.repertoire import LANES

Ways = Mapping[int, Sequence[Sound]]


def costs_in_twos(ways: Ways, costs: PlayingCosts, low: int, width: int) -> NDArray[np.int64]:
    """Return what two notes cost together, doubled.

    Parameters
    ----------
    ways : mapping of MIDI number to ways
        Of one layout, or of several at once.
    low, width : int
        The lowest note of the table, and how many notes it has.

    Returns
    -------
    array, shape (width, width, 2, 2, 2)
        By first note, second note, first short, second short, rested.
    """
    table = np.empty((width, width, 2, 2, 2), np.int64)
    at = [ways.get(low + p, ()) for p in range(width)]
    for p, q, first, second, rested in np.ndindex(table.shape):
        pairs = [
            costs.of_sound(a, short=bool(first))
            + costs.of_sound(b, short=bool(second))
            + 2 * costs.between(a, b, rested=bool(rested))
            for a in at[p]
            for b in at[q]
        ]
        alone = _alone(at[p], costs, first) + _alone(at[q], costs, second)
        table[p, q, first, second, rested] = min(pairs, default=alone)
    return table


def _alone(found: Sequence[Sound], costs: PlayingCosts, short: int) -> int:
    each = [costs.of_sound(sound, short=bool(short)) for sound in found]
    return min(each, default=costs.missing)


def bounds_in_twos(line: Sequence[Step], table: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return a line's bounds, doubled, in its 24 places: its lowest note on the table's, and up.

    A note by itself is half of a repeated one: the table's own diagonal, without moves.
    """
    lowest = min(step.midi for step in line)
    notes = np.array([step.midi - lowest for step in line]) + np.arange(LANES)[:, None]
    short = np.array([int(step.short) for step in line])
    rested = np.array([int(step.rested) for step in line])
    pairs = table[notes[:, :-1], notes[:, 1:], short[:-1], short[1:], rested[1:]].sum(axis=1)
    ends = [table[notes[:, n], notes[:, n], short[n], short[n], 0] // 2 for n in (0, -1)]
    return np.asarray(pairs + ends[0] + ends[1])
