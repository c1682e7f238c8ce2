"""What seats and holes can become, as arrays that the compiled search works on.

A seat's states are its note as it is, then every range of its swaps that halving gives, the whole
range first: a seat of four swaps has eight states. A hole's states are those of its seats together.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise, product
from typing import Any, Final

import numpy as np

from combwright.comb.layouts import Layout
from combwright.comb.reach import sounds
from combwright.comb.seats import Seat
from combwright.playing.costs import PlayingCosts

#: By note above the lowest reed and breath, the costs of a long note and of a short one.
_Ways = Mapping[tuple[int, int], tuple[int, int]]
#: The state of a seat in which it stands for all its swaps.
OPEN: Final = 1


@dataclass(frozen=True, slots=True)
class SeatStates:
    """The states of one seat.

    Parameters
    ----------
    notes : tuple of tuple of int
        The notes that each state stands for.
    parts : tuple of tuple of int
        The two halves of each state, -1 where it is one note.
    swaps : tuple of int
        Which swap a state of one note is; -1 for the others.
    """

    notes: tuple[tuple[int, ...], ...]
    parts: tuple[tuple[int, int], ...]
    swaps: tuple[int, ...]


def seat_states(seat: Seat, notes: Sequence[int]) -> SeatStates:
    """Return the states of a seat and the notes it may be swapped to, in their order."""
    found: list[tuple[int, ...]] = [(seat.midi,)]
    parts: list[tuple[int, int]] = [(-1, -1)]
    swaps: list[int] = [-1]

    def halve(first: int, last: int) -> int:
        at = len(found)
        found.append(tuple(notes[first:last]))
        parts.append((-1, -1))
        swaps.append(first if last - first == 1 else -1)
        if last - first > 1:
            middle = (first + last) // 2
            parts[at] = (halve(first, middle), halve(middle, last))
        return at

    if notes:
        halve(0, len(notes))
    return SeatStates(tuple(found), tuple(parts), tuple(swaps))


def comb_of(layout: Layout, seats: Sequence[SeatStates], costs: PlayingCosts, low: int) -> Any:
    """Return what the holes of a layout give in each of their states; see `desk.Comb`."""
    from combwright.playing.desk import Comb

    ways: list[tuple[int, int, int, int]] = []
    ends, first = [0], []
    step = [1] * len(seats)
    for hole in range(1, layout.holes + 1):
        here = [n for n, seat in enumerate(layout.seats) if seat.hole == hole]
        for before, after in pairwise(here):
            step[before] = len(seats[after].notes)
        first.append(len(ends) - 1)
        for found in _hole_states(layout, hole, [seats[n] for n in here], costs, low):
            ways += [(*place, *cost) for place, cost in sorted(found.items())]
            ends.append(len(ways))
    most = max(len(each.parts) for each in seats) if seats else 1
    parts = np.full((len(seats), most, 2), -1, np.int32)
    for row, each in zip(parts, seats, strict=True):
        row[: len(each.parts)] = each.parts
    return Comb(
        np.array(ways, np.int32).reshape(-1, 4),
        np.array(ends, np.int64),
        np.array([seat.hole - 1 for seat in layout.seats], np.int64),
        np.array(step, np.int64),
        np.array(first, np.int64),
        parts,
    )


def _hole_states(
    layout: Layout, hole: int, seats: Sequence[SeatStates], costs: PlayingCosts, low: int
) -> list[_Ways]:
    """Return the ways of a hole for every state of its seats: all that any of their notes give."""
    reeds = layout.in_hole(hole)

    @cache
    def ways(states: tuple[int, ...]) -> _Ways:
        for n, (seat, state) in enumerate(zip(seats, states, strict=True)):
            if seat.parts[state][0] >= 0:
                a, b = (ways((*states[:n], part, *states[n + 1 :])) for part in seat.parts[state])
                return _either(a, b)
        notes = [seat.notes[state][0] for seat, state in zip(seats, states, strict=True)]
        return _of_reeds(
            hole, [replace(r, midi=m) for r, m in zip(reeds, notes, strict=True)], costs, low
        )

    return [ways(states) for states in product(*(range(len(each.notes)) for each in seats))]


def _either(a: _Ways, b: _Ways) -> _Ways:
    return dict(a) | {
        place: (min(cost[0], a[place][0]), min(cost[1], a[place][1])) if place in a else cost
        for place, cost in b.items()
    }


def _of_reeds(hole: int, reeds: Sequence[Seat], costs: PlayingCosts, low: int) -> _Ways:
    found: _Ways = {}
    for midi, each in sounds(Layout("one hole", tuple(reeds), holes=hole)).items():
        for sound in each:
            cost = costs.of_sound(sound, short=False), costs.of_sound(sound, short=True)
            found = _either(found, {(midi - low, int(sound.breath == "draw")): cost})
    return found
