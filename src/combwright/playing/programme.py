"""The best way to play a line: a dynamic programme over the ways to play each note.

The cheapest way to have reached each way of the present note is all that the next note needs to
know [bellman]. This is the plain form, which also says how to play; `kernel` holds the fast one,
and tests hold the two to each other and to all ways tried one by one. A note has three ways at the
most on usual layouts, so plain lists serve better than arrays here.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from combwright.comb.reach import Sound
from combwright.playing.costs import PlayingCosts
from combwright.playing.lines import Step

Ways = Mapping[int, tuple[Sound, ...]]
Choices = tuple[Sound | None, ...]
_MISSING: Choices = (None,)


@dataclass(frozen=True, slots=True)
class Played:
    """A line as it is played best.

    Parameters
    ----------
    cost : int
        In hundredths.
    ways : tuple
        The way of each note, None where the instrument does not have it.
    """

    cost: int
    ways: tuple[Sound | None, ...]


def play(line: Sequence[Step], ways: Ways, costs: PlayingCosts, *, shift: int = 0) -> Played:
    """Return the cheapest way to play a line, moved by some semitones.

    A note that can be played is always played, one that cannot costs `missing`, and going to it or
    from it costs nothing. Of ways that cost the same the easier one of a later note goes first.
    """
    return Programme(ways, costs).play(line, shift=shift)


class Programme:
    """Plays lines on one instrument; what it works out for two notes it keeps for the next line."""

    def __init__(self, ways: Ways, costs: PlayingCosts) -> None:
        self._ways, self._costs = ways, costs
        self._tables: dict[tuple[int | None, int, bool, bool], list[list[int]]] = {}

    def play(self, line: Sequence[Step], *, shift: int = 0) -> Played:
        """Return the cheapest way to play a line, as the function of this name does."""
        reached, before = [0], None
        came: list[list[int]] = []
        for step in line:
            here = step.midi + shift
            back, now = [], []
            for row in self._table(before, here, step):
                totals = [a + b for a, b in zip(reached, row, strict=True)]
                least = min(totals)
                now.append(least)
                back.append(totals.index(least))
            came.append(back)
            reached, before = now, here
        least = min(reached)
        return Played(least, self._back(line, shift, came, reached.index(least)))

    def _back(
        self, line: Sequence[Step], shift: int, came: list[list[int]], at: int
    ) -> tuple[Sound | None, ...]:
        chosen: list[Sound | None] = []
        for step, back in zip(reversed(line), reversed(came), strict=True):
            chosen.append(self._choices(step.midi + shift)[at])
            at = back[at]
        return tuple(reversed(chosen))

    def _choices(self, midi: int | None) -> Choices:
        return _MISSING if midi is None else self._ways.get(midi) or _MISSING

    def _table(self, before: int | None, here: int, step: Step) -> list[list[int]]:
        """Return for each way of a note what it costs after each way of the note before."""
        key = (before, here, step.short, step.rested)
        if key not in self._tables:
            self._tables[key] = [
                [self._alone(b, step) + self._move(a, b, step) for a in self._choices(before)]
                for b in self._choices(here)
            ]
        return self._tables[key]

    def _alone(self, sound: Sound | None, step: Step) -> int:
        costs = self._costs
        return costs.missing if sound is None else costs.of_sound(sound, short=step.short)

    def _move(self, a: Sound | None, b: Sound | None, step: Step) -> int:
        if a is None or b is None:
            return 0
        return self._costs.between(a, b, rested=step.rested)
