"""How layouts that differ in a few reeds play a repertoire: told for many of them at little cost.

A tune is played alike wherever its own notes can be had in the same ways, so each way of playing it
is worked out once, whichever layouts share it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from combwright.comb.layouts import Layout
from combwright.comb.reach import Sound, sounds
from combwright.playing.costs import PlayingCosts
from combwright.playing.fitting import fit_layout
from combwright.playing.lines import Step
from combwright.playing.programme import Programme, Ways
from combwright.playing.repertoire import LANES, Repertoire

Counts = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Standing:
    """How a layout plays a repertoire, each tune at its best place.

    Parameters
    ----------
    costs : array, shape (tunes,)
        In hundredths.
    natural : int
        How many tunes have a place where natural notes are enough.
    notes, bends, overbends, missing : int
        How many notes there are, and how they are got.
    """

    costs: NDArray[np.int64]
    natural: int
    notes: int
    bends: int
    overbends: int
    missing: int

    @property
    def cost(self) -> int:
        """Of all tunes."""
        return int(self.costs.sum())

    @property
    def bends_per_100(self) -> float:
        """Bends in a hundred notes."""
        return 100 * self.bends / self.notes if self.notes else 0.0


class Standings:
    """Tells how layouts play a repertoire.

    Parameters
    ----------
    lines : sequence of sequences of Step
        None of them empty.
    repertoire : Repertoire
        The same as arrays.
    costs : PlayingCosts
        Of the player.
    low : int
        The note from which places are counted, the same for all layouts.
    """

    def __init__(
        self,
        lines: Sequence[Sequence[Step]],
        repertoire: Repertoire,
        costs: PlayingCosts,
        low: int,
    ) -> None:
        self._lines, self._repertoire, self._costs, self._low = lines, repertoire, costs, low
        self._pitches = [sorted({step.midi for step in line}) for line in lines]
        self._played: dict[tuple[int, int, tuple[int, ...]], Counts] = {}
        self._numbers: dict[tuple[Sound, ...], int] = {(): 0}

    def of(self, layout: Layout) -> Standing:
        """Return how a layout plays the repertoire."""
        ways = sounds(layout)
        costs, places = fit_layout(self._repertoire, layout, self._costs, self._low)
        programme = Programme(ways, self._costs)
        numbers = {m: self._numbers.setdefault(w, len(self._numbers)) for m, w in ways.items()}
        shifts = self._low - np.array(self._repertoire.lowest) + places
        each = [self._counts(n, by, numbers, programme) for n, by in enumerate(shifts.tolist())]
        counts = np.array(each, np.int64)
        bends, overbends, missing = counts.reshape(-1, 3).sum(axis=0).tolist()
        notes = sum(len(line) for line in self._lines)
        return Standing(costs, self._natural(ways), notes, bends, overbends, missing)

    def _counts(self, n: int, shift: int, numbers: dict[int, int], programme: Programme) -> Counts:
        """Return how many notes of a tune are bent, overbent and missing at a place."""
        key = (n, shift, tuple(numbers.get(midi + shift, 0) for midi in self._pitches[n]))
        if key not in self._played:
            ways = programme.play(self._lines[n], shift=shift).ways
            hows = ["missing" if way is None else way.how for way in ways]
            self._played[key] = (
                hows.count("bend"), hows.count("overbend"), hows.count("missing"),
            )  # fmt: skip
        return self._played[key]

    def _natural(self, ways: Ways) -> int:
        """Count the tunes with a place where all notes are natural."""
        lacking = ~sum(1 << (m - self._low) for m, found in ways.items()
                       if found[0].how == "natural" and m >= self._low)  # fmt: skip
        return sum(
            any(not (bits << lane) & lacking for lane in range(LANES)) for bits in self._bits
        )

    @cached_property
    def _bits(self) -> list[int]:
        """For each tune a bit for each semitone above its lowest note that it has."""
        return [sum(1 << (midi - found[0]) for midi in found) for found in self._pitches]
