"""A take cut into notes: which of the instrument's pitches sounds when.

Windows of 80 ms are scored against every pitch that the instrument can sound; the likeliest course
through these scores, where a change of note costs, gives the notes. The same note played twice is
told by the dip between.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from combwright.ear.finding import comb_scores
from combwright.ear.sound import Samples, Sound
from combwright.ear.stretches import HOP_S, Stretch, levels, stretches
from combwright.ear.threads import one_thread

_WINDOW_S: Final = 0.08
_STEP_S: Final = 0.02
#: A reed may be this far off its target and still be told from its neighbours.
_WITHIN_CENTS: Final = 48.0
_CHANGE_COSTS: Final = 25.0
_DIP_DB: Final = 6.0
_SHORTEST_S: Final = 0.04


@dataclass(frozen=True, slots=True)
class Cut:
    """A note of a take: when it sounds, and the pitch it comes closest to."""

    stretch: Stretch
    near_hz: float


def cut(sound: Sound, pitches_hz: Sequence[float]) -> tuple[Cut, ...]:
    """Cut a take into its notes, the shortest and the repeated ones included."""
    pitches = np.array(sorted(pitches_hz))
    kept = [float(pitches[0])]
    for hz in pitches[1:]:
        if 1200 * np.log2(hz / kept[-1]) > _WITHIN_CENTS:
            kept.append(float(hz))
    with one_thread():
        found = [
            part for stretch in stretches(sound) for part in _notes(sound, stretch, np.array(kept))
        ]
    return tuple(found)


def _notes(sound: Sound, stretch: Stretch, pitches: Samples) -> Iterator[Cut]:
    starts = np.arange(
        stretch.start_s, max(stretch.end_s - _WINDOW_S, stretch.start_s + 1e-9), _STEP_S
    )
    steps = np.arange(-_WITHIN_CENTS, _WITHIN_CENTS + 1, 6.0)
    grid = (pitches[:, None] * np.exp2(steps / 1200)).ravel()
    scores = np.array(
        [
            comb_scores(sound.part(at, at + _WINDOW_S).samples, sound.rate, grid)
            .reshape(len(pitches), -1)
            .max(axis=1)
            for at in starts
        ]
    )
    course = _likeliest(scores)
    turns = np.flatnonzero(np.diff(course)) + 1
    edges = [stretch.start_s]
    edges += [float(starts[at] + (_WINDOW_S - _STEP_S) / 2) for at in turns]
    edges.append(stretch.end_s)
    states = [int(course[0]), *(int(course[at]) for at in turns)]
    for state, start, end in zip(states, edges[:-1], edges[1:], strict=True):
        for part in _at_dips(sound, Stretch(start, end)):
            if part.seconds >= _SHORTEST_S:
                yield Cut(part, float(pitches[state]))


def _likeliest(scores: Samples) -> NDArray[np.intp]:
    """Return the course of states with the best sum of scores, each change costing."""
    best = scores[0].copy()
    came = np.zeros(scores.shape, np.intp)
    for row in range(1, len(scores)):
        top = int(np.argmax(best))
        stays = best >= best[top] - _CHANGE_COSTS
        came[row] = np.where(stays, np.arange(len(best)), top)
        best = np.where(stays, best, best[top] - _CHANGE_COSTS) + scores[row]
    course = np.empty(len(scores), np.intp)
    course[-1] = int(np.argmax(best))
    for row in range(len(scores) - 1, 0, -1):
        course[row - 1] = came[row, course[row]]
    return course


def _at_dips(sound: Sound, stretch: Stretch) -> Iterator[Stretch]:
    """Split where the level falls well below what stands on both sides of it."""
    level = levels(sound.part(stretch.start_s, stretch.end_s))
    left = np.maximum.accumulate(level)
    right = np.maximum.accumulate(level[::-1])[::-1]
    deep = np.concatenate([[False], np.minimum(left, right) - level > _DIP_DB, [False]])
    turns = np.flatnonzero(np.diff(deep.astype(int)))
    start = stretch.start_s
    for a, b in zip(turns[::2], turns[1::2], strict=True):
        lowest = stretch.start_s + float(a + np.argmin(level[a:b])) * HOP_S
        yield Stretch(start, lowest)
        start = lowest
    yield Stretch(start, stretch.end_s)
