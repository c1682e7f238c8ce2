"""The best way to play a line: a dynamic programme over the ways to play each note.

The cheapest way to have reached each way of the present note is all that the next note needs to
know [bellman]. This is the plain form, which also says how to play; `kernel` holds the fast one,
and tests hold the two to each other and to all ways tried one by one.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from combwright.comb.reach import Sound
from combwright.playing.costs import PlayingCosts
from combwright.playing.lines import Step

Ways = Mapping[int, tuple[Sound, ...]]


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
    reached: NDArray[np.int64] = np.zeros(1, np.int64)
    before: tuple[Sound | None, ...] = (None,)
    came: list[NDArray[np.intp]] = []
    tried: list[tuple[Sound | None, ...]] = []
    for step in line:
        here: tuple[Sound | None, ...] = ways.get(step.midi + shift) or (None,)
        moves = np.array([[_move(a, b, step, costs) for a in before] for b in here], np.int64)
        totals = moves + reached
        came.append(totals.argmin(axis=1))
        reached = totals.min(axis=1) + [_alone(b, step, costs) for b in here]
        tried.append(here)
        before = here
    at = int(reached.argmin())
    chosen: list[Sound | None] = []
    for here, back in zip(reversed(tried), reversed(came), strict=True):
        chosen.append(here[at])
        at = int(back[at])
    return Played(int(reached.min()), tuple(reversed(chosen)))


def _alone(sound: Sound | None, step: Step, costs: PlayingCosts) -> int:
    return costs.missing if sound is None else costs.of_sound(sound, short=step.short)


def _move(a: Sound | None, b: Sound | None, step: Step, costs: PlayingCosts) -> int:
    return 0 if a is None or b is None else costs.between(a, b, rested=step.rested)
